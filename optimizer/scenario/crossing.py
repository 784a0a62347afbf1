"""Rules that cross from one part of a scenario to another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import prod
from typing import TYPE_CHECKING

from optimizer.catalogue.lines import shifts
from optimizer.errors import Fault
from optimizer.quantities import as_written, show_length
from optimizer.scenario.band import MOST_SPEEDS
from optimizer.scenario.chain import MOTOR, SPINDLE
from optimizer.scenario.shop import Motor
from optimizer.scenario.stage import BeltStage, FixedStage

if TYPE_CHECKING:
    from optimizer.scenario.scenario import Scenario

__all__ = ["blank_faults", "grip_faults", "most_speeds", "speed_count_faults", "speed_limit_faults"]


def most_speeds(motor: Motor, stages: Sequence[BeltStage | FixedStage]) -> int:
    """Return how many speeds motor and stages make with the most positions each may have."""
    return prod(_counts(motor, stages))


def _counts(motor: Motor, stages: Sequence[BeltStage | FixedStage]) -> list[int]:
    """Return how many positions or settings there are of everything that has some."""
    settings = [1 + len(motor.slower_rpm)]
    settings += [1 + len(stage.slower) for stage in stages if isinstance(stage, FixedStage)]
    belts = [stage for stage in stages if isinstance(stage, BeltStage)]
    positions = [max(1, max(stage.positions) - stage.driver.shared) for stage in belts]
    return [*(count for count in settings if count > 1), *positions]


def speed_count_faults(motor: Motor, stages: Sequence[BeltStage | FixedStage]) -> Iterator[Fault]:
    """Yield a fault where no belt makes a speed, or positions multiply to more speeds than are searched."""
    counts = _counts(motor, stages)
    if not any(isinstance(stage, BeltStage) for stage in stages):
        yield Fault(
            "stage", "no stage has a belt", allowed="at least one belt stage", advice="add [[stage]] with a belt"
        )
    elif prod(counts) > MOST_SPEEDS:
        belts = [(max(stage.positions), -i) for i, stage in enumerate(stages) if isinstance(stage, BeltStage)]
        index = -max(belts)[1]
        switched = " and what is switched" if len(counts) > len(belts) else ""
        yield Fault(
            f"stage[{index}].positions",
            f"the positions{switched} multiply to {prod(counts)} speeds",
            " x ".join(map(str, counts)),
            f"at most {MOST_SPEEDS} speeds, such as 4 x 6",
            "ask for fewer positions",
        )


MARKED = "raise the limit only where all that turns is marked for more"
"""What is said of a limit of speed that keeps what turns from bursting."""


def speed_limit_faults(scenario: Scenario) -> Iterator[Fault]:
    """Yield a fault for every speed limit that rules a band or the motor out."""
    gain = scenario.idle_gain()
    for index, band in enumerate(scenario.bands):
        marked = scenario.marked_rpm(band)
        if marked <= band.from_rpm:
            yield Fault(
                f"band[{index}].surface_limit",
                "the machine idles faster than it runs under load: without load the mark is passed at every speed of "
                f"band {as_written(band.name)}",
                f"the mark allows {marked:.0f} rpm under full load",
                f"above {band.from_rpm:g} rpm",
                "want less, or take a wheel or tool that is marked for more",
            )
    limits = [("series.never_above", scenario.series.never_above_rpm)]
    idle = scenario.motor.speed_rpm * scenario.motor.idle_gain
    for index, shaft in enumerate(scenario.shafts):
        limit = shaft.never_above_rpm
        if shaft.name == MOTOR and limit < idle:
            yield Fault(
                f"shaft[{index}].never_above",
                "without load the motor runs faster than its shaft may",
                f"{limit:g} rpm",
                f"a motor that idles at {limit:g} rpm or less",
                f"take a slower motor; {MARKED}",
            )
        if shaft.name == SPINDLE:
            limits.append((f"shaft[{index}].never_above", limit))
    for place, limit in limits:
        for band in scenario.bands:
            if limit / gain < band.from_rpm * (1 - scenario.series.ends):
                yield Fault(
                    place,
                    f"no speed may be as high as band {as_written(band.name)}, which wants {band.want}",
                    f"{limit:g} rpm",
                    f"bands that begin at {limit / gain:.4g} rpm or below, as the spindle then idles at {limit:g}",
                    f"leave the band out; {MARKED}",
                )


def blank_faults(scenario: Scenario, units: str) -> Iterator[Fault]:
    """Yield a fault for every turned side of which no disc can be made."""
    largest, truing = scenario.making.largest_blank_mm, scenario.making.truing_mm
    for number, stage in enumerate(scenario.stages):
        if not isinstance(stage, BeltStage):
            continue
        for name, side in (("driver", stage.driver), ("driven", stage.driven)):
            if side.shared:
                continue
            place = f"stage[{number}].{name}"
            allowed = f"at most {show_length(largest, units)}, the largest blank"
            if side.blanks_mm and min(side.blanks_mm) > largest:
                yield Fault(
                    f"{place}.blanks", "every disc is larger than can be swung", as_written(side.blanks_mm), allowed
                )
            if side.free_mm and not side.discs_mm:
                lines = shifts(stage.belt.data, side.groove)
                most = largest - truing + lines.of(side.measured) - lines.outside_less_datum
                if side.free_mm[0] > most + 1e-9:
                    got = show_length(side.free_mm[0], units)
                    most_said = f"at most {show_length(most, units)} {side.measured}, the largest blank less truing"
                    yield Fault(f"{place}.free[0]", "no disc as large as this can be swung", got, most_said)
            for index, blank in enumerate(side.blanks_mm):
                if blank <= truing:
                    got = show_length(blank, units)
                    allowed = f"above {show_length(truing, units)}"
                    yield Fault(f"{place}.blanks[{index}]", "truing takes all of this disc", got, allowed)


def grip_faults(scenario: Scenario) -> Iterator[Fault]:
    """Yield a fault for every limit of grip where nobody says what the belts must carry."""
    if scenario.motor.power_kw is not None:
        return
    if scenario.series.least_grip > 0 and not all(band.work_power_kw for band in scenario.bands):
        yield Fault(
            "series.least_grip",
            "without the motor's power it is not known what the belts must carry",
            f"{scenario.series.least_grip:g}",
            "0, or power under [motor]",
            "write the rated power of the nameplate",
        )
    for index, band in enumerate(scenario.bands):
        if band.carry == "limit" and band.work_power_kw is None:
            yield Fault(
                f"band[{index}].carry",
                "it is not known what the belts must carry",
                '"limit"',
                "work_power beside it, or power under [motor]",
            )
