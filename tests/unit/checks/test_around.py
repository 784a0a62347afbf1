"""The room around, on machines whose places can be worked out on paper.

The countershaft slides up from the motor, the spindle stands beside the motor or goes with it. Stage 1 has one
position, 125 on 125 mm, so that its centre distance is (1120 − π·125)/2 = 363.650 mm and its strands run straight up,
62.5 mm left and right of the line of centres. Belt A is 8 mm high, its datum line 3.3 mm below its top, so that no part
of a strand is farther from its pitch line than 4.7 mm. The budget at 1120 mm: tolerance 5.6 mm (half of one in a
hundred), stretch 28 mm, climb 18.08 mm, so belt on at 363.650 − 2.8 − 18.08 = 342.770, worn out at 363.650 + 2.8 + 28
= 394.450 mm. The groove is 11 + 2·3.3·tan 18° = 13.145 mm wide at
the rim (GOST 20889-88: 36° from 125 to 160 mm), so that a step with its walls of 4 mm takes 21.145 mm.
"""

from __future__ import annotations

from math import hypot

import pytest

from optimizer.checks import Check, check_design, skipped_checks
from optimizer.checks.along import cone_span_mm, seats_of
from optimizer.checks.around import things_of
from optimizer.checks.stands import Stands, stands_of
from optimizer.checks.stated import read_machine
from optimizer.scenario import Scenario
from tests.unit.checks.machines import BASE, TWO_STAGES, built, machine, scenario

ONE = machine(built((125,), (125,)))
SINGLE = (
    ("positions = 3", "positions = 1"),
    ('name = "all work"\nfrom = 780\nto = 2500\nwant = 3', 'name = "work"\nfrom = 1300\nto = 1500'),
)
CENTRE = 363.650
BELT_ON, WORN_OUT = 342.770, 394.450


def one_stage(*edits: tuple[str, str], around: str = "", spindle: str = "at = [0, 360]") -> Scenario:
    """Return one stage straight up from the motor, with obstacles."""
    return scenario(
        BASE,
        ('name = "motor"\n', 'name = "motor"\nat = [0, 0]\n'),
        ('name = "spindle"\n', f'name = "spindle"\n{spindle}\n'),
        ("driver = { free", "driver = { along = 0, free"),
        ("[[stage]]", around + "\n[[stage]]"),
        *SINGLE,
        *edits,
    )


def gaps(text: Scenario, *words: str) -> list[Check]:
    """Return the checks of the room around whose note names all words."""
    return [
        c
        for c in check_design(read_machine(text, ONE))
        if c.name == "room around" and all(word in c.note for word in words)
    ]


def obstacle(shape: str, along: str = "", on: str = "") -> str:
    """Return an obstacle's table."""
    more = (f"along = {along}\n" if along else "") + (f'on = "{on}"\n' if on else "")
    return f'[[obstacle]]\nname = "rail"\n{shape}\n{more}'


def known(text: Scenario) -> Stands:
    """Return the stands of the machine with one stage, which are known."""
    stands = stands_of(read_machine(text, ONE))
    assert isinstance(stands, Stands)
    return stands


def test_cones_belt_and_shafts_are_looked_at() -> None:
    """One stage has two cones, its belt, and both its shafts where their diameters are stated."""
    text = one_stage()
    things = [(thing.kind, thing.where) for thing in things_of(read_machine(text, ONE), known(text))]
    assert sorted(things) == [
        ("belt", "stage[0]"),
        ("cone", "stage[0].driven"),
        ("cone", "stage[0].driver"),
        ("shaft", "motor"),
        ("shaft", "spindle"),
    ]


def test_a_slide_moves_along_the_line_of_centres() -> None:
    """The spindle stands straight above the motor at its own centre distance, at belt-on, at worn-out."""
    text = one_stage()
    stands = known(text)
    places = {
        state[0].when: tuple(at) for state, at in zip(stands.states, stands.shaft(text.shaft("spindle")), strict=True)
    }
    assert set(places) == {"running", "belt on", "worn out"}
    assert places["running"] == pytest.approx((0.0, CENTRE), abs=2e-3)
    assert places["belt on"] == pytest.approx((0.0, BELT_ON), abs=2e-3)
    assert places["worn out"] == pytest.approx((0.0, WORN_OUT), abs=2e-3)


