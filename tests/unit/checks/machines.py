"""Hand-made machines whose figures are worked out by hand.

One stage, belt A 1120 (datum = pitch), three positions. 90+160 = 125+125 = 160+90 mm, slip 0, motor 1400
rpm: speeds 1400·90/160 = 787.5, 1400, 1400·160/90 = 2488.889 rpm, ratio 16/9. Middle position: C = (1120 −
π·125)/2 = 363.650 mm. Outer ones, s = 35: 2·sqrt(C² − 35²) + 250π/2 + 70·asin(35/C) = 1120 at C = 361.957
mm, as 720.520 + 392.699 + 6.779 = 1119.998 mm there. Outside diameters are 6.6 mm larger.
"""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.checks import Check, check_design, skipped_checks
from optimizer.checks.stated import read_machine
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.scenario import Scenario, load_scenario

__all__ = ["BASE", "TWO_STAGES", "UNSTATED", "built", "failed", "machine", "named", "scenario", "skipped"]

BASE = """
title = "Pattern mill with one cone"
units = "mm"
[motor]
speed = 1400
idle = 1400
[[band]]
name = "all work"
from = 780
to = 2500
want = 3
[series]
never_above = 2600
[making]
largest_blank = 200
rim_speed = "25 m/s"
[[shaft]]
name = "motor"
diameter = 26
room = 120
never_above = 3000
[[shaft]]
name = "spindle"
diameter = 25
room = 130
never_above = 3000
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = [250, 400]
travel = 70
slip = 0
belt = { section = "A", lengths = [1120] }
driver = { free = [80, 200] }
driven = { free = [80, 200] }
"""

TWO_STAGES = """
title = "Mill head with a countershaft"
units = "mm"
[motor]
speed = 1400
[[shaft]]
name = "countershaft"
mount = "slide"
[[shaft]]
name = "spindle"
mount = "slide"
[[stage]]
from = "motor"
to = "countershaft"
positions = 2
centres = [250, 400]
travel = 70
slip = 0
belt = { section = "A", lengths = [1120] }
driver = { free = [80, 200] }
driven = { free = [80, 200] }
[[stage]]
from = "countershaft"
to = "spindle"
positions = 3
centres = [250, 400]
travel = 70
slip = 0
belt = { section = "A", lengths = [1120] }
driver = { free = [80, 200] }
driven = { free = [80, 200] }
"""


UNSTATED = {
    "room around": {"shaft"},
    "work size": {"work"},
    "grip, pulls, torque": {"motor.power"},
    "pull of the mount": {"spindle"},
    "shaft strength": {"motor", "spindle"},
    "key": {"motor", "spindle"},
    "motor frame": {"motor.frame"},
    "starting torque": {"motor.torque_class"},
    "run-up time": {"work.inertia"},
}
"""Checks that none of these machines states enough for, with their places."""


def scenario(text: str, *edits: tuple[str, str]) -> Scenario:
    """Return a scenario whose text is changed in every place named, each of which must be there."""
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new)
    return load_scenario(text, "machine.toml")


def built(
    driver: Sequence[float],
    driven: Sequence[float],
    *,
    key: str = "stage[0]",
    length: float = 1120.0,
    turned: bool = True,
) -> BuiltStage:
    """Return a stage with belt A by its datum diameters."""
    return BuiltStage(
        key=key,
        section="A",
        marking=f"A {length:g}",
        datum_length_mm=length,
        driver_outside_mm=tuple(size + 6.6 for size in driver),
        driven_outside_mm=tuple(size + 6.6 for size in driven),
        driver_turned=(turned,) * len(driver),
        driven_turned=(turned,) * len(driven),
    )


def machine(*stages: BuiltStage) -> BuiltMachine:
    """Return a machine of the stages, the hand-made one where none is given."""
    return BuiltMachine(stages=stages or (built((90, 125, 160), (160, 125, 90)),))


def failed(text: Scenario, stages: BuiltMachine) -> dict[str, list[Check]]:
    """Return the checks that fail, by name, without what an arbor shows: light cones on stout shafts all warn of it."""
    found: dict[str, list[Check]] = {}
    for check in check_design(read_machine(text, stages)):
        if not check.passed and check.name != "unbalance that an arbor shows":
            found.setdefault(check.name, []).append(check)
    return found


def named(text: Scenario, stages: BuiltMachine, name: str) -> list[Check]:
    """Return the checks of a name."""
    return [check for check in check_design(read_machine(text, stages)) if check.name == name]


def skipped(text: Scenario, stages: BuiltMachine) -> dict[str, set[str]]:
    """Return where checks are skipped, by name."""
    found: dict[str, set[str]] = {}
    for item in skipped_checks(read_machine(text, stages)):
        found.setdefault(item.name, set()).add(item.where)
    return found
