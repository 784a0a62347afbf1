"""The hard rules of a design, what is in hand among them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from math import exp, log, pi
from typing import NamedTuple

import numpy as np

from optimizer.geometry.belts import belt_length_mm, small_wrap_deg
from optimizer.records.coupling import SETTING_TOLERANCE_MM, Coupling, Ends, SharedBelt, settings_of
from optimizer.records.problem import BeltChoice, DiscStock, Piece, Problem, SideSizes, StageProblem
from optimizer.records.speeds import (
    LOG_TOLERANCE,
    HasBelt,
    HasPositions,
    HasSizes,
    belt_grips,
    counts,
    limits_grip,
    log_ways,
    speeds_rpm,
)
from optimizer.series import end_miss, unevenness

__all__ = [
    "SAME_MM",
    "SIZE_TOLERANCE_MM",
    "Slots",
    "broken_rules",
    "cone_faults",
    "ends_of",
    "in_hand_faults",
    "pieces_reach",
    "position_faults",
    "travel_faults",
]

SAME_MM = 1e-6
"""Two sizes closer than this are one [mm]."""


class Slots(NamedTuple):
    """The steps of one cone that are pulleys, slowest first: their sizes, nothing for other steps."""

    side: SideSizes
    sizes_mm: tuple[float | None, ...]

    @property
    def scarce(self) -> list[int]:
        """The steps that only a piece in hand can be."""
        return [i for i, size in enumerate(self.sizes_mm) if size is not None and _among(size, self.side.scarce_mm)]


def in_hand_faults(problem: Problem, stages: Sequence[HasBelt]) -> Iterator[str]:
    """Yield a sentence for everything of which more is used than there is."""
    if problem.pieces and not pieces_reach(problem.pieces, _slots(problem, stages)):
        yield "more sheaves are used than are in hand"
    if problem.discs and not _discs_reach(problem.discs, _from_discs(problem, stages)):
        yield "more discs are used than are in hand"
    used = Counter((s.belt.section, s.belt.length_mm) for s in stages if not s.belt.sold)
    for s in stages:
        if not s.belt.sold and used[s.belt.section, s.belt.length_mm] > s.belt.in_hand:
            yield f"the belt {s.belt.marking} is used more often than it is in hand"
            return


def pieces_reach(pieces: Sequence[Piece], cones: Sequence[Slots]) -> bool:
    """Tell whether the pieces can be put on the cones so that every step that only they can be is one of them.

    A piece of several grooves takes as many neighbouring steps, either end first, all of its own size; grooves beyond
    an end of the cone stand idle, as far as there is room.
    """
    return _placed(pieces, cones, {piece.key: piece.count for piece in pieces}, frozenset())


def _placed(
    pieces: Sequence[Piece], cones: Sequence[Slots], left: Mapping[str, int], taken: frozenset[tuple[int, int]]
) -> bool:
    """Tell whether the first step not yet served can be served, and all others with it."""
    first = next(((c, step) for c, cone in enumerate(cones) for step in cone.scarce if (c, step) not in taken), None)
    if first is None:
        return True
    number, step = first
    cone = cones[number]
    for piece in pieces:
        if left[piece.key] == 0 or cone.side.key not in piece.sides:
            continue
        for way in dict.fromkeys((piece.steps_mm, piece.steps_mm[::-1])):
            for groove in range(len(way)):
                covered = _covered(cone, way, step - groove)
                if covered is None or any((number, at) in taken for at in covered):
                    continue
                fewer = {**left, piece.key: left[piece.key] - 1}
                if _placed(pieces, cones, fewer, taken | {(number, at) for at in covered}):
                    return True
    return False


def _covered(cone: Slots, grooves_mm: tuple[float, ...], start: int) -> list[int] | None:
    """Return the steps that a piece takes from a start on; nothing where it does not go there."""
    count = len(cone.sizes_mm)
    idle = max(0, -start) + max(0, start + len(grooves_mm) - count)
    if idle > cone.side.overhang:
        return None
    covered = []
    for offset, groove in enumerate(grooves_mm):
        if 0 <= start + offset < count:
            size = cone.sizes_mm[start + offset]
            if size is None or abs(size - groove) > SAME_MM:
                return None
            covered.append(start + offset)
    return covered


def _slots(problem: Problem, stages: Sequence[HasBelt]) -> list[Slots]:
    return [
        Slots(side, tuple(size if source == "ready" else None for size, source in steps))
        for side, steps in _cones(problem, stages)
    ]


def _from_discs(problem: Problem, stages: Sequence[HasBelt]) -> list[float]:
    """Return the diameters [mm] that discs in hand must have at least, one for every step that needs one."""
    return [
        size + side.outside_shift_mm + side.truing_mm
        for side, steps in _cones(problem, stages)
        for size, source in steps
        if source == "turned" and size > side.scarce_above_mm + SAME_MM
    ]


def _cones(problem: Problem, stages: Sequence[HasBelt]) -> Iterator[tuple[SideSizes, list[tuple[float, str]]]]:
    """Yield every cone with the sizes of its steps and where they come from, slowest first."""
    for rules, sizes in zip(problem.stages, stages, strict=True):
        yield rules.driver, [(p.driver_mm, p.driver_source) for p in sizes.positions]
        yield rules.driven, [(p.driven_mm, p.driven_source) for p in sizes.positions]


def _discs_reach(discs: Sequence[DiscStock], needed_mm: Sequence[float]) -> bool:
    """Tell whether there is a disc for every step: the largest step takes the largest disc, and so on."""
    have = sorted((disc.diameter_mm for disc in discs for _ in range(disc.count)), reverse=True)
    wanted = sorted(needed_mm, reverse=True)
    if len(wanted) > len(have):
        return False
    return all(disc >= need - SAME_MM for disc, need in zip(have, wanted, strict=False))


def _among(size_mm: float, sizes_mm: Sequence[float]) -> bool:
    return any(abs(size_mm - other) <= SAME_MM for other in sizes_mm)


SIZE_TOLERANCE_MM = 1e-6
"""How far a size or a length may pass a limit before it counts as broken [mm]."""


def broken_rules(problem: Problem, stages: Sequence[HasBelt]) -> list[str]:
    """Return one sentence for every hard rule that the sizes break; an empty list where all are kept."""
    if [len(s.positions) for s in stages] != [*problem.layout.positions]:
        return ["the sizes do not have the positions of the layout"]
    faults = [
        f"{rules.key}: {fault}"
        for rules, sizes in zip(problem.stages, stages, strict=True)
        for fault in _stage_faults(rules, sizes)
    ]
    faults += coupling_faults(problem.couplings, stages)
    faults += _moving_faults(problem, stages)
    faults += _series_faults(problem, stages)
    faults += _grip_faults(problem, stages)
    faults += in_hand_faults(problem, stages)
    return faults


def _stage_faults(rules: StageProblem, sizes: HasBelt) -> Iterator[str]:
    if sizes.belt not in rules.belts:
        yield f"the belt {sizes.belt.marking} is not one of those that may be used"
    for number, position in enumerate(sizes.positions, 1):
        for fault in position_faults(rules, sizes.belt, position):
            yield f"position {number}: {fault}"
    centres = [p.centre_mm for p in sizes.positions]
    if max(centres) - min(centres) > sizes.belt.window_mm + SIZE_TOLERANCE_MM:
        yield (
            f"the positions' own centre distances lie {max(centres) - min(centres):.3f} mm apart, "
            f"more than {sizes.belt.window_mm:.3f} mm"
        )
    yield from cone_faults(rules.driver, [p.driver_mm for p in sizes.positions])
    yield from cone_faults(rules.driven, [-p.driven_mm for p in sizes.positions])


def position_faults(rules: StageProblem, belt: BeltChoice, position: HasSizes) -> Iterator[str]:
    """Yield what is wrong with one placing of a stage's belt, whatever the other placings are."""
    driver, driven, centre = position.driver_mm, position.driven_mm, position.centre_mm
    if abs(belt_length_mm(driver, driven, centre, crossed=rules.crossed) - belt.length_mm) > SIZE_TOLERANCE_MM:
        yield "the belt does not have the length of the stage's belt at this centre distance"
    low, high = rules.centre_mm
    if not low - SIZE_TOLERANCE_MM <= centre <= high + SIZE_TOLERANCE_MM:
        yield f"the centre distance {centre:.3f} mm is outside {low:g} to {high:g} mm"
    if (driver + driven) / 2 + rules.clearance_mm > centre + SIZE_TOLERANCE_MM:
        yield "the facing rims are too close"
    wrap = float(small_wrap_deg(driver, driven, centre, crossed=rules.crossed))
    if wrap < rules.least_wrap_deg - 1e-6:
        yield f"the wrap {wrap:.2f}° is below {rules.least_wrap_deg:g}°"
    for side, size in ((rules.driver, driver), (rules.driven, driven)):
        if not _may_be(side, size):
            yield f"{side.key}: a pitch diameter of {size:.3f} mm is none of those allowed"