def test_a_slide_moves_along_its_stated_direction() -> None:
    """Level, from 120 right and 350 up, it comes to x = sqrt(C² − 350²) where it can: 394.450 gives 181.91."""
    text = one_stage(spindle="at = [120, 350]\ndirection = 180", around="")
    stands = known(text)
    at = dict(zip([state[0].when for state in stands.states], stands.shaft(text.shaft("spindle")), strict=True))
    assert at["worn out"] == pytest.approx((181.91, 350.0), abs=0.01)
    (near,) = [c for c in check_design(read_machine(text, ONE)) if c.name == "nearest that the mount brings the shafts"]
    assert not near.passed
    assert (near.value, near.limit) == pytest.approx((BELT_ON, 350.0), abs=2e-3)


def test_a_rail_beside_the_belt_keeps_the_clearance_of_its_strand() -> None:
    """A rail whose side stands 80 mm right: 80 − 62.5 − 4.7 = 12.8 mm from the strand; at 70 mm 2.8, below 5."""
    right = obstacle("box = { from = [80, 100], to = [120, 200] }")
    (gap,) = gaps(one_stage(around=right), "belt of stage 1 to rail")
    assert gap.value == pytest.approx(12.8, abs=1e-3)
    assert (gap.limit, gap.passed, gap.source) == (5.0, True, "this project's own judgement")
    near = obstacle("box = { from = [70, 100], to = [120, 200] }")
    (gap,) = gaps(one_stage(around=near), "belt of stage 1 to rail")
    assert gap.value == pytest.approx(2.8, abs=1e-3)
    assert (gap.passed, gap.kind) == (False, "limit")
    assert all(c.passed for c in gaps(one_stage(around=near + "\n[around]\nclearance = 2")))


def test_what_lies_elsewhere_along_the_shafts_is_out_of_the_way() -> None:
    """The belt at 0 is 13 mm wide; a rail on its strand that begins at 16.5 along is 10 mm off, at 9.5 only 3 mm."""
    for start, gap_mm in ((16.5, 10.0), (9.5, 3.0)):
        across = obstacle("box = { from = [40, 150], to = [90, 200] }", along=f"[{start}, 200]")
        (gap,) = gaps(one_stage(around=across), "belt of stage 1 to rail")
        assert gap.value == pytest.approx(gap_mm, abs=1e-6)


def test_ends_of_travel_count() -> None:
    """A round rail of 40 mm, 560 mm up: the rim (131.6 mm) is nearest worn out, 560 − 394.45 − 65.8 − 20 = 79.75."""
    above = obstacle("round = { at = [0, 560], diameter = 40 }")
    (gap,) = gaps(one_stage(around=above), "driven of stage 1 to rail")
    assert gap.value == pytest.approx(79.75, abs=2e-3)
    assert gap.note == "driven of stage 1 to rail, least with stage 1 at position 1 worn out"


def test_what_rides_on_a_mount_moves_with_it() -> None:
    """The same rail on the spindle's slide keeps its distance: 560 − 360 − 65.8 − 20 = 114.2 mm at all times."""
    rider = obstacle("round = { at = [0, 560], diameter = 40 }", on="spindle")
    (gap,) = gaps(one_stage(around=rider), "driven of stage 1 to rail")
    assert gap.value == pytest.approx(114.2, abs=1e-6)


def test_locked_shafts_must_stand_as_their_belt_needs() -> None:
    """Stated 363 mm apart they are 0.65 mm off, within a millimetre; 366 mm are refused by the check."""
    locked = (('mount = "slide"\n', ""), ("travel = 70", 'slackened = "by hand"'))
    for place, passed in ((363, True), (366, False)):
        text = one_stage(*locked, spindle=f"at = [0, {place}]")
        (check,) = [c for c in check_design(read_machine(text, ONE)) if c.name == "stated places of the shafts"]
        assert check.value == pytest.approx(abs(place - CENTRE), abs=2e-3)
        assert (check.passed, check.kind) == (passed, "limit")


