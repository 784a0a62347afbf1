"""The layout of belts and shafts on its sheet."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import dist, hypot, radians

import pytest

from optimizer.drawing import Sheet
from optimizer.drawing.belt_layout import LayoutFrame, belt_layout_frame, belt_layout_sheet
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Line, Point, Text
from optimizer.render import svg_bytes
from tests.jobs import JOBS, job, job_from

ROUND_RATIOS = {1.0, 2.0, 2.5, 5.0, 10.0, 20.0}


@cache
def frame(name: str) -> LayoutFrame:
    """Return the frame of a machine."""
    return belt_layout_frame(job(name))


@cache
def sheets(name: str) -> tuple[Sheet, ...]:
    """Return the layout at every speed."""
    return tuple(belt_layout_sheet(job(name), s.number, frame=frame(name)) for s in job(name).design.machine.speeds)


def circles(sheet: Sheet, layer: str) -> list[Circle]:
    """Return the circles of a layer."""
    return [entity for entity in sheet.on(layer) if isinstance(entity, Circle)]


def said(sheet: Sheet) -> str:
    """Return all lettering, in the order it is written."""
    return " ".join(entity.text for entity in sheet.entities if isinstance(entity, Text))


def belts(sheet: Sheet) -> list[tuple[list[Line], list[Arc]]]:
    """Return the strands and arcs of every belt."""
    lines = [entity for entity in sheet.on("belts") if isinstance(entity, Line)]
    arcs = [entity for entity in sheet.on("belts") if isinstance(entity, Arc)]
    return [(lines[k : k + 2], arcs[k : k + 2]) for k in range(0, len(lines), 2)]


def drawn_mm(entities: tuple[list[Line], list[Arc]]) -> float:
    """Return the length of a belt on the page."""
    lines, arcs = entities
    bent = sum(arc.radius_mm * radians(arc.end_deg - arc.start_deg) for arc in arcs)
    return bent + sum(dist(line.start, line.end) for line in lines)


@pytest.mark.parametrize("name", JOBS)
def test_every_belt_is_drawn_as_long_as_it_is(name: str) -> None:
    """Page times ratio gives each belt's pitch length; shafts that do not move leave what the belt forgives."""
    made = job(name)
    for sheet in sheets(name):
        for stage, belt in zip(made.design.machine.stages, belts(sheet), strict=True):
            forgiven = 0.0 if stage.centres.travel_mm else 2 * 0.2
            assert drawn_mm(belt) / sheet.scale == pytest.approx(stage.pitch_length_mm, abs=1e-6 + forgiven)


@pytest.mark.parametrize("name", JOBS)
def test_every_belt_lies_on_the_steps_of_its_position(name: str) -> None:
    """Arcs have the pitch radii of the chosen steps, about shafts at the position's own centre distance."""
    made = job(name)
    for speed, sheet in zip(made.design.machine.speeds, sheets(name), strict=True):
        drawn = zip(made.design.machine.stages, speed.positions, belts(sheet), strict=True)
        for stage, number, (lines, arcs) in drawn:
            position = stage.positions[number - 1]
            radii = [arc.radius_mm / sheet.scale for arc in arcs]
            assert radii == pytest.approx([position.driver.pitch_mm / 2, position.driven.pitch_mm / 2], abs=1e-9)
            forgiven = 0.0 if stage.centres.travel_mm else 0.2
            apart = dist(arcs[0].centre, arcs[1].centre) / sheet.scale
            assert apart == pytest.approx(position.centre_mm, abs=1e-6 + forgiven)
            for line in lines:
                out = line.start[0] - arcs[0].centre[0], line.start[1] - arcs[0].centre[1]
                along = line.end[0] - line.start[0], line.end[1] - line.start[1]
                assert abs(out[0] * along[0] + out[1] * along[1]) < 1e-9 * hypot(*along) * hypot(*out) + 1e-9


