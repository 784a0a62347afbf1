"""A cone that two belts share is there once in everything that is made, bought and done.

The drill, by hand: motor 1000 rpm, no slip, belts Z, three steps a cone. Datum diameters: motor 60, 80, 120; middle
140, 120, 80; spindle 160, 120, 100 mm. The second belt's slowest position lies on the middle's last step: 80 to 160,
120 to 120, 140 to 100. Over the rim all are 5.0 mm larger (GOST 20889-88, read: b = 2.5 mm). Steps are 2 x 12 mm wide.
"""

from __future__ import annotations

from functools import cache
from math import pi

import pytest

from optimizer.cuts import CutCone, cut_cones
from optimizer.cuts.buying import buying_list
from optimizer.cuts.cones import cone_name, doing_words, ends_words, facing_steps, line_words, step_words
from optimizer.cuts.nesting import sawn
from optimizer.cuts.truing import truing
from optimizer.cuts.work_order import work_order
from optimizer.pipeline.job import Job
from tests.jobs import job
from tests.unit.cuts.hand_made import by_hand, stage

DRILL = """title = "Drill"
units = "mm"
[motor]
speed = 1000
[[band]]
name = "all"
from = 200
to = 2200
[making]
largest_blank = 200
layer = 12
step_pitch = "layers"
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
positions = 3
centres = [200, 300]
travel = 70
slip = 0
belt = { section = "Z", lengths = [800] }
driver = { free = [50, 180] }
driven = { free = [50, 180] }
[[stage]]
from = "middle"
to = "spindle"
centres = [300, 400]
travel = 70
slip = 0
belt = { section = "Z", lengths = [1060] }
driver = { shared = true }
driven = { free = [50, 180] }
"""


@cache
def drill() -> Job:
    """Return the drill."""
    middle = (145.0, 125.0, 85.0)
    return by_hand(
        DRILL,
        stage(0, ("Z", 800.0), ((65.0, 85.0, 125.0), middle), ("ttt", "ttt")),
        stage(1, ("Z", 1060.0), (middle[::-1], (165.0, 125.0, 105.0)), ("ttt", "ttt")),
    )


def cones() -> tuple[CutCone, CutCone, CutCone]:
    """Return the cones of motor, middle, spindle."""
    motor, middle, spindle = cut_cones(drill())
    return motor, middle, spindle


def test_three_shafts_have_three_cones() -> None:
    """The middle cone is the driven of stage 1, named as the driver of stage 2 too; there is no other."""
    motor, middle, spindle = cones()
    assert [cone.slug for cone in (motor, middle, spindle)] == ["stage-1-driver", "stage-1-driven", "stage-2-driven"]
    assert [cone.second_stage for cone in (motor, middle, spindle)] == [None, 2, None]
    assert cone_name(middle) == "stage 1, driven, and stage 2, driver, on middle"
    assert cone_name(spindle) == "stage 2, driven on spindle"
    assert (doing_words(middle), doing_words(spindle)) == ("driven of stage 1, driver of stage 2", "driven of stage 2")


def test_a_step_of_it_is_a_position_of_either_belt() -> None:
    """The second belt counts from the other end: step 1 is its position 3."""
    motor, middle, _ = cones()
    assert [(s.position, s.second_position, s.outside_mm) for s in middle.steps] == [
        (1, 3, 145),
        (2, 2, 125),
        (3, 1, 85),
    ]
    assert step_words(middle, middle.steps[0]) == "position 1 of belt 1, 3 of belt 2"
    assert step_words(motor, motor.steps[0]) == "position 1"


def test_its_steps_face_two_others() -> None:
    """Step 1 of 145 mm faces the motor's first, of 65, and the spindle's last, of 105 mm."""
    every = cones()
    told = [
        [[(f.shaft, f.number, f.step and f.step.outside_mm) for f in facing_steps(cone, every, s)] for s in cone.steps]
        for cone in every
    ]
    assert told[0] == [[("middle", 1, 145)], [("middle", 2, 125)], [("middle", 3, 85)]]
    assert told[1] == [
        [("motor", 1, 65), ("spindle", 3, 105)],
        [("motor", 2, 85), ("spindle", 2, 125)],
        [("motor", 3, 125), ("spindle", 1, 165)],
    ]
    assert told[2] == [[("middle", 3, 85)], [("middle", 2, 125)], [("middle", 1, 145)]]


