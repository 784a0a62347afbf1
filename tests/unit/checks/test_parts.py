"""What the checks read from a scenario, what they skip, how they solve."""

from __future__ import annotations

from math import isnan

import pytest

from optimizer.checks import budget, centres_of, check_design
from optimizer.checks.along import step_pitch_mm
from optimizer.checks.stated import length_at_mm, own_centre_mm, read_machine, wraps_deg
from optimizer.checks.verdict import Rule, at_least, at_most
from optimizer.records.built import BuiltMachine
from tests.unit.checks.machines import BASE, TWO_STAGES, UNSTATED, built, failed, machine, named, scenario, skipped

PLAIN = machine()
BARE = """
title = "Bare"
units = "mm"
[motor]
speed = 1400
[[shaft]]
name = "spindle"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = [250, 400]
travel = 70
belt = { section = "A", lengths = [1120] }
driver = { kept = [90, 125, 160] }
driven = { free = [80, 200] }
"""
HALF_KEPT = BuiltMachine(
    stages=(built((90, 125, 160), (160, 125, 90)).model_copy(update={"driver_turned": (False,) * 3}),)
)


@pytest.mark.parametrize(
    ("driver", "driven", "centre", "crossed"),
    [
        (4.0, 6.0, 19.119862, False),
        (200.0, 600.0, 2400.0, False),
        (80.0, 213.4, 720.0, True),
        (100.0, 100.0, 300.0, False),
    ],
)
def test_halving_finds_the_centre_distance_of_a_length(
    driver: float, driven: float, centre: float, crossed: bool
) -> None:
    """The centre distance of the belt that fits at a centre distance is that centre distance."""
    length = length_at_mm(driver, driven, centre, crossed)
    assert own_centre_mm(driver, driven, length, crossed) == pytest.approx(centre, rel=1e-12)


def test_a_belt_too_short_has_no_centre_distance() -> None:
    """Open below π times the larger pulley, crossed below π times the sum of both."""
    assert isnan(own_centre_mm(100, 300, 942.0, False))
    assert not isnan(own_centre_mm(100, 300, 943.0, False))
    assert isnan(own_centre_mm(100, 300, 1256.0, True))
    assert isnan(own_centre_mm(100, 100, 100.0, False))


def test_both_pulleys_of_a_crossed_belt_have_the_same_wrap() -> None:
    """180° + 2·asin(150/300) = 240° on both."""
    assert wraps_deg(100, 200, 300, crossed=True) == pytest.approx((240, 240))


def test_a_value_on_its_limit_passes_and_one_that_is_no_number_fails() -> None:
    """Rounding does not break a limit; not a number always does."""
    rule = Rule("thing", "limit", 100.0, "mm", "nobody")
    assert at_most(rule, "here", 100.0 + 1e-6).passed
    assert not at_most(rule, "here", 100.001).passed
    assert not at_least(rule, "here", float("nan")).passed


def test_what_cannot_be_checked_is_listed() -> None:
    """Without bands, room, hub, blank or greatest speeds, each check names its place among the skipped."""
    assert skipped(scenario(BARE), HALF_KEPT) == UNSTATED | {
        "fastest speed": {"spindle"},
        "bands": {"band"},
        "end miss": {"spindle"},
        "unevenness": {"spindle"},
        "clearance of rim to shaft": {"stage[0]"},
        "largest blank": {"stage[0].driven"},
        "groove root over the hub": {"stage[0].driven"},
        "rim speed": {"stage[0].driver"},
        "belts in line": {"stage[0]"},
        "room along the shaft": {"motor", "spindle"},
        "shaft speed": {"motor", "spindle"},
    }


def test_a_locked_pair_has_no_budget_and_must_fit_as_it_is() -> None:
    """Without travel the spread of 1.694 mm meets 0.2 mm of fit; belt-on and worn-out are skipped with the reason."""
    text = scenario(BASE, ("travel = 70", 'slackened = "the motor is lifted off its studs"'))
    found = failed(text, PLAIN)
    assert found["spread of the positions' centre distances"][0].margin == pytest.approx(0.2 - 1.694, abs=1e-3)
    assert set(found) == {"spread of the positions' centre distances", "belt length"}
    assert skipped(text, PLAIN) == UNSTATED | {"belt-on, worn-out centre distance": {"stage[0]"}}
    assert budget(read_machine(text, PLAIN).pairs[0]) == ()


