"""Every design of a tiny machine with a middle shaft, looked at one after another; all sizes are points."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product
from math import exp, hypot, log, pi, sqrt
from typing import NamedTuple

from optimizer.geometry.settings import Slide
from optimizer.records.candidate import Source
from optimizer.records.coupling import Coupling
from optimizer.records.middle import MiddleProblem
from optimizer.records.problem import BeltChoice, SideSizes, StageProblem
from tests.oracle.plain import centre_mm, end_miss, half_open, small_wrap_deg

__all__ = [
    "Design",
    "Level",
    "MiddleBest",
    "Step",
    "best_middle",
    "designs_of",
    "f_of",
    "keeps_middle_rules",
    "level_choices",
]

TOLERANCE_MM = 1e-6


class Step(NamedTuple):
    """One step of a cone."""

    size_mm: float
    source: Source


class Level(NamedTuple):
    """A driver, and a driven step, with the centre distance of the belt."""

    driver: Step
    driven: Step
    centre_mm: float


class Design(NamedTuple):
    """A belt for either stage, with the sizes at every level."""

    belts: tuple[BeltChoice, BeltChoice]
    levels: tuple[tuple[Level, ...], tuple[Level, ...]]


class MiddleBest(NamedTuple):
    """What the best design has."""

    f: float
    distinct: int
    timber_mm3: float
    sizes_mm: tuple[float, ...]


def best_middle(problem: MiddleProblem) -> MiddleBest | None:
    """Return the best of all designs, ties told apart as the search tells them, or nothing where there is none."""
    best: tuple[tuple[float, ...], MiddleBest] | None = None
    for design in designs_of(problem):
        if not keeps_middle_rules(problem, design):
            continue
        logs = _logs(problem, design)
        found = MiddleBest(f_of(problem, design), len(_distinct(problem, logs)), *_made(problem, design))
        key = (round(found.f, 11), -found.distinct, round(found.timber_mm3, 3), *found.sizes_mm)
        if best is None or key < best[0]:
            best = key, found
    return best[1] if best else None


def f_of(problem: MiddleProblem, design: Design) -> float:
    """Return the weighted sum of end miss and largest gap."""
    targets, logs = problem.targets, sorted(_logs(problem, design))
    gap = max(upper - lower for lower, upper in pairwise(logs))
    return targets.end_weight * end_miss(logs, targets.lo_rpm, targets.hi_rpm) + targets.unevenness_weight * gap


def designs_of(problem: MiddleProblem) -> Iterator[Design]:
    """Yield every choice of belts and sizes whose levels keep the rules of their stage and the order of their cones."""
    first, second = problem.stages
    for one, other in product(first.belts, second.belts):
        if problem.shared:
            for a, b, c in _placings((first.driver, first.driven, second.driven), problem.levels[0]):
                rows = [
                    [
                        (lower, upper)
                        for lower in level_choices(first, one, a[k], b[k])
                        for upper in level_choices(second, other, b[k], c[k])
                        if lower.driven == upper.driver
                    ]
                    for k in range(problem.levels[0])
                ]
                for chosen in _rising(problem, rows):
                    yield Design((one, other), (tuple(p for p, _ in chosen), tuple(q for _, q in chosen)))
            continue
        halves = []
        for number, (stage, belt) in enumerate(((first, one), (second, other))):
            found: list[tuple[Level, ...]] = []
            for a, b in _placings((stage.driver, stage.driven), problem.levels[number]):
                rows_ = [level_choices(stage, belt, a[k], b[k]) for k in range(problem.levels[number])]
                found += [tuple(row) for row in product(*rows_) if _in_order(stage, row)]
            halves.append(found)
        for lower_, upper_ in product(*halves):
            yield Design((one, other), (lower_, upper_))


def _rising(
    problem: MiddleProblem, rows: Sequence[Sequence[tuple[Level, Level]]]
) -> Iterator[tuple[tuple[Level, Level], ...]]:
    """Yield a choice for every level such that neighbours keep the order of the cones."""
    first, second = problem.stages
    chosen: list[tuple[Level, Level]] = []

    def go(level: int) -> Iterator[tuple[tuple[Level, Level], ...]]:
        if level == len(rows):
            yield tuple(chosen)
            return
        for one in rows[level]:
            before = chosen[-1] if chosen else None
            if before is None or (_in_order(first, [before[0], one[0]]) and _in_order(second, [one[1], before[1]])):
                chosen.append(one)
                yield from go(level + 1)
                chosen.pop()

    return go(0)


def level_choices(
    stage: StageProblem, belt: BeltChoice, drivers: Sequence[Step], drivens: Sequence[Step]
) -> list[Level]:
    """Return every two steps that the belt fits within the stage's own limits."""
    found = []
    for driver, driven in product(drivers, drivens):
        centre = centre_mm(driver.size_mm, driven.size_mm, belt.length_mm, crossed=stage.crossed)
        if centre is None:
            continue
        low, high = stage.centre_mm
        if (
            low - TOLERANCE_MM <= centre <= high + TOLERANCE_MM
            and (driver.size_mm + driven.size_mm) / 2 + stage.clearance_mm <= centre + TOLERANCE_MM
            and small_wrap_deg(driver.size_mm, driven.size_mm, centre, crossed=stage.crossed)
            >= stage.least_wrap_deg - 1e-6
        ):
            found.append(Level(driver, driven, centre))
    return found