def _may_be(side: SideSizes, size_mm: float) -> bool:
    if any(abs(size_mm - given) <= SIZE_TOLERANCE_MM for given in side.fixed_mm):
        return True
    if side.turned_mm is None:
        return False
    low, high = side.turned_mm
    return low - SIZE_TOLERANCE_MM <= size_mm <= high + SIZE_TOLERANCE_MM


def cone_faults(side: SideSizes, rising: Sequence[float]) -> Iterator[str]:
    """Yield what is wrong with the order of a cone's steps, told so that they ought to rise."""
    if not side.cone:
        return
    for number, (lower, upper) in enumerate(pairwise(rising), 1):
        rise = upper - lower
        if rise < -SIZE_TOLERANCE_MM:
            yield f"{side.key}: steps {number} and {number + 1} run the wrong way for a cone"
        elif SIZE_TOLERANCE_MM < rise < side.rise_mm - SIZE_TOLERANCE_MM:
            yield f"{side.key}: steps {number} and {number + 1} differ by less than {side.rise_mm:g} mm"


def _moving_faults(problem: Problem, stages: Sequence[HasBelt]) -> Iterator[str]:
    """Yield what is wrong with belt, rim and shaft speeds when every shaft runs its fastest.

    All steps of a driven cone turn with its shaft, the largest too when the belt is on the smallest.
    """
    entering = problem.motor_rpm
    for rules, sizes in zip(problem.stages, stages, strict=True):
        entering *= rules.gain
        fastest = max(entering * p.driver_mm / p.driven_mm * (1 - rules.slip) for p in sizes.positions)
        for number, p in enumerate(sizes.positions, 1):
            driver, driven = p.driver_mm + rules.driver.outside_shift_mm, p.driven_mm + rules.driven.outside_shift_mm
            speeds = (
                ("the belt speed", p.driver_mm, entering, rules.belt_speed_m_s),
                ("the driver's rim speed", driver, entering, rules.driver.rim_speed_m_s),
                ("the driven's rim speed", driven, fastest, rules.driven.rim_speed_m_s),
            )
            for name, size, rpm, most in speeds:
                if pi * size * rpm / 60_000 > most * (1 + LOG_TOLERANCE):
                    yield f"{rules.key}: position {number}: {name} passes {most:g} m/s"
        if fastest > rules.driven_rpm * (1 + LOG_TOLERANCE):
            yield f"{rules.key}: the driven shaft runs at {fastest:.1f} rpm, above {rules.driven_rpm:g} rpm"
        entering = fastest


