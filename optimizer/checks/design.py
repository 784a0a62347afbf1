"""All checks of a machine, recomputed from its scenario with the final outside diameters."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.along import pitch_checks, room_checks
from optimizer.checks.around import around_checks
from optimizer.checks.carrying import carrying_checks
from optimizer.checks.contact import contact_checks
from optimizer.checks.coupled import coupled_checks
from optimizer.checks.crossed import crossed_checks
from optimizer.checks.flexing import flexing_checks
from optimizer.checks.gears import gear_checks
from optimizer.checks.given import given_checks
from optimizer.checks.hanging import hanging_checks
from optimizer.checks.in_hand import in_hand_checks
from optimizer.checks.keys import key_checks
from optimizer.checks.motor import motor_checks
from optimizer.checks.running import belt_and_rim_checks, shaft_checks
from optimizer.checks.seats import seat_checks
from optimizer.checks.shafts import strength_checks
from optimizer.checks.sizes import cone_checks
from optimizer.checks.spindle import spindle_checks
from optimizer.checks.stated import Machine, read_machine
from optimizer.checks.travel import travel_checks
from optimizer.checks.turning import balance_checks
from optimizer.checks.verdict import Check, Skipped
from optimizer.checks.work_size import work_checks
from optimizer.records.built import BuiltMachine
from optimizer.scenario import Scenario

__all__ = ["check_design", "skipped_checks"]


def check_design(scenario: Scenario, built: BuiltMachine) -> tuple[Check, ...]:
    """Return every check that can be made of a machine.

    Nothing of the search is used: diameters are turned from outside to datum and pitch anew, every
    position's own centre distance is found by halving an interval, windows and limits are worked out from
    the maker's statements.

    Parameters
    ----------
    scenario
        What the maker stated.
    built
        The final outside diameters with the belts.

    Returns
    -------
    Checks in the order speeds, stages from the motor on, shafts.

    Raises
    ------
    ValueError
        The machine does not have the belt stages of the scenario.
    """
    return tuple(item for item in _all(read_machine(scenario, built)) if isinstance(item, Check))


def skipped_checks(scenario: Scenario, built: BuiltMachine) -> tuple[Skipped, ...]:
    """Return every check that cannot be made, with what is missing; arguments as in `check_design`."""
    return tuple(item for item in _all(read_machine(scenario, built)) if isinstance(item, Skipped))


def _all(machine: Machine) -> Iterator[Check | Skipped]:
    making = machine.scenario.making
    yield from spindle_checks(machine)
    for pair in machine.pairs:
        yield from travel_checks(pair)
        yield from contact_checks(pair)
        yield from given_checks(pair)
        if pair.before is None:
            yield from cone_checks(pair.driver, making, falling=False)
        yield from cone_checks(pair.driven, making, falling=True)
        yield from pitch_checks(pair, making)
        yield from belt_and_rim_checks(pair, making)
        yield from flexing_checks(pair)
        yield from crossed_checks(pair)
    yield from coupled_checks(machine)
    yield from in_hand_checks(machine)
    yield from carrying_checks(machine)
    yield from gear_checks(machine)
    yield from hanging_checks(machine)
    yield from strength_checks(machine)
    yield from key_checks(machine)
    yield from balance_checks(machine)
    yield from motor_checks(machine)
    yield from room_checks(machine)
    yield from seat_checks(machine)
    yield from around_checks(machine)
    yield from work_checks(machine)
    yield from shaft_checks(machine)
