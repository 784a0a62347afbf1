"""Designs beside their scenarios, made once, for tests of the papers that are made from them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job
from optimizer.pipeline.options import DesignOptions
from optimizer.scenario import load_scenario
from tests.sampled import EVERYTHING
from tests.shared import shared

__all__ = ["DIFFERENT", "JOBS", "job", "job_from"]

SCENARIOS = Path(__file__).parent.parent / "scenarios"
ALL_SPEEDS = """[[band]]
name = "all"
from = {low}
to = {high}

[series]
end_miss = 1
unevenness = 1

"""
"""A band that takes every speed, put before the shafts of a machine that is fully known."""
HOSTILE = "W木旋盤 <b>&amp;'%%c שלום " + "Ünbroken" * 7
"""As a name: wide signs, right-to-left, markup, codes of drawing formats, words without end."""

SMALL = """title = "{title}"
units = "{units}"
[motor]
speed = 1400
[[shaft]]
name = "motor"
diameter = "19 mm"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = ["200 mm", "400 mm"]
travel = "100 mm"
belt = {{ section = "A", lengths = ["1000 mm"] }}
driver = {{ kept = ["75 mm", "100 mm", "125 mm"] }}
driven = {{ kept = ["150 mm", "128 mm", "101 mm"] }}
"""
EIGHTEEN = """title = "Eighteen speeds"
units = "mm"
[motor]
speed = 1400
[work]
wood_turning = true
largest = 300
[[shaft]]
name = "motor"
diameter = 19
mount = "slide"
on = "countershaft"
[[shaft]]
name = "countershaft"
diameter = 20
mount = "hinge"
[[stage]]
from = "motor"
to = "countershaft"
positions = 3
centres = [200, 500]
travel = 100
belt = { section = "A", lengths = [1000] }
driver = { kept = [75, 81, 87] }
driven = { kept = [160, 154, 148] }
[[stage]]
from = "countershaft"
to = "spindle"
positions = 6
centres = [200, 500]
travel = 100
belt = { section = "A", lengths = [1250] }
driver = { kept = [76, 97, 120, 145, 170, 194] }
driven = { kept = [224, 203, 180, 155, 130, 106] }
"""
GEARED = """title = "Gears that reverse, a bed that goes on and on"
units = "mm"
[motor]
speed = 1400
turns = "clockwise"
[[shaft]]
name = "motor"
diameter = 19
at = [0, 0]
mount = "hinge"
hinge = { at = [-120, 40] }
[[shaft]]
name = "lay"
diameter = 20
at = [250, 60]
[[shaft]]
name = "spindle"
diameter = 30
at = [250, 140]
[[obstacle]]
name = "bed"
box = { from = [-3000, -200], to = [3000, -120] }
[[obstacle]]
name = "cover of the motor"
round = { at = [-90, -10], diameter = 90 }
on = "motor"
[[obstacle]]
name = "wall far away"
box = { from = [2000, -500], to = [2100, 500] }
[[stage]]
from = "motor"
to = "lay"
positions = 2
centres = [200, 300]
travel = 70
belt = { section = "A", lengths = [900] }
driver = { kept = [80, 90] }
driven = { kept = [150, 141] }
[[stage]]
from = "lay"
to = "spindle"
ratio = 0.6
reverses = true
"""
SHARED = """title = "Drill with one middle cone"
units = "mm"
[motor]
speed = 1400
power = 0.25
[[band]]
name = "large holes"
from = 400
to = 900
want = 1
[[band]]
name = "small holes"
from = 900
to = 2600
want = 1
[series]
distinct = 0.07
[making]
largest_blank = 170
layer = 12
step_pitch = "layers"
grid = 20
turn_to = 1
[[shaft]]
name = "motor"
diameter = 14
mount = "slide"
[[shaft]]
name = "middle"
diameter = 15
hub = 22
mount = "slide"
[[shaft]]
name = "spindle"
diameter = 20
[[stage]]
from = "motor"
to = "middle"
positions = 4
centres = [200, 300]
travel = 70
belt = { section = "Z", lengths = [800] }
driver = { kept = [60, 70, 110, 120], pitch = 24 }
driven = { free = [60, 140] }
[[stage]]
from = "middle"
to = "spindle"
centres = [200, 300]
travel = 70
belt = { section = "Z", lengths = [800] }
driver = { shared = true }
driven = { free = [60, 140] }
"""
"""Two belts on one middle cone: ten speeds, two of them nearly had in a second way, five of them not on the plate."""
TWO_CONES = (
    SHARED.replace("distinct = 0.07", "free = true")
    .replace("one middle cone", "two middle cones")
    .replace("driver = { shared = true }", "positions = 2\ndriver = { kept = [60, 100], pitch = 24 }")
    .replace("positions = 4", "positions = 3")
    .replace("[60, 70, 110, 120]", "[60, 90, 120]")
)
"""The same with a cone for either belt."""
MIDDLE = {
    "middle cone": SHARED,
    "two middle cones": TWO_CONES,
    "hostile middle cone": SHARED.replace('"middle"', f'"{HOSTILE}"').replace('"small holes"', f'"{HOSTILE}"'),
}
"""Machines whose speeds are free."""


@cache
def job(name: str) -> Job:
    """Return the design of a shipped scenario, or of one of the machines that are not shipped."""
    text = _extra(name) if name in NOT_AS_SHIPPED else (SCENARIOS / f"{name}.toml").read_text(encoding="utf-8")
    return shared(f"job {name}", lambda: job_from(text, f"{name}.toml"))


def job_from(text: str, name: str = "machine.toml") -> Job:
    """Return the design of a scenario's text beside it."""
    scenario = load_scenario(text, name)
    return Job(design(scenario, DesignOptions()), scenario)


