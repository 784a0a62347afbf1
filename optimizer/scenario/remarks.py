"""What is legal in a scenario but costs something."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from optimizer.catalogue.parts import frame
from optimizer.mechanics.motors import field_speed
from optimizer.quantities import as_written, show_length, show_rpm
from optimizer.scenario.band import marked_rpm, show_surface
from optimizer.scenario.chain import MOTOR, SPINDLE
from optimizer.scenario.crossing import most_speeds
from optimizer.scenario.in_hand import takes
from optimizer.scenario.mounts import changes
from optimizer.scenario.stage import BeltStage

if TYPE_CHECKING:
    from optimizer.scenario.scenario import Scenario
    from optimizer.scenario.side import Side

__all__ = ["remarks_on"]

MANY_SIZES = 1000
"""More listed sizes than this on one side make a search slow; judgement."""


def remarks_on(scenario: Scenario) -> tuple[str, ...]:
    """Return one sentence for everything that is legal but costly, in a fixed order."""
    return (
        *_on_motor(scenario),
        *_on_bands(scenario),
        *_on_marks(scenario),
        *_on_wants(scenario),
        *_on_making(scenario),
        *_on_shafts(scenario),
        *_on_stages(scenario),
        *_on_in_hand(scenario),
    )


def _on_motor(scenario: Scenario) -> Iterator[str]:
    speed = scenario.motor.speed_rpm
    if scenario.motor.idle_rpm is None:
        yield (
            f"motor.idle: no induction motor at 50 or 60 Hz runs at {speed:g} rpm under full load, so its speed "
            "without load is not known; limits of what can burst are held at full load until it is stated."
        )
    if field_speed(speed) is not None:
        yield (
            f"motor.speed: {speed:g} rpm is the speed of the field, not of the shaft; "
            "the full-load speed on the nameplate is a few per cent lower."
        )
    shaft = next((shaft for shaft in scenario.shafts if shaft.name == MOTOR), None)
    if scenario.motor.frame is not None and (shaft is None or shaft.diameter_mm is None):
        known = frame(scenario.motor.frame)
        size = show_length(known.shaft_mm, scenario.units)
        yield f"motor.frame: the motor's shaft is taken as that of {known.name}, {size} ({known.source}); measure it."


def _on_bands(scenario: Scenario) -> Iterator[str]:
    bands = sorted(enumerate(scenario.bands), key=lambda item: (item[1].from_rpm, item[1].to_rpm))
    for (i, lower), (j, upper) in combinations(bands, 2):
        if upper.from_rpm < lower.to_rpm:
            ends = show_rpm(upper.from_rpm), show_rpm(min(lower.to_rpm, upper.to_rpm))
            yield (
                f"band[{i}] and band[{j}]: {as_written(lower.name)} and {as_written(upper.name)} overlap from "
                f"{' to '.join(ends)} rpm; a speed there counts in both."
            )
    if len(bands) < 2:
        return
    speeds = most_speeds(scenario.motor, scenario.stages)
    lowest, highest = bands[0][1].from_rpm, max(band.to_rpm for _, band in bands)
    two_steps = (highest / lowest) ** (2 / (speeds - 1)) if speeds > 1 else 1.0
    below, reached = bands[0]
    for index, upper in bands[1:]:
        if upper.from_rpm / reached.to_rpm > two_steps:
            ends = show_rpm(reached.to_rpm), show_rpm(upper.from_rpm)
            yield (
                f"band[{below}] and band[{index}]: the gap from {' to '.join(ends)} rpm is "
                f"wider than two steps of {speeds} even speeds; it costs evenness or a speed."
            )
        if upper.to_rpm > reached.to_rpm:
            below, reached = index, upper


def _on_marks(scenario: Scenario) -> Iterator[str]:
    """Yield where what is marked on a wheel or tool is below the greatest speed wanted along its surface."""
    for index, band in enumerate(scenario.bands):
        limit, wanted = band.surface_limit_m_s, band.surface_speed_m_s
        if limit is None:
            continue
        show = show_surface(band.surface_unit)
        if wanted is not None and limit < wanted[1]:
            yield (
                f"band[{index}].surface_limit: {show(wanted[1])} is wanted, but no more than the {show(limit)} that is "
                "marked is ever run."
            )
        if band.to_rpm == scenario.marked_rpm(band):
            yield (
                f"band[{index}]: {as_written(band.name)} ends at {show_rpm(band.to_rpm)} rpm under full load: the "
                f"spindle then idles at {show_rpm(marked_rpm(band))} rpm, where the rim runs at the {show(limit)} that "
                "is marked."
            )


def _on_wants(scenario: Scenario) -> Iterator[str]:
    if not scenario.bands:
        yield "band: no band is stated; the speeds can be told, but a design needs at least one [[band]]."
        return
    speeds = most_speeds(scenario.motor, scenario.stages)
    apart = [
        all(one is other or one.to_rpm <= other.from_rpm or other.to_rpm <= one.from_rpm for other in scenario.bands)
        for one in scenario.bands
    ]
    wanted = sum(band.want for band in scenario.bands) if all(apart) else max(band.want for band in scenario.bands)
    if wanted > speeds:
        yield f"band: {wanted} speeds are wanted, but the stages make at most {speeds}; no design can meet that."


def _on_making(scenario: Scenario) -> Iterator[str]:
    making = scenario.making
    turned = any(side.turned for _, side in _sides(scenario))
    if turned and scenario.units == "in" and "turn_to_mm" not in making.model_fields_set:
        yield 'making.turn_to: 0.5 mm is no fraction of an inch; write the finest you turn, such as "1/64 in".'
    if turned and making.grid_mm < making.turn_to_mm:
        yield "making.grid: the listed sizes are finer than turn_to, so they cannot be turned as listed."


def _on_shafts(scenario: Scenario) -> Iterator[str]:
    used = {MOTOR, SPINDLE, *(name for stage in scenario.stages for name in (stage.from_shaft, stage.to_shaft))}
    changed = changes(scenario.shafts, scenario.stages)
    carriers = {shaft.on for shaft in scenario.shafts}
    for index, shaft in enumerate(scenario.shafts):
        place, name = f"shaft[{index}]", as_written(shaft.name)
        if shaft.name not in used and shaft.name not in carriers:
            yield f"{place}: no stage touches {name}."
        stages = [i for i, movers in changed.items() if shaft.name in movers]
        if shaft.slides and not any(_travels(scenario, i) for i in stages):
            yield f"{place}.mount: {name} can move, but no stage that it changes states any travel."
        if shaft.on is not None and not scenario.shaft(shaft.on).slides and scenario.shaft(shaft.on).on is None:
            yield f"{place}.on: {as_written(shaft.on)} does not move, so riding on it is standing on the frame."


def _travels(scenario: Scenario, index: int) -> bool:
    stage = scenario.stages[index]
    return isinstance(stage, BeltStage) and stage.moves


def _on_stages(scenario: Scenario) -> Iterator[str]:
    for number, stage in enumerate(scenario.stages):
        if not isinstance(stage, BeltStage):
            continue
        place = f"stage[{number}]"
        belt = stage.belt
        if belt.joined and belt.data.default_series is not None and not belt.link:
            yield (
                f"{place}.belt.lengths: an endless belt of section {belt.section} is sold in set lengths only; "
                "any length means link belt (link = true), or belting joined from the roll."
            )
        if stage.moves and stage.slackened:
            yield f"{place}.slackened: the mount slackens this belt, so this is not needed."
        if not stage.moves and stage.budget.model_fields_set:
            yield f"{place}.budget: a locked pair has no travel to spend."
        kept = [side.kept_fixed_mm for side in (stage.driver, stage.driven) if side.kept_mm]
        if len(kept) == 2 and not (stage.driver.reversible or stage.driven.reversible) and _alike(kept[0], kept[1]):
            yield (
                f"{place}: both kept cones grow towards the same end, so no belt fits them all; "
                "turn one end for end (reversible = true, or the list the other way round)."
            )
    for place, side in _sides(scenario):
        yield from _on_side(scenario, place, side)


def _alike(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Tell whether two cones grow in the same direction."""
    return (one[-1] - one[0]) * (other[-1] - other[0]) > 0