def _placings(sides: Sequence[SideSizes], levels: int) -> list[tuple[list[list[Step]], ...]]:
    """Return what every level of every side may be, for every way that standing cones may face each other."""
    found: list[tuple[list[list[Step]], ...]] = []
    for ways in product((1, -1), repeat=len(sides)):
        turned = [way for way, side in zip(ways, sides, strict=True) if side.standing_mm]
        held = [way for way, side in zip(ways, sides, strict=True) if side.standing_mm and not side.reversible]
        if any(way == -1 for way, side in zip(ways, sides, strict=True) if not side.standing_mm):
            continue
        if any(side.placed for side in sides) and -1 in turned:
            continue
        if len(set(held)) > 1:
            continue
        found += product(*(_open_levels(side, levels, way) for side, way in zip(sides, ways, strict=True)))
    return found


def _open_levels(side: SideSizes, levels: int, way: int) -> list[list[list[Step]]]:
    free = [Step(size, "turned") for size in (side.listed_mm if side.turned_mm else ())]
    free += [Step(size, "ready") for size in side.ready_mm]
    if not side.standing_mm:
        return [[free] * levels]
    steps = [free if step is None else [Step(size, "kept") for size in step] for step in side.standing_mm]
    return [steps[start : start + levels][::way] for start in range(len(steps) - levels + 1)]


def _in_order(stage: StageProblem, slowest_first: Sequence[Level]) -> bool:
    for lower, upper in pairwise(slowest_first):
        if lower.driver.size_mm / lower.driven.size_mm > upper.driver.size_mm / upper.driven.size_mm * (1 + 1e-9):
            return False
        for side, rise in (
            (stage.driver, upper.driver.size_mm - lower.driver.size_mm),
            (stage.driven, lower.driven.size_mm - upper.driven.size_mm),
        ):
            if side.cone and rise != 0 and (rise < 0 or rise < side.rise_mm - TOLERANCE_MM):
                return False
    return True


def keeps_middle_rules(problem: MiddleProblem, design: Design) -> bool:
    """Tell whether a design keeps the rules that hold for the whole machine."""
    return _shafts_fit(problem, design) and _moves(problem, design) and _speeds_do(problem, design)


def _positions(problem: MiddleProblem) -> list[tuple[int, int]]:
    both = product(range(problem.levels[0]), range(problem.levels[1]))
    return [(i, j) for i, j in both if i != j or not problem.shared]


def _shafts_fit(problem: MiddleProblem, design: Design) -> bool:
    for belt, levels in zip(design.belts, design.levels, strict=True):
        centres = [level.centre_mm for level in levels]
        if max(centres) - min(centres) > belt.window_mm + TOLERANCE_MM:
            return False
    return problem.coupling is None or _mount_fits(problem, problem.coupling, design)


def _mount_fits(problem: MiddleProblem, coupling: Coupling, design: Design) -> bool:
    """Tell whether one setting fits both belts at every position, and the mount reaches far enough and no farther."""
    spans, on, worn = [], [], []
    for shared, belt, levels in zip(coupling.belts, design.belts, design.levels, strict=True):
        assert isinstance(shared.path, Slide)
        centres = [level.centre_mm for level in levels]
        moves = shared.travel_mm > 0
        nearest = min(centres) - (belt.inward_mm if moves else 0.0)
        farthest = max(centres) + (belt.outward_mm if moves else 0.0)
        if nearest < shared.path.across_mm - TOLERANCE_MM:
            return False
        if moves:
            on.append(_setting(shared.path, nearest))
            worn.append(_setting(shared.path, farthest))
        ends = [
            (_setting(shared.path, c - belt.forgives_mm / 2), _setting(shared.path, c + belt.forgives_mm / 2))
            for c in centres
        ]
        spans.append([(min(pair), max(pair)) for pair in ends])
    for i, j in _positions(problem):
        (low, high), (least, most) = spans[0][i], spans[1][j]
        if max(low, least) > min(high, most) + TOLERANCE_MM:
            return False
    if len(on) == 2:
        for shared, belt in zip(coupling.belts, design.belts, strict=True):
            assert isinstance(shared.path, Slide)
            far = _distance(shared.path, max(worn)) - _distance(shared.path, min(on))
            if far > shared.travel_mm + belt.forgives_mm + TOLERANCE_MM:
                return False
    return True


