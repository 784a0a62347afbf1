"""Checks of the room around: what must keep clear of what, at every position and at both ends of travel."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.bodies import Body, Thing, things_of
from optimizer.checks.stands import Stand, Stands, stands_of
from optimizer.checks.stated import Machine
from optimizer.checks.verdict import Check, Rule, Skipped, at_least
from optimizer.geometry.plane import gap_of_cores_mm
from optimizer.quantities.digits import first_least
from optimizer.scenario import FixedStage
from optimizer.scenario.around import LEAST_GAP_MM

__all__ = ["Gap", "around_checks", "gap_kept", "gaps_of", "state_words"]

NAME = "room around"
JUDGED = "this project's own judgement"
STATED = "stated by the maker"
Floats = NDArray[np.float64]


class Gap(NamedTuple):
    """The least gap between two things over all states."""

    one: Thing
    other: Thing
    gap_mm: float
    """Below 0 where they overlap."""
    state: tuple[Stand, ...]
    """Where it is that small."""

    @property
    def placed(self) -> bool:
        """Whether both are known to lie where they do along the shafts; else they are taken to lie side by side."""
        return self.one.placed and self.other.placed


def around_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield the checks of the places of shafts, and of all that shares room along the shafts."""
    scenario = machine.scenario
    if not any(shaft.at_mm for shaft in scenario.shafts):
        yield Skipped(name=NAME, where="shaft", why="no place of a shaft is stated (at)")
        return
    stands = stands_of(machine)
    if isinstance(stands, str):
        yield Skipped(name=NAME, where="shaft", why=stands)
        return
    yield from stands.checks
    for name, why in stands.unknown.items():
        yield Skipped(name=NAME, where=name, why=why)
    yield from _left_out(machine, stands)
    limit = gap_kept(machine)
    source = STATED if "least_gap_mm" in scenario.around.model_fields_set else JUDGED
    for gap in gaps_of(machine, stands):
        check = at_least(
            Rule(NAME, "limit", limit, "mm", source),
            gap.one.where,
            gap.gap_mm,
            f"{gap.one.name} to {gap.other.name}, least with {state_words(gap.state)}",
        )
        if gap.placed or check.passed:
            yield check
        else:
            yield Skipped(name=NAME, where=gap.one.where, why=_unplaced(gap))


def _left_out(machine: Machine, stands: Stands) -> Iterator[Skipped]:
    """Yield what is not held against anything for lack of data."""
    scenario = machine.scenario
    for stage in scenario.chain:
        if isinstance(stage, FixedStage):
            why = "what stands between the shafts of a fixed ratio is not stated"
            yield Skipped(name=NAME, where=scenario.place_of(stage), why=why)
    bare = [shaft.name for shaft in scenario.shafts if shaft.name not in stands.unknown and shaft.diameter_mm is None]
    for name in bare:
        yield Skipped(name=NAME, where=name, why="its diameter is not stated, so only what sits on it is looked at")
    for index, obstacle in enumerate(scenario.obstacles):
        if obstacle.on in stands.unknown:
            why = f"{obstacle.name} rides on {obstacle.on}, whose place is not known"
            yield Skipped(name=NAME, where=f"obstacle[{index}]", why=why)


def gap_kept(machine: Machine) -> float:
    """Return the gap that things must keep [mm]."""
    stated = machine.scenario.around.least_gap_mm
    return LEAST_GAP_MM if stated is None else stated


def gaps_of(machine: Machine, stands: Stands) -> Iterator[Gap]:
    """Yield the least gap of every two things that are not made to lie close, in the order of the machine."""
    for one, other in combinations(things_of(machine, stands), 2):
        if _strangers(one, other):
            least = np.full(len(stands.states), np.inf)
            for a in one.bodies:
                for b in other.bodies:
                    least = np.fmin(least, _gap(a, b))
            if np.isfinite(least).any():
                worst = first_least(least)
                yield Gap(one, other, float(least[worst]), stands.states[worst])


def state_words(state: tuple[Stand, ...]) -> str:
    """Return how the stages stand.

    Examples
    --------
    >>> state_words((Stand(0, "running", 250.0), Stand(2, "worn out", 300.0)))
    'stage 1 at position 1, stage 2 at position 3 worn out'
    """
    return ", ".join(
        f"stage {number} at position {stand.position + 1}{'' if stand.when == 'running' else ' ' + stand.when}"
        for number, stand in enumerate(state, 1)
    )


def _strangers(one: Thing, other: Thing) -> bool:
    """Tell whether two things must keep a gap: not where they share a shaft, face each other, or both stand still.

    Facing cones, and rims that face a shaft of their stage, have checks of their own; frame members hold shafts.
    """
    kinds = {one.kind, other.kind}
    if "obstacle" in kinds:
        return len(kinds) == 2 and "shaft" not in kinds
    if one.shafts & other.shafts or kinds == {"shaft"}:
        return False
    return not one.stages & other.stages


def _gap(one: Body, other: Body) -> Floats:
    """Return the gap of two bodies in every state: across the shafts where they share room along them [mm].

    ``hypot(across, along)`` where they lie apart along the shafts, the shallower overlap where they overlap both ways.
    """
    along = np.maximum(one.low_mm - other.high_mm, other.low_mm - one.high_mm)
    across = gap_of_cores_mm(one.core_mm, other.core_mm) - one.radius_mm - other.radius_mm
    apart = np.hypot(np.maximum(across, 0.0), np.maximum(along, 0.0))
    return np.asarray(np.where((along < 0) & (across < 0), np.maximum(along, across), apart))


def _unplaced(gap: Gap) -> str:
    loose = " and ".join(thing.name for thing in (gap.one, gap.other) if not thing.placed)
    return (
        f"{gap.one.name} to {gap.other.name}: {gap.gap_mm:.1f} mm across the shafts; whether they share room along "
        f"them is not known, as no place of {loose} is stated (along)"
    )
