"""The section of how exactly to turn: which sizes it has, what they are held to."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.checks.stated import read_machine
from optimizer.documents.data import design_json, design_of_json
from optimizer.pipeline.job import built_of, checked_job
from optimizer.pipeline.tolerance import tolerance_sheet
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.figures import settled
from optimizer.records.tolerance import ToleranceSheet
from optimizer.scenario import load_scenario
from tests.jobs import JOBS, job
from tests.oracle.turned import centre_mm, random_machine

SECTION_A_MM = 6.6
"""Outside less datum diameter: GOST 20889-88, read."""
PAIR = """
title = "One pair"
units = "mm"
[motor]
speed = 1000
[[band]]
name = "all"
from = 100
to = 4000
[series]
end_miss = 1
unevenness = 1
{more}
[[shaft]]
name = "motor"
{shaft}
[[stage]]
from = "motor"
to = "spindle"
positions = {positions}
slip = 0
{stage}
"""
SLIDE = 'mount = "slide"'
MOVING = """centres = [250, 350]
travel = 60
belt = { section = "A", lengths = [1000], measured = "datum" }
driver = { free = [75, 300] }
driven = { free = [75, 300] }"""
LOCKED = """centres = 300
slackened = "the belt is joined in place"
belt = { section = "flat 3x40", lengths = "any", every = 20 }
driver = { free = [50, 300] }
driven = { free = [50, 300] }"""


def told(
    sizes: tuple[tuple[float, float], ...],
    turned: tuple[bool, bool] = (True, True),
    stage: str = MOVING,
    shaft: str = SLIDE,
    more: str = "",
) -> ToleranceSheet | None:
    """Return what is told of datum diameters, driver before driven, on belt A of 1000 mm datum length."""
    scenario = load_scenario(PAIR.format(positions=len(sizes), stage=stage, shaft=shaft, more=more), "pair.toml")
    return tolerance_sheet(read_machine(scenario, built(sizes, turned)))


def built(
    sizes: tuple[tuple[float, float], ...], turned: tuple[bool, bool] = (True, True), section: str = "A"
) -> BuiltMachine:
    """Return the machine."""
    shift = SECTION_A_MM if section == "A" else 0.0
    return BuiltMachine(
        stages=(
            BuiltStage(
                key="stage[0]",
                section=section,
                marking="one",
                datum_length_mm=1000.0,
                driver_outside_mm=tuple(size[0] + shift for size in sizes),
                driven_outside_mm=tuple(size[1] + shift for size in sizes),
                driver_turned=(turned[0],) * len(sizes),
                driven_turned=(turned[1],) * len(sizes),
            ),
        )
    )


def test_machines_without_turned_steps_have_no_section() -> None:
    """Where both pulleys are ready nothing is told."""
    assert told(((100.0, 150.0),), (False, False)) is None


def test_only_turned_steps_have_rows() -> None:
    """Of a kept driver and a turned driven cone, the driven steps alone."""
    found = told(((100.0, 150.0), (110.0, 140.0)), (False, True))
    assert found is not None
    assert [(size.key, size.position) for size in found.sizes] == [("stage[0].driven", 1), ("stage[0].driven", 2)]


def test_a_groove_is_measured_over_pins_a_rim_across() -> None:
    """Pins for belt A, the rim for a flat belt, each with the accuracy stated for it."""
    more = "[making]\npins_within = 0.15\nrim_within = 0.3\ngroove_within = 0.05"
    found = told(((100.0, 150.0),), more=more)
    assert found is not None
    assert {(size.measured, size.accuracy_mm) for size in found.sizes} == {("over pins", 0.15)}
    assert found.chance_by_width is not None
    scenario = load_scenario(PAIR.format(positions=1, stage=LOCKED, shaft="", more=more), "flat.toml")
    flat = tolerance_sheet(read_machine(scenario, built(((100.0, 150.0),), section="flat 3x40")))
    assert flat is not None
    assert {(size.measured, size.accuracy_mm) for size in flat.sizes} == {("rim", 0.3)}
    assert flat.chance_by_width is None
    assert all(size.groove_wider_mm is None for size in flat.sizes)


def test_the_window_is_what_the_budget_leaves() -> None:
    """60 mm less 2.5 % of 1000 mm for stretch, 0.9 % and 8 mm for the climb, 1 % of tolerance: 8 mm; 0.2 mm of fit."""
    found = told(((100.0, 150.0), (125.0, 125.0)))
    assert found is not None
    assert found.spreads[0].window_mm == pytest.approx(60 - 25 - 9 - 8 - 5 + 0.2)
    own = centre_mm(np.array([100.0, 125.0]), np.array([150.0, 125.0]), 1000.0)
    assert found.spreads[0].drawn_mm == pytest.approx(float(np.ptp(own)), abs=1e-6)


def test_a_size_at_its_limit_is_aimed_inward() -> None:
    """Belt A bends round 75 mm at least (GOST 20889-88, read): such a step may not be smaller, and is aimed larger."""
    found = told(((75.0, 175.0),))
    assert found is not None
    first = found.sizes[0]
    assert first.alone.smaller_mm == pytest.approx(0, abs=1e-9)
    assert first.smaller_held_by == "limits of size"
    assert first.aim_mm > 0.2
    assert found.chance.size_limits == pytest.approx(0.5, abs=0.03)
    assert found.chance_by_cuts > 0.97


def test_room_of_a_size_is_that_of_disc_hub_and_range() -> None:
    """Range 75 to 130, blanks to 140 less truing 4, hub 84 with two walls of 4 and grooves 12 deep."""
    stage = MOVING.replace("driver = { free = [75, 300] }", 'driver = { free = [75, 130], measured = "outside" }')
    more = "[making]\nlargest_blank = 140\nwall = 4"
    found = told(((110.0, 130.0),), stage=stage, shaft=f"{SLIDE}\nhub = 84\ndiameter = 20", more=more)
    assert found is not None
    driver, driven = found.sizes
    # outside 116.6; the hub allows a root of 84 + 2·4, outside 116: 0.6 smaller, less than speeds within 1 % do
    assert driver.alone.smaller_mm == pytest.approx(0.6)
    assert driver.smaller_held_by == "limits of size"
    # outside 136.6 of at most 136: nothing left
    assert driven.alone.larger_mm == pytest.approx(0, abs=1e-9)
    assert driven.larger_held_by == "limits of size"


def test_a_belt_joined_in_place_is_made_to_the_sizes() -> None:
    """Between shafts that do not move, one pair alone has no belt fit to miss: its belt is made up in place."""
    scenario = load_scenario(PAIR.format(positions=1, stage=LOCKED, shaft="", more=""), "flat.toml")
    found = tolerance_sheet(read_machine(scenario, built(((100.0, 150.0),), section="flat 3x40")))
    assert found is not None
    assert found.chance.belt_fit == 1.0
    assert {size.smaller_held_by for size in found.sizes} == {"speeds"}


def test_uneven_designs_are_not_held_to_evenness() -> None:
    """Three speeds far off an even series: nothing of evenness is held, and the result says so."""
    found = told(((80.0, 170.0), (90.0, 160.0), (150.0, 100.0)))
    assert found is not None
    assert found.unevenness_most is None
    assert found.chance.evenness == 1.0


def test_unevenness_allowed_is_a_tenth_of_the_ratio_less_one() -> None:
    """Speeds 800, 1000, 1250 rpm by ratio 1.25: 2.5 % (10(phi - 1) per cent: ISO 229, from memory)."""
    sizes = ((100.0, 125.0), (112.0, 112.0), (125.0, 100.0))
    found = told(sizes)
    assert found is not None
    assert found.unevenness_most == pytest.approx(0.025)


def test_careful_names_the_smallest_step() -> None:
    """Speeds within 1 %: of 80 and 200 mm the smaller errs most for its size, and comes first."""
    found = told(((80.0, 200.0),), more="[making]\nspeed_within = 0.01")
    assert found is not None
    assert found.careful[0] == 0
    shares = [size.share or 0 for size in found.sizes]
    assert shares[0] / shares[1] == pytest.approx(200 / 80, rel=0.02)


@pytest.mark.parametrize("name", JOBS)
def test_worked_out_anew_it_is_the_same(name: str) -> None:
    """What a design tells of its tolerance follows from its machine alone."""
    assert settled(built_again(name)) == job(name).design.tolerance


def built_again(name: str) -> ToleranceSheet | None:
    """Return what is told of a shipped design's machine, worked out anew."""
    own = job(name)
    return tolerance_sheet(read_machine(own.scenario, built_of(own.design.machine)))


def test_it_is_part_of_the_document_and_read_back() -> None:
    """A design written as JSON holds the section, reads back as the same record, and makes a job again."""
    design = job("pattern-mill").design
    again = design_of_json(design_json(design))
    assert again.tolerance == design.tolerance is not None
    assert checked_job(again).design.tolerance == design.tolerance


def test_random_machines_are_all_told() -> None:
    """Every part has a chance between 0 and 1, no part a smaller one than all together."""
    for seed in range(8):
        machine = random_machine(seed)
        found = tolerance_sheet(read_machine(machine.scenario, machine.built))
        assert found is not None
        parts = found.chance.belt_fit, found.chance.speeds, found.chance.evenness, found.chance.size_limits
        assert all(found.chance.all_well <= part <= 1 for part in parts)
