"""Jobs whose diameters are set by hand, so that what is cut, bought and done can be worked out on paper.

The mill: motor 1400 rpm, no slip. Stage 1, belt A: a ready sheave of datum 75 on the motor, a timber pulley of datum
210 on the countershaft, so 1400·75/210 = 500 rpm. Stage 2, belt A, two timber cones: 90 to 180, 150 to 120 mm datum, so
500·90/180 = 250 and 500·150/120 = 625 rpm. Over the rim all are 6.6 mm larger, over 12 mm pins 17.0 mm (GOST 20889-88,
read). A layer is 17.7 mm; two make a step: groove 13.27 mm at the most, walls 2·4 mm.
"""

from __future__ import annotations

from functools import cache

from optimizer.checks.stated import read_machine
from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job
from optimizer.pipeline.machine import machine_sheet
from optimizer.pipeline.sheets import check_sheets, scenario_sheet, shafts_sheet, skipped_sheets
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.design import Design
from optimizer.scenario import load_scenario
from tests.machines import GRINDER

__all__ = ["BEARINGS", "HEAD", "MILL", "by_hand", "mill", "stage"]

HEAD = """title = "{title}"
units = "{units}"
[motor]
speed = {rpm}
power = "0.75 kW"
[[band]]
name = "all"
from = 200
to = 700
"""
MAKING = """[making]
largest_blank = "240 mm"
layer = "17.7 mm"
"""
SHAFTS = """[[shaft]]
name = "motor"
diameter = "19 mm"
mount = "slide"
on = "countershaft"
[[shaft]]
name = "countershaft"
diameter = "20 mm"
hub = "35 mm"
mount = "slide"
{countershaft}
[[shaft]]
name = "spindle"
diameter = "25 mm"
"""
STAGES = """[[stage]]
from = "motor"
to = "countershaft"
centres = ["300 mm", "400 mm"]
travel = "90 mm"
slip = 0
belt = {{ section = "A", lengths = ["1180 mm"] }}
driver = {{ ready = ["75 mm", "80 mm"] }}
driven = {{ free = ["75 mm", "230 mm"]{along_driven} }}
[[stage]]
from = "countershaft"
to = "spindle"
positions = 2
centres = ["300 mm", "400 mm"]
travel = "90 mm"
slip = 0
belt = {{ section = "A", lengths = ["1120 mm"] }}
driver = {{ free = ["75 mm", "230 mm"]{along_driver} }}
driven = {{ free = ["75 mm", "230 mm"] }}
"""
MILL = HEAD + MAKING + SHAFTS + STAGES
BEARINGS = 'bearings = ["-100 mm", "200 mm"]'


def stage(
    number: int,
    belt: tuple[str, float],
    sizes: tuple[tuple[float, ...], tuple[float, ...]],
    turned: tuple[str, str],
) -> BuiltStage:
    """Return a stage as built.

    Parameters
    ----------
    number
        Its place in the file.
    belt
        Section and datum length [mm].
    sizes
        Diameters over the rim of driver and driven [mm].
    turned
        A letter for each step of either side: t where it is turned.
    """
    return BuiltStage(
        key=f"stage[{number}]",
        section=belt[0],
        marking=f"{belt[0]} {belt[1]:g} mm",
        datum_length_mm=belt[1],
        driver_outside_mm=sizes[0],
        driven_outside_mm=sizes[1],
        driver_turned=tuple(letter == "t" for letter in turned[0]),
        driven_turned=tuple(letter == "t" for letter in turned[1]),
    )


def by_hand(text: str, *stages: BuiltStage) -> Job:
    """Return a scenario with diameters set by hand; what follows from them is worked out anew, the search is not."""
    scenario, machine = load_scenario(text, "hand.toml"), BuiltMachine(stages=stages)
    made = _some_design().model_copy(
        update={
            "scenario": scenario_sheet(scenario),
            "machine": machine_sheet(read_machine(scenario, machine)),
            "shafts": shafts_sheet(read_machine(scenario, machine)),
            "checks": check_sheets(read_machine(scenario, machine)),
            "skipped": skipped_sheets(read_machine(scenario, machine)),
        }
    )
    return Job(made, scenario)


def mill(
    *,
    title: str = "Mill",
    units: str = "mm",
    rpm: float = 1400,
    countershaft: str = "",
    along: tuple[str, str] = ("", ""),
    change: tuple[str, str] = ("", ""),
) -> Job:
    """Return the mill; `along` are the places of the two cones on the countershaft, `change` swaps a piece of text."""
    places = [f', along = "{place}"' if place else "" for place in along]
    text = MILL.format(
        title=title,
        units=units,
        rpm=rpm,
        countershaft=countershaft,
        along_driven=places[0],
        along_driver=places[1],
    )
    assert not change[0] or change[0] in text
    return by_hand(
        text.replace(*change) if change[0] else text,
        stage(0, ("A", 1180.0), ((81.6,), (216.6,)), ("r", "t")),
        stage(1, ("A", 1120.0), ((96.6, 156.6), (186.6, 126.6)), ("tt", "tt")),
    )


@cache
def _some_design() -> Design:
    """Return a design to take the record's other parts from; no list reads them."""
    return design(load_scenario(GRINDER, "grinder.toml"))
