"""All checks of a machine, recomputed from its scenario with the final outside diameters."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from itertools import chain

from optimizer.checks.along import pitch_checks, room_checks, seat_checks
from optimizer.checks.around import around_checks
from optimizer.checks.belts import contact_checks, crossed_checks, flexing_checks
from optimizer.checks.carrying import carrying_checks
from optimizer.checks.coupled import coupled_checks
from optimizer.checks.hanging import hanging_checks
from optimizer.checks.in_hand import in_hand_checks
from optimizer.checks.motor import motor_checks
from optimizer.checks.shafts import gear_checks, key_checks, strength_checks
from optimizer.checks.sizes import belt_and_rim_checks, cone_checks, given_checks, shaft_checks
from optimizer.checks.spindle import spindle_checks, work_checks
from optimizer.checks.stated import Machine
from optimizer.checks.travel import travel_checks
from optimizer.checks.turning import balance_checks
from optimizer.checks.verdict import Check, Skipped

__all__ = ["asked_once_made", "check_design", "limits_of", "near_limits", "skipped_checks"]

NOT_ASKED = frozenset(
    {
        "sheaves in hand go round",
        "discs in hand go round",
        "largest blank",
        "free range, greatest",
        "largest disc, greatest",
        "order of the steps",
        "difference of neighbouring steps",
    }
)
"""Checks that ask what may be made, not what is there."""
OF_THE_BELT = ("own centre", "belt length", "travel for", "spread of", "running centre", "worn-out centre")
"""How the names of checks begin that ask whether one belt fits all positions, which tolerances work out exactly."""
NEAR, NEAR_MM = 0.1, 10.0
"""Share of a limit, or length, that errors of turning may use up."""
Group = Callable[[Machine], Iterator[Check | Skipped]]
Limit = tuple[str, str, int]


def check_design(machine: Machine) -> tuple[Check, ...]:
    """Return every check that can be made of a machine.

    Nothing of the search is used: diameters are turned from outside to datum and pitch anew, every
    position's own centre distance is found by halving an interval, windows and limits are worked out from
    the maker's statements.

    Returns
    -------
    Checks in the order speeds, stages from the motor on, shafts.
    """
    return tuple(item for item in _all(machine) if isinstance(item, Check))


def skipped_checks(machine: Machine) -> tuple[Skipped, ...]:
    """Return every check that cannot be made, with what is missing."""
    return tuple(item for item in _all(machine) if isinstance(item, Skipped))


def asked_once_made(name: str) -> bool:
    """Tell whether a check is asked of a machine that is made, and so of the errors that its sizes may have."""
    return name not in NOT_ASKED and not name.endswith("as stated")


def near_limits(machine: Machine) -> tuple[dict[Limit, float], tuple[Group, ...]]:
    """Return the margins of limits that errors of turning may pass, and the groups of checks that tell of them.

    Only what is asked of a made machine counts, and only where the machine as drawn keeps it; not the fit of belts.
    """
    margins: dict[Limit, float] = {}
    groups = []
    for group in GROUPS:
        near = {limit: max(check.margin, 0.0) for limit, check in limits_of((group,), machine) if _near(check)}
        if near:
            margins |= near
            groups.append(group)
    return margins, tuple(groups)


def limits_of(groups: tuple[Group, ...], machine: Machine) -> Iterator[tuple[Limit, Check]]:
    """Yield the checks of some groups that are limits, each by its name, its place, its number among equal ones."""
    seen: Counter[tuple[str, str]] = Counter()
    for check in chain.from_iterable(group(machine) for group in groups):
        if isinstance(check, Check) and check.kind != "advice":
            yield (check.name, check.where, seen[check.name, check.where]), check
            seen[check.name, check.where] += 1


def _near(check: Check) -> bool:
    far = NEAR_MM if check.unit == "mm" else NEAR * abs(check.limit)
    asked = asked_once_made(check.name) and not check.name.startswith(OF_THE_BELT)
    return check.passed and check.margin < far and asked


def _all(machine: Machine) -> tuple[Check | Skipped, ...]:
    """Return what all checks say of a machine; each is made once."""
    return machine.once("checks", lambda: tuple(chain.from_iterable(group(machine) for group in GROUPS)))


def _stage_checks(machine: Machine) -> Iterator[Check | Skipped]:
    making = machine.scenario.making
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


GROUPS: tuple[Group, ...] = (
    spindle_checks,
    _stage_checks,
    coupled_checks,
    in_hand_checks,
    carrying_checks,
    gear_checks,
    hanging_checks,
    strength_checks,
    key_checks,
    balance_checks,
    motor_checks,
    room_checks,
    seat_checks,
    around_checks,
    work_checks,
    shaft_checks,
)
"""All checks, in the order in which they are told."""