def test_the_fit_is_at_most_a_thousandth_of_the_length() -> None:
    """A fit of 5 mm counts as 1.12 mm on a belt of 1120 mm."""
    text = scenario(BASE, ("travel = 70", 'slackened = "by hand"\nfit = 5'))
    assert failed(text, PLAIN)["spread of the positions' centre distances"][0].limit == pytest.approx(1.12)


def test_the_budget_takes_the_stock_tolerance_of_the_belt() -> None:
    """A stock belt A 1120 may differ by 0.6 in (15.24 mm) either way, which takes 15.24 mm of travel."""
    text = scenario(BASE, ("lengths = [1120]", 'lengths = "stock"'))
    lines = budget(read_machine(text, PLAIN).pairs[0])
    assert [line.amount_mm for line in lines] == pytest.approx([15.24, 28.0, 18.08])


def test_the_maker_may_set_lines_of_the_budget() -> None:
    """Lines that are stated stand in place of the reckoned ones, and say so."""
    text = scenario(BASE, ("slip = 0", "slip = 0\nbudget = { tolerance = 4, climb = 12 }"))
    lines = budget(read_machine(text, PLAIN).pairs[0])
    assert [line.amount_mm for line in lines] == pytest.approx([4, 28, 12])
    assert [line.source == "stated by the maker" for line in lines] == [True, False, True]


def test_the_mount_stands_from_belt_on_to_worn_out() -> None:
    """361.957 − 2.8 − 18.08 = 341.077, running 361.957 to 363.650, 363.650 + 2.8 + 28 = 394.450 mm."""
    centres = centres_of(read_machine(scenario(BASE), PLAIN).pairs[0])
    assert centres.belt_on == pytest.approx(341.077, abs=1e-3)
    assert centres.running == pytest.approx((361.957, 363.650), abs=1e-3)
    assert centres.worn_out == pytest.approx(394.450, abs=1e-3)


def test_speeds_go_through_every_stage_with_slip_and_fixed_ratios() -> None:
    """A gear of 0.5, a cone with 2 % slip, a plain pair with 3 %: 1400·0.5·0.98·0.97·(9/16, 1, 16/9) rpm."""
    gear = """
[[shaft]]
name = "jackshaft"
[[stage]]
from = "motor"
to = "jackshaft"
ratio = 0.5
[[stage]]
from = "jackshaft"
to = "countershaft"
positions = 3"""
    text = scenario(
        TWO_STAGES.replace("positions = 3", "positions = 1").replace("slip = 0", "slip = 0.02", 1),
        ('[[stage]]\nfrom = "motor"\nto = "countershaft"\npositions = 2', gear.strip()),
        ("slip = 0\n", "slip = 0.03\n"),
    )
    stages = machine(built((90, 125, 160), (160, 125, 90), key="stage[1]"), built((125,), (125,), key="stage[2]"))
    read = read_machine(text, stages)
    assert [speed.rpm for speed in read.speeds] == pytest.approx(
        [1400 * 0.5 * 0.98 * 0.97 * ratio for ratio in (9 / 16, 1, 16 / 9)]
    )
    assert dict(read.fastest_rpm) == pytest.approx(
        {"motor": 1400, "jackshaft": 700, "countershaft": 700 * 16 / 9 * 0.98, "spindle": 700 * 16 / 9 * 0.98 * 0.97}
    )
    assert read.pairs[1].entering_rpm == pytest.approx(700 * 16 / 9 * 0.98)


