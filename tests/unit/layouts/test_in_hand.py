"""What is in hand as a problem's plain figures. Section A: datum and pitch are one, the rim 6.6 mm over (GOST)."""

from __future__ import annotations

from math import inf

import pytest

from optimizer.errors import ScenarioError
from optimizer.layouts import known_machine, layouts_of, problem_for
from optimizer.records.problem import Problem, StageProblem
from optimizer.scenario import load_scenario
from tests.machines import GRINDER

DRIVER, DRIVEN = "driver = { free = [75, 200] }", "driven = { free = [75, 230] }"
DRAWER = """
[[in_hand.sheave]]
section = "A"
steps = [112.6, 96.6]
measured = "outside"
[[in_hand.sheave]]
section = "A"
steps = 125
count = 2
[[in_hand.sheave]]
section = "B"
steps = 200
"""
SHELF = """
[[in_hand.disc]]
diameter = 220
count = 2
[[in_hand.disc]]
diameter = 160
count = 3
[[in_hand.disc]]
diameter = 260
"""
NAIL = """
[[in_hand.belt]]
section = "A"
length = 1120
count = 2
[[in_hand.belt]]
section = "A"
length = 1133
[[in_hand.belt]]
section = "B"
length = 1120
"""


def problem(*edits: tuple[str, str], there: str = "") -> Problem:
    """Return the problem of the grinder with things in hand."""
    text = GRINDER
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    scenario = load_scenario(text + there, "machine.toml")
    return problem_for(scenario, layouts_of(scenario)[0])


def stage(*edits: tuple[str, str], there: str = "") -> StageProblem:
    """Return the one stage of that problem."""
    return problem(*edits, there=there).stages[0]


# Sheaves


def test_sheaves_come_to_the_pitch_line_from_their_own() -> None:
    """112.6 and 96.6 mm over the rim run at 106 and 90 mm; a sheave of section B is no use on a belt of A."""
    driver = stage((DRIVER, "driver = { sheaves_in_hand = true }"), there=DRAWER).driver
    assert driver.ready_mm == pytest.approx((90.0, 106.0, 125.0))
    assert driver.scarce_mm == driver.ready_mm


def test_a_sheave_that_is_sold_too_is_not_scarce() -> None:
    """Of a size that stands under `ready` there are as many as one likes."""
    driver = stage((DRIVER, "driver = { sheaves_in_hand = true, ready = [125, 140] }"), there=DRAWER).driver
    assert driver.ready_mm == pytest.approx((90.0, 106.0, 125.0, 140.0))
    assert driver.scarce_mm == pytest.approx((90.0, 106.0))


def test_pieces_keep_the_order_of_their_grooves_and_their_number() -> None:
    """A double sheave is one piece as stated, with the sides that may use it."""
    both = problem(
        (DRIVER, "driver = { sheaves_in_hand = true }"),
        (DRIVEN, "driven = { sheaves_in_hand = true, free = [75, 230] }"),
        there=DRAWER,
    )
    double, single = both.pieces
    assert double.steps_mm == pytest.approx((106.0, 90.0))
    assert (double.count, double.key) == (1, "in_hand.sheave[0]")
    assert (single.count, single.steps_mm) == (2, (125.0,))
    assert double.sides == single.sides == ("stage[0].driver", "stage[0].driven")


def test_a_side_that_does_not_say_so_uses_no_sheave() -> None:
    """The drawer is for sides that ask for it."""
    both = problem((DRIVER, "driver = { sheaves_in_hand = true }"), there=DRAWER)
    assert both.stages[0].driven.ready_mm == ()
    assert {side for piece in both.pieces for side in piece.sides} == {"stage[0].driver"}


def test_a_piece_whose_grooves_would_set_the_belts_out_of_line_is_left_out() -> None:
    """Grooves 15 mm apart against steps of 21.1 mm set two belts 3.05 mm off line each; 2 mm in 1000 are 0.6 at 300."""
    apart = DRAWER.replace('measured = "outside"', 'measured = "outside"\npitch = 15')
    found = problem((DRIVER, "driver = { sheaves_in_hand = true, free = [75, 200] }"), there=apart)
    assert [piece.key for piece in found.pieces] == ["in_hand.sheave[1]"]
    assert found.stages[0].driver.ready_mm == (125.0,)
    near = apart.replace("pitch = 15", f"pitch = {found.stages[0].driver.width_mm + 1.1}")
    assert len(problem((DRIVER, "driver = { sheaves_in_hand = true, free = [75, 200] }"), there=near).pieces) == 2


def test_grooves_stand_idle_where_there_is_room() -> None:
    """One groove of a double sheave may be beyond the cone's end, unless the room is for the steps alone."""
    drawer = (DRIVER, "driver = { sheaves_in_hand = true, free = [75, 200] }")
    wide = stage(drawer, there=DRAWER).driver
    assert wide.overhang == 1
    room = 4 * wide.width_mm + 1
    close = stage(drawer, ('name = "motor"\n', f'name = "motor"\nroom = {room}\n'), there=DRAWER).driver
    assert close.overhang == 0
    roomy = stage(drawer, ('name = "motor"\n', f'name = "motor"\nroom = {room + wide.width_mm}\n'), there=DRAWER)
    assert roomy.driver.overhang == 1


def test_sheaves_in_inches_are_read_as_such() -> None:
    """4 1/2 in datum are 114.3 mm."""
    drawer = DRAWER.replace("steps = 125", 'steps = "4 1/2 in"')
    assert 114.3 in stage((DRIVER, "driver = { sheaves_in_hand = true }"), there=drawer).driver.ready_mm


# Discs


