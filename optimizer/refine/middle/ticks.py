"""What every level may be on whole ticks near its sizes, with what each choice makes of belts and speeds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, log, pi
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import centre_for_length_mm, small_wrap_deg
from optimizer.records import SideSizes, StageSizes
from optimizer.records.bands import LOG_TOLERANCE
from optimizer.records.coupling import settings_of
from optimizer.records.middle import MiddleProblem
from optimizer.refine.middle.cones import Cone, cones_of

__all__ = ["Over", "Ticks", "ticks_of"]

Floats = NDArray[np.float64]
PER_M_S = log(60_000 / pi)
CLOSE_MM = 1e-9


class Over(NamedTuple):
    """What every choice makes of one belt, as arrays over the choices."""

    ratio: Floats
    """Log ratio, slip included."""
    centre_mm: Floats
    """The own centre distance."""
    low: Floats
    high: Floats
    """With a shared mount the least and greatest setting; else the own centre distance, both alike."""
    inward: Floats
    outward: Floats
    """Settings that the shared mount goes inward and outward to; without bounds where it need not go."""
    middle_most: Floats
    """ln of the greatest speed of the middle shaft [rpm], fixed ratios behind it left out."""
    own_most: Floats
    """The same where the second belt runs on just this level."""
    last_most: Floats
    """ln of the greatest speed of the last shaft [rpm]."""

    def pick(self, places: NDArray[np.intp]) -> Over:
        """Return some of the choices."""
        return Over(*(part[places] for part in self))


@dataclass(frozen=True)
class Ticks:
    """Choices of sizes for one level of the cones that a belt, or both, run on."""

    level: int
    cones: tuple[int, ...]
    """The cones, in the order of the sizes' columns."""
    size_mm: Floats
    """(choices, cones)."""
    over: dict[int, Over]
    """What they make of every belt that runs on the level."""

    @property
    def belts(self) -> tuple[int, ...]:
        """The belts that run on the level."""
        return tuple(self.over)

    def pick(self, places: NDArray[np.intp]) -> Ticks:
        """Return some of the choices."""
        over = {belt: each.pick(places) for belt, each in self.over.items()}
        return Ticks(self.level, self.cones, self.size_mm[places], over)

    def __len__(self) -> int:
        """Return how many choices there are."""
        return len(self.size_mm)


def ticks_of(problem: MiddleProblem, stages: Sequence[StageSizes], reach: int) -> list[Ticks]:
    """Return the choices of all levels near some sizes: those of the slowest and fastest speeds first.

    Parameters
    ----------
    problem
        The machine.
    stages
        Sizes, whatever they are; their belts are kept.
    reach
        How many ticks a turned size may move.
    """
    cones = cones_of(problem, stages)
    if problem.shared:
        levels = [0, problem.levels[0] - 1, *range(1, problem.levels[0] - 1)]
        return [_level(problem, stages, cones, ((0, 1), level), reach) for level in levels]
    first, second = (list(dict.fromkeys([0, count - 1, *range(1, count - 1)])) for count in problem.levels)
    slots = []
    for place in range(max(len(first), len(second))):
        slots += [((number,), levels[place]) for number, levels in ((0, first), (1, second)) if place < len(levels)]
    return [_level(problem, stages, cones, slot, reach) for slot in slots]


def _level(
    problem: MiddleProblem,
    stages: Sequence[StageSizes],
    cones: tuple[Cone, ...],
    slot: tuple[tuple[int, ...], int],
    reach: int,
) -> Ticks:
    belts, level = slot
    mine = tuple(n for n, cone in enumerate(cones) if set(cone.stages) & set(belts))
    listed = [_near(cones[number], level, reach) for number in mine]
    size = np.stack([grid.ravel() for grid in np.meshgrid(*listed, indexing="ij")], axis=1)
    found = [
        _over(problem, stages[belt], belt, (size[:, column], size[:, column + 1])) for column, belt in enumerate(belts)
    ]
    ticks = Ticks(level, mine, size, {belt: over for belt, (over, _) in zip(belts, found, strict=True)})
    return ticks.pick(np.flatnonzero(np.logical_and.reduce([fits for _, fits in found])))