def two_stages(spindle: str, driver: str = "along = 0", second: str = "along = 60", more: str = "") -> Scenario:
    """Return motor, countershaft 360 mm above, spindle where it is told."""
    head, first, last = (
        TWO_STAGES.replace("positions = 2", "positions = 1")
        .replace("positions = 3", "positions = 1")
        .split("driver = {")
    )
    text = f"{head}driver = {{ {driver}, {first}driver = {{ {second}, {last}"
    text = text.replace("[[shaft]]", '[[shaft]]\nname = "motor"\nat = [0, 0]\n[[shaft]]', 1)
    text = text.replace('name = "countershaft"', 'name = "countershaft"\nat = [0, 360]')
    return scenario(text + more, ('name = "spindle"', f'name = "spindle"\nat = [{spindle}]'))


TWO = machine(built((125,), (125,)), built((125,), (125,), key="stage[1]"))


def test_cones_of_other_stages_are_kept_apart_at_every_combination() -> None:
    """The spindle is led back beside the motor, 40 mm right of it.

    Seen along the shafts the rims overlap; along them 60 − 21.145 = 38.86 mm remain, and less with a smaller `along`.
    """
    names = {}
    for second, gap_mm in (("along = 60", 38.855), ("along = 24", 2.855)):
        found = [
            c for c in check_design(read_machine(two_stages("40, 0", second=second), TWO)) if c.name == "room around"
        ]
        names = {c.note.partition(",")[0]: c for c in found}
        assert names["driver of stage 1 to driven of stage 2"].value == pytest.approx(gap_mm, abs=1e-3)
    assert not names["driver of stage 1 to driven of stage 2"].passed
    assert "driver of stage 1 to driven of stage 1" not in names


def test_without_a_place_along_only_what_lies_apart_across_is_judged() -> None:
    """Far apart they pass without `along`; beside each other the check is skipped, naming what to state."""
    far = two_stages("300, 360", 'material = "metal"', 'material = "metal"')
    assert all(c.passed for c in check_design(read_machine(far, TWO)) if c.name == "room around")
    near = two_stages("40, 0", 'material = "metal"', 'material = "metal"')
    why = [item.why for item in skipped_checks(read_machine(near, TWO)) if item.name == "room around"]
    assert any(line.startswith("driver of stage 1 to driven of stage 2: -") for line in why)
    beside = [line for line in why if " to " in line]
    assert all("no place of" in line and line.endswith("is stated (along)") for line in beside)


def test_what_cannot_be_looked_at_is_listed() -> None:
    """A spindle that nobody places, a rail that rides on it, shafts of no diameter are skipped with what is missing."""
    text = two_stages("300, 360", more=obstacle("round = { at = [0, 560], diameter = 40 }", on="spindle"))
    shafts = (s.model_copy(update={"at_mm": None} if s.name == "spindle" else {}) for s in text.shafts)
    text = text.model_copy(update={"shafts": tuple(shafts)})
    found = {item.where: item.why for item in skipped_checks(read_machine(text, TWO)) if item.name == "room around"}
    assert found == {
        "spindle": "its place is not stated (at)",
        "obstacle[0]": "rail rides on spindle, whose place is not known",
        "motor": "its diameter is not stated, so only what sits on it is looked at",
        "countershaft": "its diameter is not stated, so only what sits on it is looked at",
    }


def test_a_belt_that_does_not_go_round_leaves_all_unknown() -> None:
    """Pulleys of 400 mm on a belt of 1120 mm: the room is skipped, nothing is no number."""
    found = {item.where: item.why for item in skipped_checks(read_machine(one_stage(), machine(built((400,), (400,)))))}
    assert found["shaft"] == "the belt does not go round at every position"


PLAIN = """
title = "Buffing head"
units = "{units}"
[motor]
speed = 1400
[[shaft]]
name = "motor"
at = [{a}, {b}]
[[shaft]]
name = "spindle"
diameter = {c}
at = [{a}, {d}]
mount = "slide"
[[obstacle]]
name = "rail"
box = {{ from = [{e}, {f}], to = [{g}, {d}] }}
along = [{b}, {c}]
[[stage]]
from = "motor"
to = "spindle"
centres = [{f}, {h}]
travel = {i}
slip = 0
belt = {{ section = "A", lengths = [{j}] }}
driver = {{ free = [{k}, {l}], along = {m} }}
driven = {{ free = [{k}, {l}] }}
"""
SIZES = (0, -40, 25, 330, 80, 200, 120, 420, 70, 1120, 80, 200, 12)