@pytest.mark.parametrize("name", JOBS)
def test_all_speeds_share_one_frame(name: str) -> None:
    """Page, scale, places of lettering, hinges on the frame, and shafts that do not move are the same at all speeds."""
    made = job(name)
    shafts = [made.scenario.shaft(name) for name in {s.shaft for s in made.design.machine.speeds[0].shafts}]
    still = {shaft.name for shaft in shafts if not shaft.slides and shaft.on is None}
    names = [
        shaft.shaft for shaft in made.design.machine.speeds[0].shafts if made.scenario.shaft(shaft.shaft).diameter_mm
    ]
    for one, other in pairwise(sheets(name)):
        assert (one.width_mm, one.height_mm, one.scale) == (other.width_mm, other.height_mm, other.scale)
        for sheet in (one, other):
            places = {text.at for text in sheet.on("words") if isinstance(text, Text)}
            assert {(slot.left_mm, slot.first_mm) for slot in frame(name).slots} <= places
        for shaft, here, there in zip(names, circles(one, "shafts"), circles(other, "shafts"), strict=True):
            if shaft in still:
                assert here.centre == pytest.approx(there.centre, abs=1e-9)


@pytest.mark.parametrize("name", JOBS)
def test_a_given_frame_changes_nothing(name: str) -> None:
    """A sheet made with the frame at hand has the same bytes as one made without."""
    assert svg_bytes(belt_layout_sheet(job(name), 1)) == svg_bytes(sheets(name)[0])


@pytest.mark.parametrize("name", JOBS)
def test_the_scale_is_round(name: str) -> None:
    """The ratio of bench to page is one a drawing office would take, and the words say it."""
    ratio = frame(name).ratio
    assert ratio in ROUND_RATIOS
    assert sheets(name)[0].scale == 1 / ratio
    assert f"scale 1:{ratio:g}." in said(sheets(name)[0])


@pytest.mark.parametrize("name", JOBS)
def test_mounts_stand_at_both_ends_of_travel(name: str) -> None:
    """Dashed shafts stand as far from their belt's other shaft as the belt-on and the worn-out centre distance."""
    made = job(name)
    moving = [stage for stage in made.design.machine.stages if stage.centres.travel_mm]
    for sheet in sheets(name):
        dashed = circles(sheet, "travel")
        assert len(dashed) == 2 * len(moving)
        for stage, ends in zip(moving, zip(dashed[::2], dashed[1::2], strict=True), strict=True):
            wanted = (stage.centres.belt_on_mm, stage.centres.worn_out_mm)
            number = made.design.machine.stages.index(stage)
            centres = [arc.centre for arc in belts(sheet)[number][1]]
            for end, centre in zip(ends, wanted, strict=True):
                apart = [dist(end.centre, centre) / sheet.scale for centre in centres]
                assert any(found == pytest.approx(centre, abs=1e-6) for found in apart)


def test_stated_places_are_kept() -> None:
    """The tool grinder's hinge is stated at (-330, -300), its spindle at (0, 0): 446 mm apart on the bench."""
    for sheet in sheets("tool-grinder"):
        (hinge, _) = circles(sheet, "hinges")
        spindle = circles(sheet, "shafts")[-1]
        apart = (hinge.centre[0] - spindle.centre[0]) / sheet.scale, (hinge.centre[1] - spindle.centre[1]) / sheet.scale
        assert apart == pytest.approx((-330, -300), abs=1e-9)
        assert "places not stated" not in said(sheet)


def test_a_hinge_keeps_its_arm() -> None:
    """The bench shaper's motor hangs 8 in and 1 in from its hinge: 8.062 in at every speed, at both ends of travel."""
    arm = hypot(8, 1) * 25.4
    for sheet in sheets("bench-shaper"):
        hinge = circles(sheet, "hinges")[0]
        motor = circles(sheet, "shafts")[0]
        for moved in (motor, *circles(sheet, "travel")[:2]):
            assert dist(hinge.centre, moved.centre) / sheet.scale == pytest.approx(arm, abs=1e-6)


def test_places_that_nobody_states_are_made_up_and_said_so() -> None:
    """Shafts without places stand side by side at one height, motor on the left, and the sheet says it."""
    for sheet in sheets("pattern-mill"):
        centres = [shaft.centre for shaft in circles(sheet, "shafts")]
        assert len({y for _, y in centres}) == 1
        assert centres == sorted(centres)
        assert "places not stated: drawn along a line" in said(sheet)