def _near(cone: Cone, level: int, reach: int) -> Floats:
    """Return the ticks near a step that may be turned; the step itself where it is not."""
    step = cone.steps[level]
    sizes = np.array(cone.sides[0].ticks_near_mm(step.size_mm, step.source, reach))
    if step.source != "turned" or cone.turned_mm is None:
        return sizes
    low, high = cone.turned_mm
    return np.asarray(sizes[(sizes >= low - CLOSE_MM) & (sizes <= high + CLOSE_MM)])


def _over(
    problem: MiddleProblem, sizes: StageSizes, number: int, pair: tuple[Floats, Floats]
) -> tuple[Over, NDArray[np.bool_]]:
    """Return what drivers and drivens make of a belt, and whether they keep the rules of one level."""
    rules, (a, b) = problem.stages[number], pair
    centre = np.asarray(centre_for_length_mm(a, b, sizes.belt.length_mm, crossed=rules.crossed))
    ratio = np.log(a / b * (1 - rules.slip))
    low, high, reached, ends = _shafts(problem, sizes, number, centre)
    with np.errstate(invalid="ignore"):
        fits = reached & (centre >= rules.centre_mm[0] - CLOSE_MM) & (centre <= rules.centre_mm[1] + CLOSE_MM)
        fits &= (a + b) / 2 + rules.clearance_mm <= centre + CLOSE_MM
        fits &= np.asarray(small_wrap_deg(a, b, centre, crossed=rules.crossed)) >= rules.least_wrap_deg - 1e-9
    middle, own, last = np.full((3, a.size), inf)
    if number == 0:
        entering = log(problem.motor_rpm * rules.gain)
        fits &= np.minimum(_rim(rules.belt_speed_m_s, a), _rim_of(rules.driver, a)) >= entering
        middle = np.minimum(_rim_of(rules.driven, b), _log(rules.driven_rpm))
    else:
        between = log(rules.gain)
        middle = _rim_of(rules.driver, a) - between
        own = _rim(rules.belt_speed_m_s, a) - between
        last = np.minimum(_rim_of(rules.driven, b), _log(rules.driven_rpm))
    return Over(ratio, centre, low, high, *ends, middle, own, last), fits


def _shafts(
    problem: MiddleProblem, sizes: StageSizes, belt: int, centre_mm: Floats
) -> tuple[Floats, Floats, NDArray[np.bool_], tuple[Floats, Floats]]:
    """Return where a belt wants the shafts, whether the mount gets there, and how far inward and outward it goes."""
    every = np.ones(centre_mm.size, dtype=bool)
    nowhere = np.full(centre_mm.size, inf), np.full(centre_mm.size, -inf)
    coupling, chosen = problem.coupling, sizes.belt
    if coupling is None:
        return centre_mm, centre_mm, every, nowhere
    shared = coupling.belts[belt]
    low, high = settings_of(shared, centre_mm, chosen.forgives_mm)
    nearest, farthest = shared.path.span_mm
    inward, outward = (chosen.inward_mm, chosen.outward_mm) if shared.moves else (0.0, 0.0)
    with np.errstate(invalid="ignore"):
        fits = (centre_mm - inward >= nearest - CLOSE_MM) & (centre_mm + outward <= farthest + CLOSE_MM)
    if not shared.moves:
        return low, high, fits, nowhere
    ends = shared.path.setting_mm(centre_mm - inward), shared.path.setting_mm(centre_mm + outward)
    return low, high, fits, ends


def _rim(speed_m_s: float, size_mm: Floats) -> Floats:
    """Return ln of the greatest speed [rpm] at which sizes keep a speed at the rim."""
    return np.asarray(_log(speed_m_s) + PER_M_S - np.log(size_mm) + LOG_TOLERANCE / 2)


def _rim_of(side: SideSizes, size_mm: Floats) -> Floats:
    return _rim(side.rim_speed_m_s, size_mm + side.outside_shift_mm)


def _log(value: float) -> float:
    return log(value) if value < inf else inf
