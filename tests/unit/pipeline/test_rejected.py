"""Designs that the checks reject: another is shown, or none; what the search was taught since."""

from __future__ import annotations

import pytest

from optimizer.catalogue.grooves import alignment_mm
from optimizer.checks import check_design
from optimizer.checks.stated import Machine
from optimizer.clock import Clock
from optimizer.documents.changes import none_lines
from optimizer.documents.data import record_json
from optimizer.errors import NoDesignError
from optimizer.layouts.orders import layouts_of
from optimizer.layouts.problem import problem_for, targets_of
from optimizer.pipeline import design as designing
from optimizer.pipeline.compare import compare
from optimizer.pipeline.design import design
from optimizer.pipeline.no_design import NoLayoutError, RejectedError, refuse_failing
from optimizer.records.design import Design
from optimizer.scenario import Scenario, load_scenario
from tests.fuzz.machines import SCENARIOS
from tests.machines import GRINDER, MIXER

PLACED = (
    GRINDER.replace('speed = "1420 rpm"', 'speed = "1420 rpm"\nplate = false')
    .replace(
        'mount = "slide"',
        'mount = "slide"\nat = [0, 0]\ndirection = 180\n\n[[shaft]]\nname = "spindle"\ndiameter = 24\nat = [340, 0]',
    )
    .replace("driver = { free = [75, 200] }", "driver = { free = [75, 200], along = 20 }")
)
"""The grinder with its spindle 340 mm beside the motor."""


BAND_SAW = (SCENARIOS / "metal-band-saw.toml").read_text(encoding="utf-8")
NEAR_RIMS = """
title = "Mill with its cones rim to rim"
units = "mm"
motor = { speed = "1420 rpm" }
band = [{ name = "large", from = 200, to = 500, want = 3 }, { name = "small", from = 500, to = 1600, want = 3 }]
series = { shared = 2, one_range = true }
making = { largest_blank = 300 }
shaft = [{ name = "motor", mount = "slide", on = "countershaft" }, { name = "countershaft", mount = "hinge" }]

[[stage]]
from = "motor"
to = "countershaft"
positions = 2
centres = [240, 360]
travel = 60
belt = "A"
driver = { free = [75, 150] }
driven = { free = [100, 260] }

[[stage]]
from = "countershaft"
to = "spindle"
positions = 4
centres = [65, 380]
travel = 60
belt = "A"
driver = { free = [76, 240] }
driven = { free = [76, 240] }
"""
"""Found by fuzzing: belts of the second stage went on at 157.67 mm where rims of another position meet at 157.85 mm."""


def with_rail(below_mm: float) -> Scenario:
    """Return the grinder with a round rail of 20 mm some way below its spindle, its axis along it."""
    return scenario(f'{PLACED}\n[[obstacle]]\nname = "rail"\nround = {{ at = [340, {-below_mm}], diameter = 20 }}\n')


def scenario(text: str) -> Scenario:
    """Read a machine."""
    return load_scenario(text, "rejected.toml")


@pytest.fixture(scope="module")
def largest_mm() -> float:
    """Return the largest step of the best design, a driven one, where the rail is far away."""
    return largest_of(design(with_rail(300)))


def largest_of(made: Design) -> float:
    """Return the largest diameter over the rim on the spindle [mm]."""
    return max(position.driven.outside_mm for position in made.machine.stages[0].positions)


def test_a_smaller_design_is_shown_where_the_most_even_one_hits_what_is_around(largest_mm: float) -> None:
    """A rail 2.95 mm from the largest step is nearer than the 5 mm kept: steps are 2·2.05 mm smaller, as told."""
    made = design(with_rail(largest_mm / 2 + 10 + 2.95))
    assert not made.failed
    assert largest_of(made) <= largest_mm - 4.1
    told = "is not shown, as it fails room around, stage[0].driven: is 2.95 mm, must be at least 5 mm"
    assert any(told in remark for remark in made.remarks)


def test_what_passes_is_shown_as_it_is_wanted(largest_mm: float) -> None:
    """A rail 5.05 mm from the largest step is farther than the 5 mm kept: nothing is said of other designs."""
    made = design(with_rail(largest_mm / 2 + 10 + 5.05))
    assert largest_of(made) == largest_mm
    assert not any("not shown" in remark for remark in made.remarks)


def test_no_design_is_shown_where_all_fail(largest_mm: float) -> None:
    """The rail's near side, 50 mm below the spindle, is in every cone; the check is named with its figures."""
    with pytest.raises(NoLayoutError) as told:
        design(with_rail(60))
    assert told.value.told.rejected
    assert told.value.told.changes is None
    first, *_ = told.value.rejected
    assert {check.name for check in first.failed} == {"room around"}
    assert first.failed[0].value == pytest.approx(50 - largest_mm / 2)
    (line,) = none_lines(told.value.told)
    assert line.startswith("layout 4: the design found fails its own checks: room around, stage[0].driven: is -")
    assert '"rejected": true' in record_json(told.value.told)


def test_rows_that_fail_are_not_compared() -> None:
    """A comparison in which every row would fail says so, as a design does."""
    with pytest.raises(NoLayoutError) as told:
        compare(with_rail(60))
    assert told.value.told.rejected
    assert "must be at least 5 mm" in told.value.told.reasons[0].reason


