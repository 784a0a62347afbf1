"""Sizes that a side may have, what is in hand among them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, floor, inf
from typing import NamedTuple

from optimizer.catalogue.entry import Section
from optimizer.catalogue.grooves import alignment_mm, groove
from optimizer.catalogue.lines import Shifts, pitch_length_mm, shifts
from optimizer.errors import NoDesignError
from optimizer.records.problem import DiscStock, Piece, SideSizes, StageProblem
from optimizer.scenario import BeltInHand, BeltStage, Making, Scenario, Sheave, Side
from optimizer.scenario.in_hand import takes

__all__ = [
    "Bound",
    "SideStated",
    "belts_for",
    "discs_of",
    "listed_mm",
    "pieces_of",
    "sheaves_for",
    "side_sizes",
    "turned_bounds",
    "usable_discs_mm",
    "with_overhang",
]

EPSILON_MM = 1e-9
SAME_MM = 1e-6
"""Sizes closer than this are one."""
PLATE = "the plate under the motor (motor.plate)"
METAL_RIM_M_S = 33.02
"""Greatest rim speed of cast iron [m/s]: 6500 ft/min, MPTA-B13i-2013, foreword, read."""


class Bound(NamedTuple):
    """A limit of the outside diameter, with the name it is known by."""

    outside_mm: float
    name: str


class SideStated(NamedTuple):
    """One side of a stage with all that bears on its sizes."""

    key: str
    """Place in the scenario, such as `stage[0].driver`."""
    side: Side
    section: Section
    hub_mm: float
    """Outside diameter of what carries the cone; 0 where it is not stated."""
    making: Making
    step_pitch_mm: float = 0.0
    swing_mm: float = inf
    """Largest diameter over the rim that what lies around the shaft leaves."""
    sheaves: tuple[Sheave, ...] = ()
    """Those in hand that the side may use."""
    idle_gain: float = 1.0
    """How many times as fast as at full load the shaft turns without load."""


def side_sizes(stated: SideStated) -> SideSizes:
    """Return the sizes a side may have.

    Raises
    ------
    NoDesignError
        No size keeps the limits: with those that clash.
    """
    side, section, making = stated.side, stated.section, stated.making
    lines = shifts(section, side.groove)
    given = lines.pitch_less_datum - lines.of(side.measured)
    over_pitch = lines.outside_less_datum - lines.pitch_less_datum
    least = smallest_bound(stated).outside_mm - over_pitch - EPSILON_MM
    most = stated.swing_mm - over_pitch + EPSILON_MM
    turned: tuple[float, float] | None = None
    if side.turned:
        turned = _turned_pitch(stated, lines)
    sold = {size + given for size in side.ready_mm}
    there = {size + lines.pitch_less_datum - lines.of(s.measured) for s in stated.sheaves for size in s.steps_mm}
    scarce = {size for size in there if all(abs(size - other) > SAME_MM for other in sold)}
    ready = {size for size in sold | scarce if least <= size <= most}
    standing = _standing_mm(side, given, (least, most))
    if turned is None and not ready and not standing:
        within = "" if stated.swing_mm == inf else f", and no larger than {PLATE} leaves"
        raise NoDesignError(f"{stated.key}: no pulley is as large as {smallest_bound(stated).name} asks for{within}")
    return SideSizes(
        key=stated.key,
        turned_mm=turned,
        listed_mm=listed_mm(stated, turned, given) if turned else (),
        grid_mm=_grid_mm(stated) if turned else 0.0,
        ready_mm=tuple(sorted(ready)),
        scarce_mm=tuple(sorted(scarce & ready)),
        standing_mm=standing,
        reversible=side.reversible,
        cone=turned is not None,
        rise_mm=making.rise_mm,
        tick_mm=making.turn_to_mm,
        given_shift_mm=given,
        outside_shift_mm=over_pitch,
        rim_speed_m_s=_rim_speed_m_s(stated) / stated.idle_gain,
        idle_gain=stated.idle_gain,
        discs_mm=() if side.free_mm else usable_discs_mm(stated),
        scarce_above_mm=_scarce_above_mm(stated, over_pitch),
        truing_mm=making.truing_mm,
        width_mm=stated.step_pitch_mm,
    )


def _scarce_above_mm(stated: SideStated, over_pitch_mm: float) -> float:
    """Return the largest pitch diameter that can be turned from a disc of which there are any number."""
    side, making = stated.side, stated.making
    if side.free_mm or not side.discs_in_hand:
        return inf
    sold = [disc for disc in side.blanks_mm if disc <= making.largest_blank_mm + EPSILON_MM]
    return max(sold) - making.truing_mm - over_pitch_mm if sold else 0.0


def usable_discs_mm(stated: SideStated) -> tuple[float, ...]:
    """Return the discs that can be swung, ascending."""
    return tuple(sorted({disc for disc in stated.side.discs_mm if disc <= stated.making.largest_blank_mm + EPSILON_MM}))


def smallest_bound(stated: SideStated) -> Bound:
    """Return the smallest diameter over the rim that the belt may bend around."""
    side, section = stated.side, stated.section
    lines = shifts(section, side.groove)
    if side.smallest_mm is not None:
        return Bound(
            side.smallest_mm + lines.outside_less_datum - lines.of(side.measured), "the smallest diameter stated"
        )
    least = section.smallest_datum_mm + lines.outside_less_datum
    return Bound(least, f"the smallest diameter for section {section.name}")


def turned_bounds(stated: SideStated) -> tuple[Bound, Bound]:
    """Return the binding lower and upper limit of a turned step, over the rim.

    The lower is the greatest of the section's smallest diameter (or the maker's), the groove root over the hub
    with a wall on either side, and the start of the free range; the upper the least of the free range's end, the
    largest disc, and the largest blank, the last two less truing, and the room over the plate under the motor.
    """
    side, section, making = stated.side, stated.section, stated.making
    lines = shifts(section, side.groove)
    over_given = lines.outside_less_datum - lines.of(side.measured)
    depth = groove(section, section.smallest_datum_mm, side.groove).depth_mm
    lower = [smallest_bound(stated), Bound(stated.hub_mm + 2 * (making.wall_mm + depth), "the wall over the hub")]
    upper: list[Bound] = []
    if side.free_mm:
        upper.append(Bound(side.free_mm[1] + over_given, "the end of the free range"))
        if not side.discs_mm:
            lower.append(Bound(side.free_mm[0] + over_given, "the start of the free range"))
    if side.discs_mm:
        most = max((*usable_discs_mm(stated), 0.0)) - making.truing_mm
        bound = Bound(most, "the largest disc less truing")
        upper = [max([*upper, bound])]
    upper.append(Bound(making.largest_blank_mm - making.truing_mm, "the largest blank less truing"))
    upper.append(Bound(stated.swing_mm, PLATE))
    return max(lower), min(upper)


def listed_mm(stated: SideStated, turned_mm: tuple[float, float], given_shift_mm: float) -> tuple[float, ...]:
    """Return the grid sizes of a turned side [pitch mm], with the largest size on a tick.

    The grid counts from the start of the free range, or from 0 for discs, on the maker's line.
    """
    low, high = (limit - given_shift_mm for limit in turned_mm)
    grid = _grid_mm(stated)
    start = stated.side.free_mm[0] if stated.side.free_mm else 0.0
    first, last = ceil((low - start) / grid - EPSILON_MM), floor((high - start) / grid + EPSILON_MM)
    sizes = [start + k * grid for k in range(first, last + 1)]
    tick = stated.making.turn_to_mm
    top = floor(high / tick + EPSILON_MM) * tick
    if low - EPSILON_MM <= top and (not sizes or top > sizes[-1] + EPSILON_MM):
        sizes.append(top)
    return tuple(size + given_shift_mm for size in sizes)


def least_and_most_mm(sizes: SideSizes) -> tuple[float, float]:
    """Return the smallest and largest pitch diameter of any source."""
    every = (*(sizes.turned_mm or ()), *sizes.fixed_mm)
    return min(every), max(every)


def _standing_mm(side: Side, given_mm: float, within_mm: tuple[float, float]) -> tuple[tuple[float] | None, ...]:
    """Return the steps of a cone that exists, less those its belt cannot run on, and all that lie beyond them.

    Steps rise along a cone, so that what lies beyond a step too small is smaller still.
    """
    rest = list(side.kept_mm)
    for limit, sign in zip(within_mm, (1, -1), strict=True):
        # the end of the cone where the steps are smallest, or largest
        bad = [i for i, size in enumerate(rest) if size is not None and sign * (size + given_mm) < sign * limit]
        good = [i for i, size in enumerate(rest) if size is not None and i not in bad]
        if bad and not good:
            return ()
        if bad:
            rest = rest[max(bad) + 1 :] if max(bad) < min(good) else rest[: min(bad)]
    return tuple(None if size is None else (size + given_mm,) for size in rest)


def _turned_pitch(stated: SideStated, lines: Shifts) -> tuple[float, float] | None:
    low, high = turned_bounds(stated)
    if low.outside_mm <= high.outside_mm + EPSILON_MM:
        shift = lines.pitch_less_datum - lines.outside_less_datum
        return (low.outside_mm + shift, max(low.outside_mm, high.outside_mm) + shift)
    if stated.side.pulleys_mm:
        return None
    raise NoDesignError(
        f"{stated.key}: nothing can be turned: {low.name} asks for {low.outside_mm:.4g} mm over the rim at least, "
        f"{high.name} allows {high.outside_mm:.4g} mm"
    )


def _grid_mm(stated: SideStated) -> float:
    return stated.side.grid_mm or stated.making.grid_mm


def _rim_speed_m_s(stated: SideStated) -> float:
    """Return the limit of the slowest material on the side; of the fastest where it is not known."""
    timber_m_s = stated.making.rim_speed_m_s
    limits = {"timber": timber_m_s, None: max(timber_m_s, METAL_RIM_M_S)}
    return min(limits.get(material, METAL_RIM_M_S) for material in stated.side.materials)


def sheaves_for(scenario: Scenario, stage: BeltStage, side: Side, step_pitch_mm: float) -> tuple[Sheave, ...]:
    """Return the sheaves in hand that a side may use.

    A piece of several grooves is left out where their distance is stated and would set the outer belts out of line.
    """
    return tuple(
        sheave
        for sheave in scenario.in_hand.sheaves
        if takes(stage, side, sheave) and _in_line(sheave, step_pitch_mm, stage.centres_mm[0])
    )


def _in_line(sheave: Sheave, step_pitch_mm: float, centre_mm: float) -> bool:
    if sheave.pitch_mm is None:
        return True
    off = abs(sheave.pitch_mm - step_pitch_mm) * (len(sheave.steps_mm) - 1) / 2
    return off <= alignment_mm(centre_mm)


def pieces_of(scenario: Scenario, stages: Sequence[StageProblem]) -> tuple[Piece, ...]:
    """Return the sheaves in hand as pieces, those that some side may use."""
    pieces = []
    by_key = {stage.key: stage for stage in stages}
    for number, sheave in enumerate(scenario.in_hand.sheaves):
        sides = []
        for stage in scenario.chain:
            if not isinstance(stage, BeltStage):
                continue
            own = by_key[scenario.place_of(stage)]
            for side, sizes in ((stage.driver, own.driver), (stage.driven, own.driven)):
                if sheave in sheaves_for(scenario, stage, side, sizes.width_mm):
                    sides.append(sizes.key)
        if sides:
            section = sheave.data
            lines = shifts(section, "flat" if section.kind == "flat" else "v")
            over = lines.pitch_less_datum - lines.of(sheave.measured)
            steps = tuple(size + over for size in sheave.steps_mm)
            key = f"in_hand.sheave[{number}]"
            pieces.append(Piece(key=key, steps_mm=steps, count=sheave.count, sides=tuple(sides)))
    return tuple(pieces)


def discs_of(scenario: Scenario) -> tuple[DiscStock, ...]:
    """Return the discs in hand that can be swung, ascending."""
    discs = sorted(scenario.in_hand.discs, key=lambda disc: disc.diameter_mm)
    return tuple(
        DiscStock(diameter_mm=disc.diameter_mm, count=disc.count)
        for disc in discs
        if disc.diameter_mm <= scenario.making.largest_blank_mm + SAME_MM
    )


def belts_for(scenario: Scenario, stage: BeltStage) -> dict[float, tuple[BeltInHand, int]]:
    """Return the belts in hand that run on a stage, with how many there are, by their length along the pitch line."""
    section = stage.belt.data
    found: dict[float, tuple[BeltInHand, int]] = {}
    for belt in scenario.in_hand.belts:
        if belt.section == stage.belt.section:
            length = pitch_length_mm(section, belt.datum_length_mm)
            same = next((known for known in found if abs(known - length) < SAME_MM), length)
            before = found.get(same)
            found[same] = (belt, belt.count + (before[1] if before else 0))
    return found


def with_overhang(
    scenario: Scenario, stages: Sequence[StageProblem], widths_mm: Mapping[str, float], pieces: Sequence[Piece]
) -> tuple[StageProblem, ...]:
    """Return the stages with how many grooves of a piece may stand idle beyond an end of their cones.

    Where a shaft's room is stated, all its cones may have them or none, so that all that is chosen finds room.
    """
    idle = {
        side.key: max((len(piece.steps_mm) - 1 for piece in pieces if side.key in piece.sides), default=0)
        for stage in stages
        for side in (stage.driver, stage.driven)
    }
    pitch = {side.key: side.width_mm for stage in stages for side in (stage.driver, stage.driven)}
    crowded = set()
    for shaft in scenario.shafts:
        if shaft.room_mm == inf:
            continue
        on = [
            f"{scenario.place_of(stage)}.{side}"
            for stage in scenario.chain
            if isinstance(stage, BeltStage)
            for side, name in (("driver", stage.from_shaft), ("driven", stage.to_shaft))
            if name == shaft.name
        ]
        taken = sum(widths_mm[key] + idle[key] * pitch[key] for key in on)
        if taken + shaft.beside_mm > shaft.room_mm + SAME_MM:
            crowded |= set(on)

    def hung(side: SideSizes) -> SideSizes:
        grooves = 0 if side.key in crowded else idle[side.key]
        return side.model_copy(update={"overhang": grooves}) if grooves else side

    return tuple(
        stage.model_copy(update={"driver": hung(stage.driver), "driven": hung(stage.driven)}) for stage in stages
    )