def _extra(name: str) -> str:
    """Return the text of a machine that is not shipped, or of one that ships without bands."""
    if name in ("tool-grinder", "old-drill"):
        return _banded((SCENARIOS / f"{name}.toml").read_text(encoding="utf-8"), 250, 2600)
    if name == "hostile":
        return _banded(SMALL.format(title=HOSTILE, units="in"), 500, 1700).replace('"all"', f'"{HOSTILE}"')
    if name == "hostile shafts":
        return _extra("tool-grinder").replace('"countershaft"', f'"{HOSTILE}"')
    if name in MIDDLE:
        return MIDDLE[name]
    return _banded(EIGHTEEN, 222, 1480) if name == "eighteen" else _banded(GEARED, 440, 540)


def _banded(text: str, low: int, high: int) -> str:
    start = text.index("[[shaft]]")
    return text[:start] + ALL_SPEEDS.format(low=low, high=high) + text[start:]


NOT_AS_SHIPPED = ("tool-grinder", "old-drill", "hostile", "hostile shafts", "eighteen", "geared", *MIDDLE)
DIFFERENT = (
    "bench-shaper",
    "drum-sander",
    "grindstone",
    "kept-cone-engraver",
    "pattern-mill",
    "polishing-head",
    "slot-cutter",
    "old-drill",
    "hostile",
    "hostile shafts",
    "eighteen",
    "geared",
    "middle cone",
)
"""Machines different in kind, whose papers are tested.

Two stages in inches; centimetres; crossed flat rims on locked shafts; a kept cone by its size over pins; two stages
with hubs; sizes of work and obstacles; sheaves, belts and open steps in hand; every pulley known, in inches; hostile
titles; hostile shafts; as many speeds as there are; gears and a bed that goes on and on; a cone that two belts share.
"""


def _every() -> tuple[str, ...]:
    texts = {path.stem: path.read_text(encoding="utf-8") for path in sorted(SCENARIOS.glob("*.toml"))}
    banded = [name for name, text in texts.items() if "\n[[band]]" in text and "exit code 3" not in text]
    return tuple(dict.fromkeys((*banded, *NOT_AS_SHIPPED)))


JOBS = _every() if EVERYTHING else DIFFERENT
"""The machines whose papers are tested: where everything is asked every shipped one too."""