def test_the_next_layout_is_proposed_where_one_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """Were every design of the layout that is chosen rejected, another would be chosen, and the table says why."""
    first = design(scenario(MIXER)).layout
    counts = [int(count) for count in first.name.split("x")]

    def refuse(machine: Machine) -> Machine:
        if [len(stage.driver_outside_mm) for stage in machine.built.stages] == counts:
            raise RejectedError(machine.built, [check_design(machine)[0]])
        return refuse_failing(machine)

    monkeypatch.setattr(designing, "refuse_failing", refuse)
    made = design(scenario(MIXER))
    assert made.layout.name != first.name
    said = [entry.said for entry in made.tried if entry.title.startswith(first.name)]
    assert any(words.startswith("the design found fails its own checks: ") for words in said)


def _at(text: str, driver: float, driven: float) -> Scenario:
    return scenario(
        text.replace("driver = { free = [75, 200] }", f"driver = {{ free = [75, 200], along = {driver} }}").replace(
            "driven = { free = [75, 230] }", f"driven = {{ free = [75, 230], along = {driven} }}"
        )
    )


@pytest.mark.parametrize(
    ("off", "least"),
    [
        # 2 mm per metre: 0.5 mm is allowed from 250 mm on, less than the 300 mm stated; 0.7 mm from 350 mm on
        (0.5, 300.0),
        (0.7, 350.0),
    ],
)
def test_belts_run_in_line_as_cones_are_placed(off: float, least: float) -> None:
    """Places of two cones that differ set the least centre distance; what is then found passes."""
    machine = _at(GRINDER, 20, 20 + off)
    problem = problem_for(machine, layouts_of(machine)[0])
    assert problem.stages[0].centre_mm == pytest.approx((least, 380))
    assert off == pytest.approx(alignment_mm(250 if off == 0.5 else 350))
    assert not design(machine).failed


def test_cones_too_far_out_of_line_have_no_design() -> None:
    """1 mm asks for 500 mm between the shafts, 380 are there, which allow 0.76 mm."""
    with pytest.raises(NoDesignError, match=r"stage\[0\]: its belt runs 1 mm out of line.*0\.76 mm may be"):
        problem_for(_at(GRINDER, 20, 21), layouts_of(_at(GRINDER, 20, 21))[0])


def test_a_shared_cone_of_no_stated_place_is_not_said_to_run_out_of_line() -> None:
    """Where only the last cone's place is stated, no check of the belt to it can be made."""
    text = (SCENARIOS / "middle-cone-drill.toml").read_text(encoding="utf-8")
    before, last, after = text.rpartition("driven = { free = [60, 160]")
    made = design(scenario(f"{before}{last}, along = 1{after}"))
    assert not [check for check in made.checks if check.name == "belts in line as placed"]


def test_gears_behind_belts_hold_the_spindle_to_a_least_speed() -> None:
    """0.55 kW · 0.75 through a gear of 120 N m: 412.5·60/(2π·120) = 32.83 rpm; the band asks for 26.5 rpm."""
    weak = BAND_SAW.replace('torque = "230 N m"', 'torque = "120 N m"')
    machine = scenario(weak)
    assert targets_of(machine).never_below_rpm == pytest.approx(32.83, abs=0.005)
    with pytest.raises(NoLayoutError, match=r"none below 32\.8 rpm") as told:
        design(machine)
    assert not told.value.told.rejected
    # 412.5·60/(2π·149) = 26.44 rpm, less than the band's slowest
    made = design(scenario(weak.replace("120 N m", "149 N m")))
    assert made.machine.speeds[0].rpm >= 26.43
    assert not made.failed


def test_a_gear_before_all_belts_is_refused_before_any_search() -> None:
    """0.55 kW at 1420/4 = 355 rpm is 550·60/(2π·355) = 14.79 N m, whatever the belt behind it is."""
    geared = GRINDER.replace('speed = "1420 rpm"', 'speed = "1420 rpm"\npower = "0.55 kW"').replace(
        '[[stage]]\nfrom = "motor"',
        '[[shaft]]\nname = "gear"\non = "motor"\n\n'
        '[[stage]]\nfrom = "motor"\nto = "gear"\nratio = "4:1"\ntorque = "14 N m"\n\n[[stage]]\nfrom = "gear"',
    )
    machine = scenario(geared)
    with pytest.raises(NoDesignError, match=r"stage\[0\]: the motor's rated power brings 14\.79 N m out of it"):
        problem_for(machine, layouts_of(machine)[0])


def test_rims_keep_clear_at_the_nearest_centre_distance_of_any_position() -> None:
    """A mill whose cones stand nearly rim to rim: a belt goes on where the rims of no other position meet."""
    made = design(scenario(NEAR_RIMS), clock=Clock(most=300_000))
    (check,) = (c for c in made.checks if c.name == "belt-on centre distance" and c.where == "stage[1]")
    assert check.passed
    assert any("belt-on centre distance, stage[1]" in remark for remark in made.remarks)


def test_a_hinge_brings_shafts_no_nearer_than_its_arms_let_it() -> None:
    """Arms of 270 mm to the motor, 270 + 340 = 610 mm to the spindle: 340 mm is the nearest, and fitting adds to it."""
    placed = PLACED.replace('mount = "slide"', 'mount = "hinge"\nhinge = { at = [-270, 0] }').replace(
        "direction = 180\n", ""
    )
    plain = problem_for(scenario(PLACED), layouts_of(scenario(PLACED))[0]).stages[0]
    held = problem_for(scenario(placed), layouts_of(scenario(placed))[0]).stages[0]
    assert plain.centre_mm == (300, 380)
    inward = max(belt.inward_mm for belt in held.belts)
    assert held.centre_mm == pytest.approx((340 + inward, 380))
