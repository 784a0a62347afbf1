"""What is drawn of a machine whose middle cone carries both belts, and of one with a cone for each."""

from __future__ import annotations

from optimizer.drawing.belt_layout import belt_layout_sheet
from optimizer.drawing.cone_section import cone_section_sheet
from optimizer.drawing.cone_words import step_rows
from optimizer.drawing.inspection_card import cone_checks, size_checks
from optimizer.drawing.sheet import Circle
from optimizer.drawing.speed_axis import speed_label
from optimizer.drawing.speed_plate import picture_line, plate_rows
from tests.cones import cone_of, texts_of
from tests.jobs import job


def test_the_section_names_the_positions_of_both_belts() -> None:
    """Step 2 of four is position 2 of the first belt and 3 of the second; a cone of one belt names its own."""
    drawn = texts_of(cone_section_sheet(*cone_of("middle cone", 1, "driven")))
    assert [text.partition(":")[0] for text in drawn if text.startswith("position 2 of")] == [
        "position 2 of belt 1, 3 of belt 2"
    ]
    assert {"position of belt 1", "position of belt 2", "faces outside, belt 1", "faces outside, belt 2"} <= set(drawn)
    last = texts_of(cone_section_sheet(*cone_of("middle cone", 2, "driven")))
    assert [text.partition(":")[0] for text in last if text.startswith("position 2")] == ["position 2"]
    assert "faces outside" in last and "position of belt 1" not in last


def test_what_a_step_faces_stands_below_it() -> None:
    """The third cone's first step faces the middle's last; the middle's first the motor's first, the third's last."""
    first, second = job("middle cone").design.machine.stages
    middle, last = (
        {name: cells for name, *cells in step_rows(*cone_of("middle cone", stage, "driven"))} for stage in (1, 2)
    )
    assert middle["faces outside, belt 1"] == [f"⌀{p.driver.outside_mm:.2f}" for p in first.positions]
    assert middle["faces outside, belt 2"] == [f"⌀{p.driven.outside_mm:.2f}" for p in second.positions[::-1]]
    assert last["faces outside"] == [f"⌀{p.driven.outside_mm:.2f}" for p in first.positions[::-1]]


def test_the_plate_shows_its_own_speeds_alone() -> None:
    """A row for every speed on the plate, with where either belt lies; one that is not on it has none."""
    machine = job("middle cone").design.machine
    shown = [speed for speed in machine.speeds if speed.on_plate]
    assert 1 < len(shown) < len(machine.speeds)
    assert [(row.rpm, row.positions) for row in plate_rows(job("middle cone"))] == [
        (speed_label(speed.rpm), speed.positions) for speed in shown
    ]


def test_the_plate_says_that_the_middle_cone_is_one() -> None:
    """With two cones on the middle shaft there is nothing to say."""
    assert "The cone on middle is one for both belts" in picture_line(job("middle cone"))
    assert "middle" not in picture_line(job("two middle cones"))


def test_rims_are_drawn_once() -> None:
    """Three cones of four steps have twelve rims; both belts lie on a step of either of their cones."""
    sheet = belt_layout_sheet(job("middle cone"), 1)
    assert len([entity for entity in sheet.on("rims") if isinstance(entity, Circle)]) == 12
    assert len([entity for entity in sheet.on("steps") if isinstance(entity, Circle)]) == 4
    assert "position 1 of 4 on step 4 of the cone of stage 1" in sheet.said


def test_the_card_has_the_middle_cone_once() -> None:
    """It is driven and drives; with two cones one does either. Sizes that were not turned here have no line."""
    told = [*cone_checks(job("middle cone")), *size_checks(job("middle cone"))]
    assert [line.partition(":")[0] for line in told] == 2 * [
        "Turned cone on middle, driven and driving",
        "Turned cone on spindle, driven",
    ]
    apart = [line.partition(":")[0] for line in cone_checks(job("two middle cones"))]
    assert apart == ["Turned cone on middle, driven", "Turned cone on spindle, driven"]