def test_which_end_faces_which_is_told_of_all_three() -> None:
    """Large ends face small ones, and the third cone's steps run against the numbers of the middle one."""
    motor, middle, spindle = map(ends_words, cones())
    assert motor == (
        "Large end at step 3, small end at step 1; each step faces the one of the same number on middle, so large end "
        "faces small end."
    )
    assert middle == (
        "Large end at step 1, small end at step 3; each step faces the one of the same number on motor, so large end "
        "faces small end. It is the driver of stage 2 too: step 1 faces step 3 on spindle, and so on to step 3, which "
        "faces step 1. No step carries both belts at once."
    )
    assert spindle == (
        "Large end at step 1, small end at step 3; step 1 faces step 3 on middle, and so on to step 3, which faces "
        "step 1, so large end faces small end."
    )


def test_belts_may_be_out_of_line_by_the_less_of_both() -> None:
    """2 mm per metre of the nearest centres (GOST 20889-88, read): the first belt's, which are shorter, hold."""
    motor, middle, spindle = cones()
    nearest = [min(p.centre_mm or 0.0 for p in s.positions) for s in drill().design.machine.stages]
    assert nearest[0] < nearest[1]
    most = [{s.off_line_most_mm for s in cone.steps} for cone in (motor, middle, spindle)]
    assert [one.pop() for one in most] == pytest.approx([0.002 * nearest[0], 0.002 * nearest[0], 0.002 * nearest[1]])
    words = line_words(middle, drill())
    assert "belt 1, 0.00 mm off at most" in words and "belt 2, 0.00 mm off at most" in words


def test_timber_is_counted_once() -> None:
    """Nine steps of two layers make 18 squares; discs are 4 mm larger than the rims (truing) and 24 mm wide."""
    nesting = sawn(drill())
    assert nesting is not None
    squares = [square for sheet in nesting.sheets for square in sheet.squares]
    assert len(squares) == 18
    assert [s.name for s in squares if "2 driver" in s.name] == [
        f"stage 1 driven, 2 driver, layer {number}" for number in range(1, 7)
    ]
    motor, middle, spindle = cones()
    rims = [65, 85, 125, 145, 125, 85, 165, 125, 105]
    assert [s.blank_mm for cone in (motor, middle, spindle) for s in cone.steps] == [rim + 4 for rim in rims]
    # π/4·(145² − 22²)·24 mm³ less its groove, whose area is some 67 mm² and whose middle runs on some 137 mm
    step = middle.steps[0].volume_mm3
    assert step == pytest.approx(pi / 4 * (145**2 - 22**2) * 24 - 67 * pi * 137, rel=0.01)
    assert middle.mass_kg == pytest.approx(sum(s.mass_kg or 0.0 for s in middle.steps))


def test_it_needs_one_hub_and_one_key() -> None:
    """Three hubs, a key for each of three shafts; the middle bearings carry the one cone, which is measured once."""
    lines = buying_list(drill()).lines
    hubs = [line.why for line in lines if line.group == "hub"]
    assert hubs == ["stage 1, driver on motor", cone_name(cones()[1]), "stage 2, driven on spindle"]
    assert [line.count for line in lines if line.group == "key"] == [1, 1, 1]
    bearings = [line.why for line in lines if line.group == "bearing"]
    assert bearings[0] == "middle, which carries the driven of stage 1, driver of stage 2"
    (pins,) = {line.why for line in lines if line.group == "gauge pins"}
    assert pins.count("middle") == 1


def test_its_order_of_work_knows_both_belts() -> None:
    """Both belts are threaded on first, three cones are set in line; its blank is driven by the motor's shaft."""
    _, middle, spindle = cones()
    order = {step.name: step for step in work_order(middle, drill())}
    assert "the endless belts Z 800 mm and Z 1060 mm" in order["put on first what cannot pass"].what
    assert "Also on middle" not in order["put on first what cannot pass"].what
    assert "Set the middles of all three cones in line" in order["line it up"].what
    assert "layers of all three facing cones" in order["measure the plywood"].caution
    own, last = truing(middle, drill()), truing(spindle, drill())
    assert own is not None and own.pair is not None and own.pair.driver_shaft == "motor"
    assert last is not None and last.pair is not None and last.pair.driver_shaft == "middle"


def test_a_designed_machine_has_as_much_timber_as_its_cones() -> None:
    """Turned steps and the volume of discs of the layout are those of the cones as they are cut."""
    made = job("middle cone")
    steps = [(step, cone) for cone in cut_cones(made) for step in cone.turned]
    assert len(steps) == made.design.layout.turned_steps == 8
    discs = sum(pi / 4 * (step.blank_mm or 0.0) ** 2 * (step.to_mm - step.from_mm) for step, _ in steps)
    assert discs == pytest.approx(made.design.layout.timber_mm3)
