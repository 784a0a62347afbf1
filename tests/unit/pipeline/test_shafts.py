"""Shafts, keys, frame and starting in whole designs."""

from __future__ import annotations

import json
from itertools import pairwise

import pytest

from optimizer.cuts.cones import cut_cones
from optimizer.documents.data import design_json
from optimizer.documents.design import design_paper, design_screen
from optimizer.documents.papers import paper_files, paper_options
from optimizer.drawing.cone_section import cone_section_sheet
from optimizer.drawing.sheet import Text
from optimizer.errors import NoDesignError
from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.pipeline.options import DesignOptions
from optimizer.records.design import Design
from optimizer.scenario import load_scenario
from tests.machines import GRINDER

OPTIONS = DesignOptions()


def designed(*edits: tuple[str, str]) -> Design:
    """Return the design of the grinder with changes, each of which must be possible."""
    text = GRINDER
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    return design(load_scenario(text, "machine.toml"), OPTIONS)


def test_a_design_keeps_its_pulleys_above_the_plate() -> None:
    """On an IEC 80 with a plate no motor pulley is larger than 2·(80 − 5) = 150 mm; without the plate some is."""
    frame = ('speed = "1420 rpm"', 'speed = "1420 rpm"\nframe = "IEC 80"\nplate = true')
    kept, free = designed(frame), designed()
    largest = [max(p.driver.outside_mm for p in each.machine.stages[0].positions) for each in (kept, free)]
    assert largest[0] <= 150 < largest[1]
    (check,) = [check for check in kept.checks if check.name == "pulley above the plate"]
    assert check.passed
    assert kept.failed == ()


def test_a_design_keeps_the_room_of_a_frame_that_nobody_stated() -> None:
    """With a 19 mm shaft the frame is an IEC 80: no motor pulley above 150 mm in search and check, unless on blocks."""
    usual, blocks = ("diameter = 26", "diameter = 19"), ('speed = "1420 rpm"', 'speed = "1420 rpm"\nplate = false')
    for edits, most in ((usual,), 150.0), ((usual, blocks), 200.0 + 6.6):
        told = designed(*edits)
        largest = max(p.driver.outside_mm for p in told.machine.stages[0].positions)
        assert (largest <= 150) is (most == 150)
        assert largest <= most
        assert told.failed == ()
        checked = [check for check in told.checks if check.name == "pulley above the plate"]
        assert len(checked) == (most == 150)
        assert ("motor.frame", "IEC 80") in [(default.key, default.value) for default in told.scenario.defaults]


def test_papers_tell_the_flat_of_a_motor_s_shaft() -> None:
    """With a NEMA 48 the cut sheet, the order of work, the buying list and the drawing tell 11.51 mm, and no key there.

    29/64 in = 11.51 mm; the spindle, of which no diameter is stated, has no key either.
    """
    edits = ("diameter = 26\n", ""), ('speed = "1420 rpm"', 'speed = "1420 rpm"\nframe = "NEMA 48"\nplate = false')
    text = GRINDER
    for old, new in edits:
        assert old in text
        text = text.replace(old, new, 1)
    stated = load_scenario(text, "machine.toml")
    job = Job(design(stated, OPTIONS), stated)
    motor = cut_cones(job)[0]
    assert motor.key_seat is None
    assert motor.flat is not None
    sheet, cuts, buying = paper_files(job, paper_options(job, ("sheet", "cuts", "buying"))).values()
    for page in (sheet["design-sheet.html"], cuts["cuts.html"], buying["buying.html"]):
        assert "11.51" in page.decode()
    assert "11.51 mm over the flat" in cuts["cuts.html"].decode()
    assert "two set screws" in buying["buying.html"].decode()
    drawn = " ".join(text.text for text in cone_section_sheet(job, motor).entities if isinstance(text, Text))
    assert "11.51" in drawn
    assert "No usual key" not in drawn


def test_a_plate_that_leaves_nothing_is_named() -> None:
    """On an IEC 56, to be kept 30 mm clear, 2·(56 − 30) = 52 mm are left over the rim, less than any A pulley."""
    gap = ("[making]", "[around]\nclearance = 30\n\n[making]")
    frame = ('speed = "1420 rpm"', 'speed = "1420 rpm"\nframe = "IEC 56"\nplate = true')
    with pytest.raises(NoDesignError, match=r"the plate under the motor \(motor.plate\) allows 52 mm"):
        designed(frame, gap)


def heavy(power: str, size: str) -> Design:
    """Return the design of a grinder for heavy work, of a power and a size of spindle."""
    return designed(
        ('speed = "1420 rpm"', f'speed = "1420 rpm"\npower = "{power}"\ntorque_class = "permanent capacitor"'),
        ("[making]", '[work]\ninertia = "400 kg m2"\nduty = 1.2\n\n[making]'),
        ("[[stage]]", f'[[shaft]]\nname = "spindle"\ndiameter = {size}\nbearings = [0, 120]\n\n[[stage]]'),
        ("driven = { free = [75, 230] }", "driven = { free = [140, 230], along = 160 }"),
        ("largest_blank = 240", "largest_blank = 260"),
    )


@pytest.mark.parametrize("power", ["20 W", "15 kW"])
def test_a_spindle_that_no_belt_leaves_whole_gives_no_design(power: str) -> None:
    """5 mm of steel at 40 mm beyond its bearing bends under the lightest belt: what it needs is told, nothing shown."""
    with pytest.raises(NoLayoutError) as told:
        heavy(power, "5")
    (check,) = told.value.rejected[0].failed
    assert (check.name, check.where, check.value) == ("shaft strength", "spindle", 5.0)
    assert 5 < check.limit < 500
    assert told.value.told.rejected


@pytest.mark.parametrize("power", ["20 W", "15 kW"])
def test_extremes_give_answers(power: str) -> None:
    """Motors of 20 W and 15 kW, a spindle of 100 mm, heavy work: a design whose papers hold only figures."""
    result = heavy(power, "100")
    (load,) = result.shafts.loads
    assert 0 < load.needed_mm < 500
    strength = next(check for check in result.checks if check.name == "shaft strength")
    assert strength.passed and load.needed_mm <= 100
    json.loads(design_json(result))
    for text in (design_json(result), design_paper(result), design_screen(result)):
        assert not {"nan", "inf", "Infinity"} & set(text.replace(",", " ").split())


def test_more_power_never_needs_a_thinner_spindle() -> None:
    """The same cones under more power bend and twist the spindle harder, and bring heavy work up sooner."""
    needed, seconds = [], []
    for power in ("0.1 kW", "0.75 kW"):
        result = designed(
            ('speed = "1420 rpm"', f'speed = "1420 rpm"\npower = "{power}"'),
            ("[making]", '[work]\ninertia = "0.3 kg m2"\n\n[making]'),
            ("[[stage]]", '[[shaft]]\nname = "spindle"\ndiameter = 30\nbearings = [0, 120]\n\n[[stage]]'),
            ("driven = { free = [75, 230] }", "driven = { free = [75, 230], along = 160 }"),
        )
        needed.append(result.shafts.loads[0].needed_mm)
        seconds.append([run.seconds for run in result.shafts.run_ups])
    assert needed == sorted(needed)
    for slow, quick in pairwise(seconds):
        assert all(a is not None and b is not None and a >= b for a, b in zip(slow, quick, strict=True))