def test_a_missing_hinge_is_told() -> None:
    """Where all shafts have places but a hinge has none, they are drawn along a line, with what is missing."""
    text = job("geared").scenario.text.replace("hinge = { at = [-120, 40] }", "")
    words = said(belt_layout_sheet(job_from(text), 1))
    assert (
        "places not known (motor: the place of the hinge of motor is not stated (hinge.at)): drawn along a line"
        in words
    )


def _turns(entities: tuple[Entity, ...]) -> list[str]:
    """Return which way arrows point: anticlockwise, the head stands at the left end of the arc over the shaft."""
    arcs = [entity for entity in entities if isinstance(entity, Arc)]
    tips: list[Point] = [entity.points[0] for entity in entities if isinstance(entity, Area)]
    return ["anticlockwise" if tip[0] < arc.centre[0] else "clockwise" for arc, tip in zip(arcs, tips, strict=True)]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("pattern-mill", ["anticlockwise"] * 3),
        ("grindstone", ["anticlockwise", "clockwise"]),
        ("geared", ["clockwise", "clockwise", "anticlockwise"]),
    ],
)
def test_arrows_tell_the_direction_of_run(name: str, expected: list[str]) -> None:
    """An open belt keeps the direction, a crossed one and reversing gears turn it round."""
    sheet = sheets(name)[0]
    assert _turns(sheet.on("turning")) == expected
    assert expected[-1] == job(name).design.machine.turns


def test_gears_are_circles_in_touch() -> None:
    """Gears of ratio 0.6 on shafts 80 mm apart have radii 30 and 50 mm: 0.6 turns of the large one a turn."""
    one, other = circles(sheets("geared")[0], "fixed ratios")
    radii = [circle.radius_mm * frame("geared").ratio for circle in (one, other)]
    assert radii == pytest.approx([30, 50])
    assert dist(one.centre, other.centre) == pytest.approx(one.radius_mm + other.radius_mm)


def test_a_gearbox_is_a_link() -> None:
    """A fixed ratio that keeps the direction is a dashed line between its shafts, named with its ratio."""
    sheet = sheets("drum-sander")[0]
    (link,) = sheet.on("fixed ratios")
    assert isinstance(link, Line)
    assert "fixed ratio 0.25" in said(sheet)


def test_all_rims_are_drawn() -> None:
    """Every step of every cone is a thin circle: 2 + 2 and 3 + 3 for two positions and three."""
    radii = sorted(
        circle.radius_mm / sheets("pattern-mill")[0].scale for circle in circles(sheets("pattern-mill")[0], "rims")
    )
    steps = [
        step.outside_mm / 2
        for stage in job("pattern-mill").design.machine.stages
        for position in stage.positions
        for step in (position.driver, position.driven)
    ]
    assert radii == pytest.approx(sorted(steps))
    assert len(radii) == 10


def test_obstacles_are_cut_off_at_what_is_drawn() -> None:
    """A bed of six metres does not shrink the drawing; what is far away is only named; what rides moves along."""
    sheet = sheets("geared")[0]
    (bed,) = (entity for entity in sheet.on("obstacles") if isinstance(entity, Area))
    height = max(y for _, y in bed.points) - min(y for _, y in bed.points)
    assert height / sheet.scale == pytest.approx(80)
    assert "wall far away, beyond the drawing" in said(sheet)
    places = [(circles(s, "obstacles")[0].centre, circles(s, "shafts")[0].centre) for s in sheets("geared")]
    (one, motor), (other, moved) = places
    assert dist(one, motor) == pytest.approx(dist(other, moved), abs=1e-9)
    assert dist(one, other) > 0


@pytest.mark.parametrize("number", [0, 5, -1])
def test_a_speed_that_is_not_there_is_refused(number: int) -> None:
    """The bench drill has speeds 1 to 4."""
    with pytest.raises(ValueError, match=f"there is no speed {number}: the machine has 1 to 4"):
        belt_layout_sheet(job("bench-drill"), number)


def test_a_page_that_is_too_narrow_is_refused() -> None:
    """Labels need their room."""
    with pytest.raises(ValueError, match="needs a page 128 mm wide, not 100"):
        belt_layout_frame(job("bench-drill"), 100.0)