def _on_side(scenario: Scenario, place: str, side: Side) -> Iterator[str]:
    largest, units = scenario.making.largest_blank_mm, scenario.units
    for index, blank in enumerate(side.blanks_mm):
        if blank > largest:
            over = f"{show_length(blank, units)} is over the largest blank, {show_length(largest, units)}"
            yield f"{place}.blanks[{index}]: {over}; it is turned no larger than that one."
    if side.free_mm:
        count = (side.free_mm[1] - side.free_mm[0]) / (side.grid_mm or scenario.making.grid_mm)
        if count > MANY_SIZES:
            yield f"{place}.free: about {count:.0f} sizes are listed on this side, which makes the search slow."
    if side.kept_mm and side.made_of(turned=False) is None:
        yield (
            f"{place}.material: what the kept cone is made of is not stated, so that the speed of its rim is not "
            'checked; write material = "cast iron", "steel", "aluminium" or "timber".'
        )
    if side.groove != "v" and side.measured == "datum":
        yield f"{place}.measured: without a groove the datum line lies outside the rim; outside is easier to measure."


def _sides(scenario: Scenario) -> Iterator[tuple[str, Side]]:
    """Yield both sides of every belt stage with their places."""
    for number, stage in enumerate(scenario.stages):
        if isinstance(stage, BeltStage):
            yield f"stage[{number}].driver", stage.driver
            yield f"stage[{number}].driven", stage.driven


def _on_in_hand(scenario: Scenario) -> Iterator[str]:
    """Yield what is in hand and of no use here."""
    there = scenario.in_hand
    stages = [stage for stage in scenario.stages if isinstance(stage, BeltStage)]
    sides = [(stage, side) for stage in stages for side in (stage.driver, stage.driven)]
    for number, sheave in enumerate(there.sheaves):
        if not any(takes(stage, side, sheave) for stage, side in sides):
            yield (
                f"in_hand.sheave[{number}]: no side uses it; a side whose belt is of section {sheave.section} does "
                "with sheaves_in_hand = true."
            )
    if there.discs and not any(side.discs_in_hand for _, side in sides):
        yield "in_hand.disc: no side uses the discs in hand; one does with discs_in_hand = true."
    most = scenario.making.largest_blank_mm
    for number, disc in enumerate(there.discs):
        if disc.diameter_mm > most:
            sizes = f"{show_length(disc.diameter_mm, scenario.units)} is above {show_length(most, scenario.units)}"
            yield f"in_hand.disc[{number}]: it cannot be swung, as {sizes}, making.largest_blank."
    for number, belt in enumerate(there.belts):
        if all(stage.belt.section != belt.section for stage in stages):
            yield f"in_hand.belt[{number}]: no stage runs on a belt of section {belt.section}."