def _series_faults(problem: Problem, stages: Sequence[HasPositions]) -> Iterator[str]:
    targets = problem.targets
    rpm = speeds_rpm(problem, stages)
    logs = [log(n) for n in rpm]
    for lower, upper in pairwise(logs):
        if upper - lower < log(1 + targets.distinct) - LOG_TOLERANCE or upper <= lower:
            yield f"neighbouring speeds are less than {targets.distinct:.1%} apart"
    if rpm[-1] > targets.never_above_rpm * (1 + LOG_TOLERANCE):
        yield f"the fastest speed passes {targets.never_above_rpm:g} rpm"
    if rpm[0] < targets.never_below_rpm * (1 - LOG_TOLERANCE):
        yield f"the slowest speed is below {targets.never_below_rpm:g} rpm"
    for band in targets.bands:
        have = sum(counts(band, n) for n in rpm)
        if have < band.want:
            yield f"band {band.name}: {have} speeds where {band.want} are wanted"
    yield from _way_faults(problem, stages)
    if end_miss(logs, targets.lo_rpm, targets.hi_rpm) > targets.end_miss_most + LOG_TOLERANCE:
        yield f"the end miss passes {targets.end_miss_most:.1%}"
    places, every = log_ways(problem, stages)
    if unevenness(every, targets.ratio_least, places).delta > targets.unevenness_most + LOG_TOLERANCE:
        yield f"the unevenness passes {targets.unevenness_most:.1%}"


