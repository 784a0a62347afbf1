"""What is told of a made machine: within the terminal's width, the same every time, whatever names and units are."""

from __future__ import annotations

import random
from functools import cache

import jsonschema
import pytest

from optimizer.documents.recheck import recheck_files, recheck_json, recheck_schema, recheck_screen
from optimizer.documents.recheck_form import measured_csv, measured_toml
from optimizer.pipeline.job import Job
from optimizer.recheck.loading import is_blank
from optimizer.recheck.records import Recheck
from optimizer.recheck.sizes import bench
from optimizer.records.sheet import StepSheet
from tests.jobs import job
from tests.recheck_truth import MACHINES, job_of
from tests.sampled import named
from tests.unit.recheck.forms import told_of

SLOW = ("cones", "locked", "two")
"""Those whose ways out take longest; tests/property/test_recheck.py asks for such machines too."""
NAMES = named(("hostile", "hostile shafts", "hostile middle cone", "bench-shaper", *MACHINES), slow=SLOW)
"""Machines with hostile names, in inches, of kept and bought pulleys, on flat rims, locked, with free speeds."""


@cache
def machine(name: str) -> Job:
    """Return a machine's design."""
    return job_of(name) if name in MACHINES else job(name)


@cache
def told(name: str) -> Recheck:
    """Return what is told of a machine turned badly, with speeds, a centre distance, one step not turned yet."""
    made = machine(name)
    dice = random.Random(name)
    rows = []
    for number, stage in enumerate(made.design.machine.stages, 1):
        for side in ("driven",) if stage.shared_driver else ("driver", "driven"):
            for p in stage.positions:
                step: StepSheet = getattr(p, side)
                size = bench(stage.section, step, step.pitch_mm + dice.uniform(-1, 3))
                key = {"over pins": f"over_pins = {size.mm:.2f}", "diameter": f"diameter = {size.mm:.2f}"}.get(size.how)
                read = key or f"outside = {step.outside_mm:.2f}, belt_top = {size.mm:.2f}"
                rows.append(f'{{ stage = {number}, side = "{side}", position = {p.number}, {read} }},')
    speeds = [
        f"{{ positions = {list(s.positions)}, speed = {s.rpm}, motor = 1490 }}" for s in made.design.machine.speeds
    ]
    centre = made.design.machine.stages[0].positions[0].centre_mm
    text = "\n".join(
        [
            'units = "mm"',
            *(
                f"[[check]]\ndate = {year}-01-01\nstep = [\n{chr(10).join(rows[: len(rows) - skip])}\n]\n"
                for year, skip in ((2026, 2), (2027, 1))
            ),
            f"centre = [{{ stage = 1, position = 1, centre = {centre} }}]",
            f"speed = [{', '.join(speeds)}]",
        ]
    )
    return told_of(made, text)


@pytest.mark.parametrize("name", NAMES)
def test_forms_are_blank_and_can_be_read(name: str) -> None:
    """Whatever the names of shafts, both forms are what their reader takes for not filled in."""
    design = machine(name).design
    assert is_blank(measured_toml(design), "measured.toml")
    assert is_blank(measured_csv(design), "measured.csv")


@pytest.mark.parametrize("name", NAMES)
def test_screens_stay_within_eighty_columns(name: str) -> None:
    """No line is longer than 80 characters, none ends in a blank; all that is told is there."""
    made = machine(name)
    screen = recheck_screen(told(name), made.design.machine, made.scenario.making.division_mm)
    for line in screen.splitlines():
        assert len(line) <= 80, line
        assert line == line.rstrip()
    for head in ("Steps", "Earlier checks", "Belts", "Speeds", "Speeds read", "Slip and pitch line", "Checks: "):
        assert f"\n{head}" in screen


@pytest.mark.parametrize("name", NAMES)
def test_documents_follow_their_schema(name: str) -> None:
    """recheck.json is valid, plain ASCII, the same from the same measurements; the text holds no live markup."""
    made = machine(name)
    files = recheck_files(told(name), made.design.machine, made.scenario.making.division_mm)
    jsonschema.validate(told(name).model_dump(mode="json"), recheck_schema())
    assert files["recheck.json"].decode("ascii") == recheck_json(told(name))
    assert "<b>" not in files["recheck.md"].decode().replace("\\<b>", "")
    if name in ("hostile", "bench-shaper"):
        assert recheck_json(told.__wrapped__(name)).encode() == files["recheck.json"]