def test_discs_in_hand_are_counted_and_those_too_large_to_swing_left_out() -> None:
    """Ascending, each with its count; 260 mm is above the largest blank of 240."""
    found = problem((DRIVER, "driver = { discs_in_hand = true }"), there=SHELF)
    assert [(disc.diameter_mm, disc.count) for disc in found.discs] == [(160.0, 3), (220.0, 2)]


def test_the_largest_disc_bounds_what_is_turned() -> None:
    """220 mm less 4 mm of truing is 216 over the rim, 209.4 on the pitch line; every size needs a disc of its own."""
    driver = stage((DRIVER, "driver = { discs_in_hand = true }"), there=SHELF).driver
    assert driver.turned_mm is not None
    assert driver.turned_mm[1] == pytest.approx(220 - driver.truing_mm - 6.6)
    assert driver.scarce_above_mm == 0.0


def test_discs_that_are_sold_leave_only_larger_steps_scarce() -> None:
    """With discs of 180 mm to be had, steps above 180 − 4 − 6.6 mm alone come from the shelf."""
    driver = stage((DRIVER, "driver = { discs_in_hand = true, blanks = [150, 180] }"), there=SHELF).driver
    assert driver.scarce_above_mm == pytest.approx(180 - driver.truing_mm - 6.6)
    assert driver.discs_mm == (150.0, 160.0, 180.0, 220.0)


def test_beside_a_free_range_no_disc_is_scarce() -> None:
    """Where a blank of any size can be had nothing is counted."""
    found = problem((DRIVER, "driver = { discs_in_hand = true, free = [75, 200] }"), there=SHELF)
    assert found.stages[0].driver.scarce_above_mm == inf
    assert found.discs == ()


# Belts


def test_a_belt_in_hand_that_is_in_stock_too_is_marked() -> None:
    """1120 is in the list anyway: two of it are there, more can be had. 1133 is not: there is one and no more."""
    belts = {belt.marking: belt for belt in stage(there=NAIL).belts}
    assert (belts["A 1120"].in_hand, belts["A 1120"].sold) == (2, True)
    (odd,) = [belt for belt in belts.values() if belt.length_mm == pytest.approx(1133.0)]
    assert (odd.in_hand, odd.sold) == (1, False)
    assert all(belt.section == "A" for belt in belts.values())


def test_two_belts_of_nearly_one_length_are_counted_together() -> None:
    """Less than half a millimetre apart nobody can tell them from one another, or from the one in the list."""
    there = NAIL.replace("length = 1133", "length = 1120.3")
    belts = {belt.marking: belt for belt in stage(there=there).belts}
    assert belts["A 1120"].in_hand == 3


def test_one_belt_on_two_lines_is_one() -> None:
    """Inside length and datum length of a belt of section A differ; the same belt given on both is counted twice."""
    inside = 'section = "A"\nlength = 1090.4715\nmeasured = "inside"'
    there = NAIL.replace('section = "A"\nlength = 1133', inside)
    assert {b.marking: b for b in stage(there=there).belts}["A 1120"].in_hand == 3


def test_a_belt_of_any_length_stays_so_beside_those_in_hand() -> None:
    """Belts made to length have the ones in hand in their midst, of which there are no more."""
    own = ('belt = "A"', 'belt = { section = "A", lengths = "any" }')
    scarce = [belt for belt in stage(own, there=NAIL).belts if belt.in_hand]
    assert [(belt.in_hand, belt.sold) for belt in scarce] == [(2, True), (1, False)]


# Cones of which some steps stand


def test_open_steps_are_nothing_in_their_place() -> None:
    """Steps that stand have one size each, on the pitch line; open ones are turned within the free range."""
    driven = stage((DRIVEN, 'driven = { kept = ["open", 112, "open", 90], free = [75, 180] }')).driven
    assert driven.standing_mm == (None, (112.0,), None, (90.0,))
    assert driven.turned_mm == pytest.approx((75.0, 180.0))


def test_what_lies_beyond_a_step_too_small_is_out_of_use() -> None:
    """75 mm is the least for section A: a step of 70 and all smaller ones cannot be used, open ones between neither."""
    found = problem(
        ("positions = 4", "positions = 3"),
        ("want = 2\n\n[making]", "want = 1\n\n[making]"),
        (DRIVEN, 'driven = { kept = ["open", 140, "open", 112, "open", 70], free = [75, 180] }'),
    )
    assert found.stages[0].driven.standing_mm == (None, (140.0,), None, (112.0,), None)


# A machine that is known


@pytest.mark.parametrize(
    ("side", "there", "fault"),
    [
        (
            'driver = { kept = [80, "open", 110, 140], ready = [90] }',
            "",
            'stage[0].driver.kept[1]: a known machine has no open steps; got "open"; allowed: a diameter; '
            "try: give the steps with kept = [...], or run design",
        ),
        (
            "driver = { sheaves_in_hand = true, ready = [80, 90, 100, 110] }",
            DRAWER,
            "stage[0].driver.sheaves_in_hand: which sheaves in hand are on this side is still to be chosen; got true; "
            "allowed: kept, or ready; try: give the steps with kept = [...], or run design",
        ),
    ],
)
def test_a_machine_with_something_to_choose_is_not_known(side: str, there: str, fault: str) -> None:
    """Open steps and a drawer leave a choice, which `speeds` does not make."""
    text = GRINDER.replace(DRIVER, side).replace(DRIVEN, "driven = { kept = [172, 145, 130, 114] }")
    text = text.replace('belt = "A"', 'belt = { section = "A", lengths = [1120] }') + there
    with pytest.raises(ScenarioError) as caught:
        known_machine(load_scenario(text, "machine.toml"))
    assert [str(found) for found in caught.value.faults] == [fault]