@pytest.mark.parametrize(("units", "size"), [("in", 25.4), ("cm", 10.0)])
def test_the_units_of_the_file_change_nothing(units: str, size: float) -> None:
    """The same machine in inches or centimetres has the same gaps to a nanometre."""
    values = []
    for word, each in (("mm", 1.0), (units, size)):
        text = PLAIN.format(units=word, **{key: mm / each for key, mm in zip("abcdefghijklm", SIZES, strict=True)})
        values.append([check.value for check in gaps(scenario(text))])
    assert len(values[0]) == 3
    assert values[1] == pytest.approx(values[0], abs=1e-6)


def test_a_hinge_without_its_place_leaves_the_shaft_unknown() -> None:
    """The place of the hinge is asked for by its key."""
    text = one_stage(('mount = "slide"', 'mount = "hinge"'))
    found = {item.where: item.why for item in skipped_checks(read_machine(text, ONE)) if item.name == "room around"}
    assert found == {"spindle": "the place of the hinge of spindle is not stated (hinge.at)"}


def test_steps_follow_outward_or_inward_and_must_not_lie_on_each_other() -> None:
    """Two cones of one step each, 21.145 mm wide: 20 mm apart they overlap by 1.14 mm, which is impossible."""
    text = two_stages("300, 360", second="along = 20")
    (check,) = [c for c in check_design(read_machine(text, TWO)) if c.name == "cones side by side"]
    assert (check.kind, check.passed) == ("impossible", False)
    assert check.value == pytest.approx(20 - 21.145, abs=1e-3)


def test_stated_places_of_both_cones_are_held_to_line() -> None:
    """0.8 mm off is allowed at 363.65 mm of centre distance, 0.7273 mm: 2 mm per metre; so 0.7 mm passes, 0.8 fails."""
    for off, passed in ((0.7, True), (0.8, False)):
        text = one_stage(("driven = { free", f"driven = {{ along = {off}, free"))
        (check,) = [c for c in check_design(read_machine(text, ONE)) if c.name == "belts in line as placed"]
        assert check.limit == pytest.approx(0.7273, abs=1e-4)
        assert check.passed is passed


def test_a_machine_turned_about_the_origin_has_the_same_gaps() -> None:
    """Motor and spindle along x in place of y, the rail with them: the same figure."""
    up = one_stage(around=obstacle("round = { at = [90, 150], diameter = 20 }"))
    flat = one_stage(("at = [0, 360]", "at = [-360, 0]"), around=obstacle("round = { at = [-150, 90], diameter = 20 }"))
    values = [
        [c.value for c in check_design(read_machine(text, ONE)) if c.name == "room around"] for text in (up, flat)
    ]
    assert values[0] == pytest.approx(values[1], abs=1e-9)
    assert hypot(90, 0) - 62.5 - 4.7 - 10 == pytest.approx(min(values[0]), abs=1e-6)


RIDING = """
[[shaft]]
name = "motor"
mount = "slide"
on = "countershaft"
at = [-250, 200]
[[shaft]]
name = "countershaft"
mount = "slide"
at = [0, 400]
direction = 60
"""


@pytest.mark.parametrize(
    "mounts",
    [
        pytest.param(RIDING, id="the motor rides on the countershaft's slide"),
        pytest.param(RIDING.replace('on = "countershaft"\n', ""), id="both stand on the frame"),
        pytest.param(RIDING.replace('on = "countershaft"\n', "direction = 90\n"), id="across the line of centres"),
    ],
)
def test_every_shaft_stands_at_every_states_centre_distances(mounts: str) -> None:
    """Whatever rides on what, each belt's shafts stand apart as its state asks for; the spindle never moves."""
    head, stages = TWO_STAGES.split("[[shaft]]", 1)
    stages = stages[stages.index("[[stage]]") :]
    text = scenario(head + mounts + '[[shaft]]\nname = "spindle"\nat = [60, 20]\n' + stages)
    two = machine(built((90, 125), (160, 125)), built((90, 125, 160), (160, 125, 90), key="stage[1]"))
    stands = stands_of(read_machine(text, two))
    assert isinstance(stands, Stands)
    assert len(stands.states) == 3 * 2 * 3 * 3
    at = [stands.shaft(text.shaft(name)) for name in ("motor", "countershaft", "spindle")]
    for number in (0, 1):
        apart = [hypot(*(one - other)) for one, other in zip(at[number], at[number + 1], strict=True)]
        assert apart == pytest.approx([state[number].centre_mm for state in stands.states], abs=1e-6)
    assert (at[2] == (60, 20)).all()


