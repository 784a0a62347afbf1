"""Machines with something that is switched, from the file to plate, forms and readings."""

from __future__ import annotations

import csv
from itertools import pairwise

import pytest

from optimizer.checks.carrying import loads, torque_nm
from optimizer.checks.motor import run_ups
from optimizer.checks.stated import read_machine
from optimizer.documents.design import design_screen
from optimizer.documents.recheck import recheck_screen
from optimizer.documents.recheck_form import measured_csv, measured_toml
from optimizer.drawing.belt_layout import belt_layout_sheet
from optimizer.drawing.sheet import Text
from optimizer.drawing.speed_plate import speed_plate_sheet
from optimizer.errors import ScenarioError
from optimizer.layouts import layouts_of
from optimizer.pipeline.job import Job, machine_of
from optimizer.recheck.loading import load_measured
from optimizer.recheck.verdict import MeasuredFile, recheck
from optimizer.records.built import BuiltMachine
from optimizer.scenario import load_scenario
from tests.jobs import job_from

POLISHER = """
title = "Two-speed polisher"
units = "mm"
[motor]
speed = "2840 rpm"
slower = ["1420 rpm"]
power = "0.55 kW"
slower_power = ["0.37 kW"]
[[band]]
name = "all"
from = 900
to = 2850
want = 6
[work]
inertia = 0.1
[[shaft]]
name = "motor"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = [240, 340]
travel = 60
belt = "Z"
driver = { free = [56, 180], material = "metal" }
driven = { free = [56, 180], material = "metal" }
"""
HEAD = """
title = "Head with a back gear"
units = "mm"
[motor]
speed = "1420 rpm"
slower = ["950 rpm"]
[[band]]
name = "all"
from = 90
to = 1750
want = 6
[series]
unevenness = "20 %"
[[shaft]]
name = "motor"
mount = "slide"
[[shaft]]
name = "cone"
[[stage]]
from = "motor"
to = "cone"
positions = 2
centres = [240, 340]
travel = 60
belt = "A"
driver = { free = [76, 220], material = "metal" }
driven = { free = [76, 220], material = "metal" }
[[stage]]
from = "cone"
to = "spindle"
ratio = 1
slower = ["5:1"]
reverses = true
"""


@pytest.fixture(scope="module", params=[POLISHER, HEAD], ids=["motor", "motor and gear"])
def job(request: pytest.FixtureRequest) -> Job:
    """A designed machine."""
    return job_from(request.param)


def test_every_speed_is_its_shafts_ratios_and_settings(job: Job) -> None:
    """The motor runs as it is switched, the gear turns as it is engaged, the belt by its pitch diameters."""
    machine = job.design.machine
    for speed in machine.speeds:
        engaged = dict(zip((s.key for s in job.scenario.switches), speed.settings, strict=True))
        values = {s.key: s.values[engaged[s.key] - 1] for s in job.scenario.switches}
        assert speed.shafts[0].rpm == values["motor"]
        (stage,), (place,) = machine.stages, speed.positions
        at = stage.positions[place - 1]
        belt = values["motor"] * at.driver.pitch_mm / at.driven.pitch_mm * (1 - stage.slip)
        assert speed.rpm == pytest.approx(belt * values.get("stage[1]", 1.0))


def test_every_combination_makes_a_speed_once(job: Job) -> None:
    """Positions times settings are speeds, each combination once, slowest first."""
    speeds = job.design.machine.speeds
    assert len({(s.positions, s.settings) for s in speeds}) == len(speeds) in (6, 8)
    assert all(a.rpm < b.rpm for a, b in pairwise(speeds))


def test_screens_keep_to_80_columns_and_name_the_settings(job: Job) -> None:
    """Every row of the speeds tells what is switched to what."""
    screen = design_screen(job.design)
    assert max(map(len, screen.splitlines())) <= 80
    assert screen.count("1420 rpm") > 2
    for switch in job.design.machine.switches:
        assert all(name in screen for name in switch.settings)


def test_plate_and_layout_name_the_settings(job: Job) -> None:
    """A row of the plate, and the drawing of every speed, tell what everything is switched to."""
    words = [entity.text for entity in speed_plate_sheet(job).entities if isinstance(entity, Text)]
    for number, switch in enumerate(job.design.machine.switches):
        assert switch.name in words
        for speed in job.design.machine.speeds:
            name = switch.settings[speed.settings[number] - 1]
            assert words.count(name) >= 2
            assert f"{switch.name} at {name}" in belt_layout_sheet(job, speed.number).said