def _way_faults(problem: Problem, stages: Sequence[HasPositions]) -> Iterator[str]:
    """Yield what is wrong with speeds that can be made in several ways, and with the ranges that bands lie in."""
    layout, targets = problem.layout, problem.targets
    places, logs = log_ways(problem, stages)
    if layout.shared:
        same = log(1 + targets.distinct)
        for place in sorted(set(places)):
            alike = [value for at, value in zip(places, logs, strict=True) if at == place]
            if max(alike) - min(alike) > same + LOG_TOLERANCE:
                yield f"the ways of making speed {place + 1} are more than {targets.distinct:.1%} apart"
    if targets.one_range:
        ranges = [chosen[layout.coarse] for _, chosen in layout.ways]
        for band in targets.bands:
            within = [r for r, value in zip(ranges, logs, strict=True) if counts(band, exp(value))]
            have = max((within.count(r) for r in set(within)), default=0)
            if have < band.want:
                yield f"band {band.name}: {have} speeds in one range where {band.want} are wanted"


def _grip_faults(problem: Problem, stages: Sequence[HasBelt]) -> Iterator[str]:
    if not limits_grip(problem.targets):
        return
    for belt in belt_grips(problem, stages):
        if belt.carries_kw < belt.limit_kw * (1 - LOG_TOLERANCE):
            yield (
                f"{belt.key}: position {belt.position}: at {belt.rpm:.0f} rpm the belt carries "
                f"{belt.carries_kw:.3g} kW, not the {belt.limit_kw:.3g} kW it must"
            )


def ends_of(coupling: Coupling, stages: Sequence[HasBelt]) -> Ends:
    """Return how far the mount goes inward and outward of where the belts run, for those that it tensions."""
    inward, outward = [], []
    for belt in coupling.belts:
        if belt.moves:
            sizes = stages[belt.stage]
            centres = [p.centre_mm for p in sizes.positions]
            inward.append(float(belt.path.setting_mm(min(centres) - sizes.belt.inward_mm)))
            outward.append(float(belt.path.setting_mm(max(centres) + sizes.belt.outward_mm)))
    return Ends(min(inward, default=0.0), max(outward, default=0.0))


def coupling_faults(couplings: Sequence[Coupling], stages: Sequence[HasBelt]) -> Iterator[str]:
    """Yield a sentence for positions that no setting of their mount fits, and where the mount would go too far.

    As intervals of a line have a point in common where every two of them do, it is enough to look at two belts at a
    time.
    """
    for coupling in couplings:
        spans = []
        for belt in coupling.belts:
            sizes = stages[belt.stage]
            centres = np.array([p.centre_mm for p in sizes.positions])
            spans.append(settings_of(belt, centres, sizes.belt.forgives_mm))
        for (one, a), (other, b) in combinations(zip(coupling.belts, spans, strict=True), 2):
            apart = np.maximum(a[0][:, None] - b[1][None, :], b[0][None, :] - a[1][:, None])
            if apart.max() > SETTING_TOLERANCE_MM:
                p, q = np.unravel_index(int(np.argmax(apart)), apart.shape)
                yield (
                    f"{coupling.key}: no setting fits position {p + 1} of belt stage {one.stage + 1} and position "
                    f"{q + 1} of belt stage {other.stage + 1}: they lie {apart.max():.3f} mm apart"
                )
        yield from travel_faults(coupling, stages)


def travel_faults(coupling: Coupling, stages: Sequence[HasBelt]) -> Iterator[str]:
    """Yield a sentence for every belt that takes its mount too far."""
    for belt in coupling.belts:
        yield from _turning(coupling, belt, stages[belt.stage])
    if sum(belt.moves for belt in coupling.belts) > 1:
        for belt, far in coupling.travels_most_mm(ends_of(coupling, stages)):
            most = belt.travel_mm + stages[belt.stage].belt.forgives_mm
            if far > most + SETTING_TOLERANCE_MM:
                yield (
                    f"{coupling.key}: fitting and wearing out all belts moves belt stage {belt.stage + 1} by "
                    f"{far:.3f} mm, more than {most:.3f} mm"
                )


def _turning(coupling: Coupling, belt: SharedBelt, sizes: HasBelt) -> Iterator[str]:
    """Yield what the belt needs over its life that lies beyond where the movement turns round."""
    centres = [p.centre_mm for p in sizes.positions]
    low, high = belt.path.span_mm
    for name, centre in (
        ("to fit", min(centres) - (sizes.belt.inward_mm if belt.moves else 0.0)),
        ("at the end of the life of", max(centres) + (sizes.belt.outward_mm if belt.moves else 0.0)),
    ):
        if not low - SETTING_TOLERANCE_MM <= centre <= high + SETTING_TOLERANCE_MM:
            yield (
                f"{coupling.key}: {name} the belt of stage {belt.stage + 1} the centre distance must be "
                f"{centre:.3f} mm, beyond where the movement turns round"
            )
