"""What a stage takes along its shafts: the distance of its steps, and whether all finds room."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import ceil

from optimizer.catalogue.entry import Section
from optimizer.catalogue.grooves import alignment_mm, groove, rim_width_mm
from optimizer.errors import NoDesignError
from optimizer.records.layout import Layout
from optimizer.records.problem import StageProblem
from optimizer.scenario import BeltStage, Making, Scenario, Side

__all__ = ["in_line", "refuse_crowding", "step_pitch_mm"]

EPSILON_MM = 1e-9


def step_pitch_mm(key: str, stage: BeltStage, making: Making, most_datum_mm: float) -> float:
    """Return the distance of neighbouring steps along the shaft, which facing cones share.

    A turned step needs the groove's width at the rim with a wall on either side; the widest groove that may come
    up counts. Whole layers are rounded up to. A pulley used as it is needs its own rim, a kept cone has its pitch.

    Raises
    ------
    NoDesignError
        The pitch stated, or that of a kept cone, leaves a groove with too thin a wall.
    """
    section = stage.belt.data
    needed = max(_needed_mm(side, section, making, most_datum_mm) for side in (stage.driver, stage.driven))
    kept = [side.pitch_mm for side in (stage.driver, stage.driven) if side.pitch_mm is not None]
    given = kept[0] if kept else making.step_pitch if isinstance(making.step_pitch, float | int) else None
    if given is not None:
        if given < needed - EPSILON_MM:
            whose = "of the kept cone" if kept else "stated"
            raise NoDesignError(
                f"{key}: the step pitch {whose}, {given:.4g} mm, is below the {needed:.4g} mm of groove and walls"
            )
        return float(given)
    if making.step_pitch == "layers" and making.layer_mm is not None:
        return making.layer_mm * ceil(needed / making.layer_mm - EPSILON_MM)
    return needed


def refuse_crowding(scenario: Scenario, widths_mm: Mapping[str, float]) -> None:
    """Raise if a shaft has no room for all that sits on it.

    Parameters
    ----------
    scenario
        The machine.
    widths_mm
        For the place of every side, such as `stage[0].driver`, the width of its cone.

    Raises
    ------
    NoDesignError
        With the shaft, what its cones take, what room it has.
    """
    for shaft in scenario.shafts:
        taken = sum(widths_mm[key] for key in _cones_on(scenario, shaft.name))
        if taken + shaft.beside_mm > shaft.room_mm + EPSILON_MM:
            beside = f" beside {shaft.beside_mm:.4g} mm of other things" if shaft.beside_mm else ""
            raise NoDesignError(
                f"shaft {shaft.name}: its cones take {taken:.4g} mm{beside}, the room is {shaft.room_mm:.4g} mm"
            )


def in_line(scenario: Scenario, layout: Layout, stages: Sequence[StageProblem]) -> list[StageProblem]:
    """Return the stages with centre distances at which their belts run in line, as the maker has placed the cones.

    A belt may run 2 mm per metre of centre distance out of line, so that what it is off sets the least distance.

    Raises
    ------
    NoDesignError
        A belt is too far out of line at any centre distance.
    """
    own = [stage for stage in scenario.chain if isinstance(stage, BeltStage)]
    found = []
    for stage, problem, positions in zip(own, stages, layout.positions, strict=True):
        off_mm = _out_of_line_mm(stage, positions)
        low, high = problem.centre_mm
        least = off_mm / alignment_mm(1.0)
        if least > high:
            raise NoDesignError(
                f"{problem.key}: its belt runs {off_mm:.4g} mm out of line as its cones are placed along their shafts, "
                f"{alignment_mm(high):.2g} mm may be at the greatest centre distance; mend along, or the step pitches"
            )
        found.append(problem.model_copy(update={"centre_mm": (max(low, least), high)}))
    return found


def _out_of_line_mm(stage: BeltStage, positions: int) -> float:
    """Return how far the worst of a stage's belts runs out of line by what is stated, whatever is turned."""
    if stage.driver.shared:
        return 0.0
    sides = stage.driver, stage.driven
    pitches = [side.pitch_mm for side in sides if side.pitch_mm is not None]
    apart = (pitches[0] - pitches[1]) * (positions - 1) if len(pitches) == 2 else 0.0
    places = [side.along_mm for side in sides if "along_mm" in side.model_fields_set and side.along_mm is not None]
    # one pitch for both, and the middles of both cones in line
    worst = abs(apart) / 2
    if len(places) == 2:
        first = places[0] - places[1]
        last = first + (apart if stage.onward == "outward" else -apart)
        worst = max(worst, abs(first), abs(last))
    return worst


def _cones_on(scenario: Scenario, shaft: str) -> Iterator[str]:
    """Yield the places of all cones on a shaft."""
    for stage in scenario.stages:
        if isinstance(stage, BeltStage):
            for side, name in (("driver", stage.from_shaft), ("driven", stage.to_shaft)):
                if name == shaft and not (side == "driver" and stage.driver.shared):
                    yield f"{scenario.place_of(stage)}.{side}"


def _needed_mm(side: Side, section: Section, making: Making, most_datum_mm: float) -> float:
    if not side.turned:
        return rim_width_mm(section) if side.pulleys_mm else section.top_mm
    tops = (groove(section, size, side.groove).top_width_mm for size in (section.smallest_datum_mm, most_datum_mm))
    return max(tops) + 2 * making.wall_mm