def test_readings_at_any_setting_tell_the_same_slip(job: Job) -> None:
    """With sizes as drawn and a belt that loses 1.7 %, speeds read at all settings give 1.7 %."""
    machine, lines = job.design.machine, ['units = "mm"', "[[check]]", "date = 2026-11-26", "speed = ["]
    for speed in machine.speeds:
        motor = speed.shafts[0].rpm * 1.05
        rpm = speed.rpm * 1.05 / (1 - machine.stages[0].slip) * (1 - 0.017)
        at = f"positions = {list(speed.positions)}, settings = {list(speed.settings)}, resolution = 0.05"
        lines.append(f"  {{ {at}, speed = {rpm:.3f}, motor = {motor:.3f} }},")
    text = "\n".join([*lines, "]"])
    told = recheck(job, MeasuredFile(load_measured(text, "m.toml", machine, "mm"), "m.toml", ""))
    assert told.slip is not None
    idle = next(value for value in told.slip.values if "idle" in value.name)
    assert idle.value is None or idle.value == pytest.approx(0.017, abs=1e-3)
    assert told.slip.consistent in (True, None)
    assert [read.off for read in told.read_speeds] == pytest.approx(
        [(1 - 0.017) / (1 - machine.stages[0].slip) - 1] * len(machine.speeds), abs=1e-4
    )
    assert max(map(len, recheck_screen(told, machine, 0.4).splitlines())) <= 80


def test_a_reading_that_does_not_say_how_it_was_switched_is_refused(job: Job) -> None:
    """A speed without settings could be any of several."""
    text = "[[check]]\ndate = 2026-11-26\nspeed = [{ positions = [1], speed = 900 }]\n"
    with pytest.raises(ScenarioError, match="it is not said how the machine was switched"):
        load_measured(text, "m.toml", job.design.machine, "mm")
    text = text.replace("speed = 900", 'settings = "4x4x4", speed = 900')
    with pytest.raises(ScenarioError, match="the machine has no such settings"):
        load_measured(text, "m.toml", job.design.machine, "mm")


def test_forms_can_be_read_as_they_are_written(job: Job) -> None:
    """With a date and a speed in every row of speeds, both forms tell the settings of every speed of the plate."""
    settings = [speed.settings for speed in job.design.machine.speeds]
    toml = measured_toml(job.design).replace('date = ""', "date = 2026-11-26").replace('speed = ""', "speed = 900")
    head, *rows = csv.reader(measured_csv(job.design).splitlines())
    for row in rows:
        row[head.index("date")] = "2026-11-26"
        if row[head.index("what")] == "speed":
            row[head.index("speed")] = "900"
    table = "\n".join(";".join(row) for row in (head, *rows))
    for name, text in (("m.toml", toml), ("m.csv", table)):
        (check,) = load_measured(text, name, job.design.machine, "mm").checks
        assert [reading.settings for reading in check.speed] == settings


def test_torque_and_start_are_those_of_the_motor_as_it_is_switched() -> None:
    """Slower, it gives 0.37 kW: 9549.3·0.37/n N·m; no belt is asked for more than the motor gives at its setting."""
    machine = machine_of(job_from(POLISHER))
    belts = loads(machine)
    for number, speed in enumerate(machine.speeds, 1):
        power = (0.37, 0.55)[speed.settings[0]]
        told = torque_nm(machine, number, belts)
        assert told is not None
        if told[1] == "motor":
            assert told[0] == pytest.approx(9549.2966 * power / speed.rpm)
        assert [load.must_kw for load in belts if load.number == number] == [pytest.approx(power)]
        assert run_ups(machine)[number - 1].torque_nm == pytest.approx(told[0])


def test_orders_are_told_by_what_makes_the_large_steps() -> None:
    """Two motor speeds with four positions: the motor coarse, fine, or between."""
    text = POLISHER.replace("positions = 3", "positions = 4")
    assert [layout.title for layout in layouts_of(load_scenario(text, "m"))] == [
        "(2)x4, coarse motor, fine stage 1",
        "(2)x4, fine motor, coarse stage 1",
        "(2)x4, interleaved 2·2·2 of stage 1·motor·stage 1",
    ]


def test_limits_are_judged_at_the_fastest() -> None:
    """Rims, belts and shafts are as fast as with a motor of the fastest speed alone."""
    text = POLISHER.replace('slower = ["1420 rpm"]\n', "").replace('slower_power = ["0.37 kW"]\n', "")
    switched = machine_of(job_from(POLISHER))
    alone = read_machine(load_scenario(text, "m"), BuiltMachine(stages=tuple(pair.built for pair in switched.pairs)))
    assert switched.fastest_rpm == alone.fastest_rpm
    assert [pair.entering_rpm for pair in switched.pairs] == [pair.entering_rpm for pair in alone.pairs]