def _setting(path: Slide, centre: float) -> float:
    """Return how far along its line the shaft stands from its stated place, on the side that it is stated on."""
    along = sqrt(max(centre**2 - path.across_mm**2, 0.0))
    return (along if path.along_mm > 0 else -along) - path.along_mm


def _distance(path: Slide, setting: float) -> float:
    return hypot(path.across_mm, path.along_mm + setting)


def _moves(problem: MiddleProblem, design: Design) -> bool:
    first, second = problem.stages
    entering = problem.motor_rpm * first.gain
    middle = [entering * p.driver.size_mm / p.driven.size_mm * (1 - first.slip) for p in design.levels[0]]
    driven = [rpm * second.gain for rpm in middle]
    last = []
    for i, j in _positions(problem):
        p = design.levels[1][j]
        last.append(driven[i] * p.driver.size_mm / p.driven.size_mm * (1 - second.slip))
        if _rim(p.driver.size_mm, driven[i]) > second.belt_speed_m_s:
            return False
    for p in design.levels[0]:
        if _rim(p.driver.size_mm, entering) > first.belt_speed_m_s:
            return False
    rims = (
        (first.driver, [p.driver for p in design.levels[0]], entering),
        (first.driven, [p.driven for p in design.levels[0]], max(middle)),
        (second.driver, [p.driver for p in design.levels[1]], max(driven)),
        (second.driven, [p.driven for p in design.levels[1]], max(last)),
    )
    for side, steps, rpm in rims:
        if any(_rim(step.size_mm + side.outside_shift_mm, rpm) > side.rim_speed_m_s for step in steps):
            return False
    return max(middle) <= first.driven_rpm and max(last) <= second.driven_rpm


def _rim(size_mm: float, rpm: float) -> float:
    return pi * size_mm * rpm / 60_000


def _logs(problem: MiddleProblem, design: Design) -> list[float]:
    first, second = problem.stages
    found = []
    for i, j in _positions(problem):
        p, q = design.levels[0][i], design.levels[1][j]
        rpm = problem.motor_rpm * first.gain * p.driver.size_mm / p.driven.size_mm * (1 - first.slip)
        rpm *= second.gain * q.driver.size_mm / q.driven.size_mm * (1 - second.slip) * problem.gain_out
        found.append(log(rpm))
    return found


def _distinct(problem: MiddleProblem, logs: Sequence[float]) -> list[float]:
    kept: list[float] = []
    for value in sorted(logs):
        if not kept or exp(value - kept[-1]) >= (1 + problem.targets.distinct) * (1 - 1e-9):
            kept.append(value)
    return kept


def _speeds_do(problem: MiddleProblem, design: Design) -> bool:
    targets = problem.targets
    logs = sorted(_logs(problem, design))
    if exp(logs[-1]) > targets.never_above_rpm or exp(logs[0]) < targets.never_below_rpm:
        return False
    if end_miss(logs, targets.lo_rpm, targets.hi_rpm) > targets.end_miss_most:
        return False
    kept = [exp(value) for value in _distinct(problem, logs)]
    return all(
        sum(half_open(rpm, band.low_rpm, band.high_rpm, top=band.top) for rpm in kept) >= band.want
        for band in targets.bands
    )


def _made(problem: MiddleProblem, design: Design) -> tuple[float, tuple[float, ...]]:
    """Return the timber of all turned steps, and the sizes in the order of the levels."""
    first, second = problem.stages
    cones = [(first.driver, [p.driver for p in design.levels[0]]), (first.driven, [p.driven for p in design.levels[0]])]
    if not problem.shared:
        cones.append((second.driver, [p.driver for p in design.levels[1]]))
    cones.append((second.driven, [p.driven for p in design.levels[1]]))
    timber = sum(side.timber_mm3(step.size_mm) for side, steps in cones for step in steps if step.source == "turned")
    if problem.shared:
        rows = [steps for _, steps in cones]
        sizes = [row[k].size_mm for k in range(problem.levels[0]) for row in rows]
    else:
        sizes = [step.size_mm for levels in design.levels for p in levels for step in (p.driver, p.driven)]
    return timber, tuple(sizes)
