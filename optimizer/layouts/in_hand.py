"""What is in hand, in the plain figures of a problem."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from optimizer.catalogue.grooves import alignment_mm
from optimizer.catalogue.lines import pitch_length_mm, shifts
from optimizer.records.problem import DiscStock, Piece, SideSizes, StageProblem
from optimizer.scenario import BeltInHand, BeltStage, Scenario, Sheave, Side
from optimizer.scenario.in_hand import takes

__all__ = ["belts_for", "discs_of", "pieces_of", "sheaves_for", "with_overhang"]

SAME_MM = 1e-6


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