def test_mounts_that_change_the_same_belts_are_not_guessed() -> None:
    """Countershaft, and spindle with the motor on its slide, change both belts each: their places stay unknown."""
    text = two_stages("300, 360")
    riders = {"motor": {"on": "spindle"}}
    shafts = tuple(shaft.model_copy(update=riders.get(shaft.name, {})) for shaft in text.shafts)
    stands = stands_of(read_machine(text.model_copy(update={"shafts": shafts}), TWO))
    assert isinstance(stands, Stands)
    assert set(stands.unknown) == {"motor", "countershaft", "spindle"}
    assert set(stands.unknown.values()) == {
        "countershaft and spindle change the same belts at once, and are not solved for together"
    }


def test_a_longer_kept_cone_is_there_with_all_its_steps() -> None:
    """Of four steps a run of two is used, the largest is not: it stands where it would stand, one step beyond."""
    text = scenario(
        BASE,
        ("positions = 3", "positions = 2"),
        ("driver = { free = [80, 200] }", "driver = { kept = [80, 100, 120, 140], pitch = 25, along = 50 }"),
    )
    pair = read_machine(text, machine(built((100, 120), (150, 130)))).pairs[0]
    seats = seats_of(pair.driver, pair, text.making)
    assert [(s.position, round(s.outside_mm - 6.6, 6), s.place_mm) for s in seats] == [
        (0, 100.0, 50.0),
        (1, 120.0, 75.0),
        (None, 80.0, 25.0),
        (None, 140.0, 100.0),
    ]
    assert cone_span_mm(seats) == (12.5, 112.5)


def hinged(pivot: tuple[float, float]) -> Scenario:
    """Return the machine with one stage, its spindle on a hinge at a place."""
    return one_stage(('mount = "slide"', f'mount = "hinge"\nhinge = {{ at = [{pivot[0]}, {pivot[1]}] }}'))


def test_a_hinge_keeps_its_arm() -> None:
    """The spindle stays 300 mm from a hinge right of it and stands as far from the motor as its belt needs."""
    text = hinged((300.0, 360.0))
    stands = known(text)
    at = stands.shaft(text.shaft("spindle"))
    assert [hypot(x - 300, y - 360) for x, y in at] == pytest.approx([300.0] * 3, abs=1e-9)
    assert [hypot(x, y) for x, y in at] == pytest.approx([state[0].centre_mm for state in stands.states], abs=1e-9)
    assert all(abs(x) < 40 and y > 300 for x, y in at), "the nearer of the two places"


def test_a_hinge_out_of_reach_is_said_with_its_figures() -> None:
    """A hinge 20 mm above the spindle's place: arms of 20 and 380 reach 360 to 400 mm, belt-on is at 342.77."""
    text = hinged((0.0, 380.0))
    checks = {c.name: c for c in check_design(read_machine(text, ONE))}
    near, far = (checks[f"{word} that the mount brings the shafts"] for word in ("nearest", "farthest"))
    assert (near.value, near.limit) == pytest.approx((BELT_ON, 360.0), abs=2e-3)
    assert (far.value, far.limit) == pytest.approx((WORN_OUT, 400.0), abs=2e-3)
    assert (near.passed, near.kind, far.passed) == (False, "impossible", True)
    assert near.source == "geometry of the hinge of spindle"


def test_shafts_at_one_place_have_no_line_of_centres() -> None:
    """Where centres and travel allow 0 mm apart, a slide without a direction is listed, not guessed."""
    text = one_stage(("centres = [250, 400]", "centres = [60, 400]"), spindle="at = [0, 0]")
    found = {item.where: item.why for item in skipped_checks(read_machine(text, ONE)) if item.name == "room around"}
    assert found == {
        "spindle": "spindle slides along the line of centres, but spindle and motor are stated at one place",
    }