def test_sizes_that_are_missing_are_an_error() -> None:
    """A machine must have just the belt stages of its scenario, both cones with as many steps."""
    with pytest.raises(ValueError, match=r"no sizes for stage\[1\]"):
        check_design(read_machine(scenario(TWO_STAGES), PLAIN))
    with pytest.raises(ValueError, match="belt stages that the scenario has not"):
        check_design(read_machine(scenario(BASE), machine(*PLAIN.stages, built((90,), (90,), key="stage[5]"))))
    with pytest.raises(ValueError, match="different numbers of steps"):
        check_design(read_machine(scenario(BASE), machine(built((90, 125), (160, 125, 90)))))


def test_whole_layers_are_counted_up() -> None:
    """21.145 mm of groove and walls take two layers of 17.7 mm."""
    text = scenario(BASE, ("[making]", "[making]\nlayer = 17.7"))
    assert step_pitch_mm(read_machine(text, PLAIN).pairs[0], text.making) == pytest.approx(35.4)


def test_a_kept_cone_may_be_used_in_part_or_looked_at_from_the_other_end() -> None:
    """Three neighbours of a longer kept cone count as it is, in the file's order or against it."""
    for kept in ("[70, 90, 125, 160]", "[160, 125, 90, 70]"):
        text = scenario(BASE, ("driver = { free = [80, 200] }", f"driver = {{ kept = {kept}, pitch = 25 }}"))
        (check,) = named(text, HALF_KEPT, "kept cone as stated")
        assert check.passed


def test_two_kept_cones_face_each_other_end_for_end_only_if_one_is_reversible() -> None:
    """Cones 90-125-160 on both shafts make 90-160 … only with one of them turned end for end."""
    stages = machine(built((90, 125, 160), (160, 125, 90), turned=False))
    for reversible in (False, True):
        text = scenario(
            BASE,
            ("driver = { free = [80, 200] }", "driver = { kept = [90, 125, 160], pitch = 25 }"),
            (
                "driven = { free = [80, 200] }",
                f"driven = {{ kept = [90, 125, 160], pitch = 25, reversible = {str(reversible).lower()} }}",
            ),
        )
        (check,) = named(text, stages, "kept cones as stated")
        assert check.passed is reversible


def test_a_changed_limit_is_named_as_the_makers() -> None:
    """A limit other than the default says who set it; the default names its source."""
    (usual, *_) = named(scenario(BASE), PLAIN, "wrap")
    (own, *_) = named(scenario(BASE, ("slip = 0", "slip = 0\nwrap = 100")), PLAIN, "wrap")
    assert (usual.source, own.source) == ("GOST 1284.3-96, read", "stated by the maker")


def test_a_speed_on_an_inner_edge_counts_in_the_upper_band_only() -> None:
    """1400 rpm is the end of one band and the start of the next: 1 and 2 speeds."""
    two = '[[band]]\nname = "low"\nfrom = 780\nto = 1400\n[[band]]\nname = "high"\nfrom = 1400\nto = 2500\nwant = 2\n'
    text = scenario(BASE, ('[[band]]\nname = "all work"\nfrom = 780\nto = 2500\nwant = 3\n', two))
    assert [check.value for check in named(text, PLAIN, "speeds in the band")] == [1, 2]


def test_outermost_edges_are_widened() -> None:
    """787.5 rpm counts from 811 rpm on with ends of 3 % (811/1.03 = 787.38), but not from 812."""
    for edge, count in ((811, 3), (812, 2)):
        text = scenario(BASE, ("from = 780", f"from = {edge}"))
        (check,) = named(text, PLAIN, "speeds in the band")
        assert check.value == count


def test_a_v_belt_on_a_flat_rim_is_reckoned_outside_it() -> None:
    """A flat driven rim of 155 mm carries belt A at 155 + 9.4 = 164.4 mm of datum diameter."""
    text = scenario(
        BASE, ("driven = { free = [80, 200] }", 'driven = { free = [80, 200], groove = "flat", measured = "outside" }')
    )
    stage = built((90,), (100,)).model_copy(update={"driven_outside_mm": (155.0,)})
    assert read_machine(text, machine(stage)).pairs[0].driven.pitch_mm == pytest.approx((164.4,))
