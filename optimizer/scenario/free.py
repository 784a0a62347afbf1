"""Two belts whose speeds make no series: a middle cone that both of them share, or speeds that are left free."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import prod
from typing import TYPE_CHECKING

from optimizer.errors import Fault
from optimizer.quantities import as_written, show_length
from optimizer.scenario.band import MOST_SPEEDS
from optimizer.scenario.side import Side
from optimizer.scenario.stage import BeltStage, FixedStage
from optimizer.scenario.values import SAME_MM

if TYPE_CHECKING:
    from optimizer.scenario.scenario import Scenario

__all__ = ["MOST_FREE_SPEEDS", "free_faults", "shared_cone_faults", "stage_before", "with_shared_cone"]

MOST_FREE_SPEEDS = 20
"""Ways of making a speed that are searched: a shared cone of five steps, or two cones of four and five."""
Stages = Sequence[BeltStage | FixedStage]
OPPOSITE = {"outward": "inward", "inward": "outward"}


def stage_before(stages: Stages, stage: BeltStage | FixedStage) -> BeltStage | FixedStage | None:
    """Return the stage that drives the shaft a stage starts from; nothing where none does, or several do."""
    found = [other for other in stages if other.to_shaft == stage.from_shaft and other is not stage]
    return found[0] if len(found) == 1 else None


def with_shared_cone(stages: Stages) -> tuple[BeltStage | FixedStage, ...]:
    """Return the stages with every shared driver as the driven cone that it is.

    It has as many positions as the belt before, and its steps run the other way along the shaft: the slowest position
    of the one belt lies where the fastest of the other does.
    """
    return tuple(_completed(stages, stage) if isinstance(stage, BeltStage) else stage for stage in stages)


def _completed(stages: Stages, stage: BeltStage) -> BeltStage:
    before = stage_before(stages, stage)
    if not stage.driver.shared or not isinstance(before, BeltStage):
        return stage
    cone = before.driven
    # what is stated, and what is a default, is told once, where the cone is driven
    told = set(Side.model_fields) - {"smallest_mm"}
    driver = Side.model_construct(told, **{**cone.__dict__, "shared": True, "along_mm": None})
    copy = stage.filled(positions=before.positions, onward=OPPOSITE[before.onward])
    copy.__dict__["driver"] = driver
    return copy


def shared_cone_faults(stages: Stages, units: str) -> Iterator[Fault]:
    """Yield what keeps a driver from being the driven cone of the stage before."""
    for number, stage in enumerate(stages):
        if not isinstance(stage, BeltStage):
            continue
        place = f"stage[{number}]"
        if stage.driven.shared:
            advice = "state its diameters, and shared on the driver of the next stage"
            yield Fault(f"{place}.driven.shared", "only a driver is shared with the stage before", "true", "", advice)
        if not stage.driver.shared:
            continue
        before = stage_before(stages, stage)
        if not isinstance(before, BeltStage):
            yield Fault(
                f"{place}.driver.shared",
                f"no belt drives {stage.from_shaft}, so that there is no cone on it to share",
                "true",
                "a stage that a belt stage leads to",
                "state diameters in its place",
            )
            continue
        if before.driver.shared:
            what = "the belt before runs on a shared cone too; one cone of a machine can be shared"
            yield Fault(f"{place}.driver.shared", what, "true", "once", "state diameters in its place")
        yield from _unlike(place, stage, before, units)


def _unlike(place: str, stage: BeltStage, before: BeltStage, units: str) -> Iterator[Fault]:
    """Yield in what the belts of a shared cone are not alike."""
    if stage.belt.section != before.belt.section:
        what = "both belts run in the same grooves, so that they have one section"
        yield Fault(f"{place}.belt", what, as_written(stage.belt.section), as_written(before.belt.section))
    if stage.positions != before.positions:
        got, allowed = (as_written(_plain(each.positions)) for each in (stage, before))
        yield Fault(f"{place}.positions", "a shared cone has as many steps for either belt", got, allowed)
    sides = {"driven": stage.driven, "driver": before.driver}
    pitches = {name: side.pitch_mm for name, side in sides.items() if side.pitch_mm is not None}
    if before.driven.pitch_mm is not None:
        pitches["cone"] = before.driven.pitch_mm
    if "driven" in pitches and any(abs(pitches["driven"] - other) > SAME_MM for other in pitches.values()):
        what = "all three cones must have one step pitch, or no belt runs in line"
        others = [pitch for name, pitch in pitches.items() if name != "driven"]
        yield Fault(f"{place}.driven.pitch", what, show_length(pitches["driven"], units), show_length(others[0], units))
    if stage.driven.kept_mm and len(stage.driven.kept_mm) < max(stage.positions):
        what = f"the kept cone has fewer steps than the {max(stage.positions)} positions"
        yield Fault(
            f"{place}.driven.kept", what, f"{len(stage.driven.kept_mm)} steps", f"{max(stage.positions)} steps or more"
        )
    if stage.onward == before.onward:
        what = "the slowest position of this belt lies where the fastest of the belt before does"
        yield Fault(f"{place}.onward", what, as_written(stage.onward), as_written(OPPOSITE[before.onward]))


def free_faults(scenario: Scenario) -> Iterator[Fault]:
    """Yield what a machine whose speeds are free cannot have."""
    if not scenario.free:
        return
    key = scenario.free_key
    belts = [stage for stage in scenario.stages if isinstance(stage, BeltStage)]
    if len(belts) != 2:
        got = f"{len(belts)} belt stage{'s' if len(belts) != 1 else ''}"
        yield Fault(key, "speeds are free where two belts make them", got, "two belt stages")
        return
    yield from _count_faults(scenario, belts)
    yield from _series_faults(scenario)
    yield from _switch_faults(scenario)
    yield from _hand_faults(scenario)


def _count_faults(scenario: Scenario, belts: Sequence[BeltStage]) -> Iterator[Fault]:
    if scenario.shared_cone:
        least, most = (count * (count - 1) for count in (min(belts[0].positions), max(belts[0].positions)))
        stage, few, allowed = belts[0], "a shared cone of one step lets no belt run beside the other", "at most 5"
    else:
        least, most = (
            prod(counts) for counts in zip(*((min(b.positions), max(b.positions)) for b in belts), strict=True)
        )
        stage, few, allowed = belts[-1], "two belts of one position each make one speed", "such as 4 and 5 positions"
    place, got = f"{scenario.place_of(stage)}.positions", as_written(_plain(stage.positions))
    if least < 2:
        yield Fault(place, few, got, "2 positions or more")
    if MOST_FREE_SPEEDS < most <= MOST_SPEEDS:
        what = f"there are {most} ways of making a speed, more than the {MOST_FREE_SPEEDS} that are searched"
        yield Fault(place, what, got, allowed, "ask for fewer positions")


def _plain(positions: tuple[int, ...]) -> int | list[int]:
    return positions[0] if len(positions) == 1 else list(positions)


def _series_faults(scenario: Scenario) -> Iterator[Fault]:
    series = scenario.series
    why = "the speeds are free, so that there are no ranges"
    if series.shared:
        yield Fault("series.shared", why, str(series.shared), "0", "leave it out; near-equal speeds count once anyway")
    if series.one_range:
        yield Fault("series.one_range", why, "true", "false", "leave it out")
    why = "grip is not a limit yet where speeds are free; it is told for every speed"
    if series.least_grip:
        yield Fault("series.least_grip", why, f"{series.least_grip:g}", "0", "leave it out, and look at the grips")
    for index, band in enumerate(scenario.bands):
        if band.carry == "limit":
            yield Fault(f"band[{index}].carry", why, '"limit"', '"advice"', "leave it out, and look at the grips")


def _switch_faults(scenario: Scenario) -> Iterator[Fault]:
    why = "where speeds are free nothing else is switched"
    for switch in scenario.switches:
        advice = "leave it out, and design the machine once for each setting"
        place = f"{switch.key}.slower"
        yield Fault(place, why, f"{len(switch.values)} settings", "one setting", advice)
    for number, stage in enumerate(scenario.stages):
        if isinstance(stage, FixedStage) and stage.other_ratios:
            what = "other ratios are not searched where speeds are free"
            advice = "leave it out, and design the machine once for each ratio"
            yield Fault(f"stage[{number}].other_ratios", what, as_written(list(stage.other_ratios)), "none", advice)


def _hand_faults(scenario: Scenario) -> Iterator[Fault]:
    why = "what is in hand is not counted where speeds are free"
    there = scenario.in_hand
    for key, some in (("sheave", there.sheaves), ("disc", there.discs), ("belt", there.belts)):
        if some:
            advice = "state sizes as ready or blanks, belts as lengths, and see that there are enough"
            yield Fault(f"in_hand.{key}", why, f"{len(some)} kinds", "none", advice)
