"""What tables, screens and forms tell of speeds that are free, and of a driver that is the cone of the stage before."""

from __future__ import annotations

import csv
import io
import tomllib

from optimizer.documents.chart_text import chart_text
from optimizer.documents.cut_list import cut_sections, cuts_csv
from optimizer.documents.data import design_json
from optimizer.documents.design import design_paper, design_screen
from optimizer.documents.design_sheet import speed_chart_of
from optimizer.documents.figures import length, rpm
from optimizer.documents.recheck_form import measured_csv, measured_toml
from optimizer.documents.speeds import plate_lines, speed_table
from optimizer.documents.stages import line_table, position_table, setting_lines, shared_words
from optimizer.documents.terminal import WIDTH
from optimizer.documents.tolerance import error_table, tolerance_notes
from optimizer.records.design import Design
from optimizer.records.settings import SharedSheet
from optimizer.records.sheet import OtherWay, SpeedSheet
from optimizer.records.switching import other_ways
from tests.jobs import job
from tests.unit.documents.listed import listed


def middle() -> Design:
    """Return the machine with one middle cone for both belts."""
    return job("middle cone").design


def apart() -> Design:
    """Return the one with a cone for each."""
    return job("two middle cones").design


def series() -> Design:
    """Return a machine whose speeds make a series."""
    return job("grindstone").design


def on_plate(*, there: bool) -> list[SpeedSheet]:
    """Return the speeds that stand on the plate of the first, or those that do not."""
    return [speed for speed in middle().machine.speeds if speed.on_plate is there]


def column(table: tuple[tuple[str, ...], tuple[tuple[str, ...], ...]], head: str) -> list[str]:
    """Return a column of a table."""
    heads, rows = table
    return [row[heads.index(head)] for row in rows]


def test_the_table_of_speeds_marks_those_on_the_plate() -> None:
    """Every speed has a row; of a series, all of which is on the plate, nothing is marked."""
    table = speed_table(middle().machine)
    assert column((table.heads, table.rows), "plate") == ["yes" if s.on_plate else "" for s in middle().machine.speeds]
    assert "plate" not in speed_table(series().machine).heads
    assert plate_lines(middle().machine) == (
        "Not on the plate, as they would make the speeds there less even: "
        f"{', '.join(rpm(speed.rpm) for speed in on_plate(there=False))} rpm.",
    )
    assert plate_lines(series().machine) == ()


def test_a_way_that_makes_nearly_a_speed_is_not_said_to_make_it() -> None:
    """616.8 rpm are nearly 607.0; 606.98 rpm read the same."""
    speed = middle().machine.speeds[1].model_copy(update={"number": 2, "rpm": 607.0})
    for other, said in (
        (616.8, "Speed 2 nearly so also by belt 1 on position 2, belt 2 on position 1, 616.8 rpm."),
        (606.98, "Speed 2 also by belt 1 on position 2, belt 2 on position 1, 607.0 rpm."),
    ):
        way = OtherWay(rpm=other, positions=(2, 1))
        machine = middle().machine.model_copy(update={"speeds": (speed.model_copy(update={"others": (way,)}),)})
        assert list(other_ways(machine)) == [said]


def test_positions_of_the_second_belt_tell_the_step_of_the_middle_cone() -> None:
    """Position 1 of four lies on step 4, where that stage has position 4; the cone's sizes stand with the first."""
    first, second = middle().machine.stages
    table = position_table(second, "mm")
    assert column((table.heads, table.rows), "on step") == ["4", "3", "2", "1"]
    assert column((table.heads, table.rows), "driver mm") == [
        length(p.driven.outside_mm, "mm") for p in first.positions[::-1]
    ]
    assert "on step" not in position_table(first, "mm").heads
    lines = [column((t.heads, t.rows), "cone") for t in (line_table(first, "mm"), line_table(second, "mm"))]
    assert lines == [4 * ["driver on motor"] + 4 * ["driven on middle"], 4 * ["driven on spindle"]]
    assert shared_words(1, first) == ()
    assert "position 1 lies on step 4 of it" in shared_words(2, second)[0]
    assert all("on step" not in position_table(stage, "mm").heads for stage in apart().machine.stages)


def test_no_word_of_a_series_is_said_of_free_speeds() -> None:
    """No stage is first, there are no ranges, nothing is judged by J; every line keeps to the terminal's width."""
    for design in (middle(), apart()):
        for text in (design_screen(design), design_paper(design)):
            for word in ("stage first", "coarse", "fine stage", "interleaved", "ranges", "ratio of the series", " J "):
                assert word not in text, word
        assert max(map(len, design_screen(design).splitlines())) <= WIDTH


def test_screen_and_paper_tell_other_ways_and_what_is_not_on_the_plate() -> None:
    """Both, with how many speeds are on the plate."""
    for text in (design_screen(middle()), design_paper(middle())):
        told = " ".join(text.split())
        assert f"{len(middle().machine.speeds)} speeds, {len(on_plate(there=True))} of them on the plate" in told
        assert plate_lines(middle().machine)[0] in told
        assert all(line in told for line in other_ways(middle().machine))
        assert "Its driver is the driven cone of stage 1" in told


def test_the_chart_tells_the_plate_apart() -> None:
    """Two lines, which together have every speed once; where all are on the plate there is one line."""
    chart = speed_chart_of(job("middle cone"))
    assert [(line.label, line.speeds_rpm) for line in chart.lines] == [
        ("4x4, on the plate", tuple(speed.rpm for speed in on_plate(there=True))),
        ("4x4, not on the plate", tuple(speed.rpm for speed in on_plate(there=False))),
    ]
    drawn = chart_text(chart)
    assert "4x4, not on the plate" in drawn and max(map(len, drawn.splitlines())) <= WIDTH
    assert [line.label for line in speed_chart_of(job("grindstone")).lines] == [series().layout.name]


def test_errors_of_turning_are_told_of_every_speed() -> None:
    """The numbers are those of the table of all speeds; evenness is asked of those on the plate alone."""
    sheet, other = middle().tolerance, series().tolerance
    assert sheet is not None and other is not None
    every = [(str(s.number), rpm(s.rpm)) for s in middle().machine.speeds]
    assert [row[:2] for row in error_table(sheet).rows] == every
    even = sheet.model_copy(update={"unevenness_most": 0.02})
    assert "unevenness of those on the plate at most 2.00 %" in next(tolerance_notes(even, middle().machine))
    assert "of those on the plate" not in next(tolerance_notes(other, series().machine))
    assert {size.key for size in sheet.sizes} == {"stage[0].driven", "stage[1].driven"}


def test_the_cut_list_has_the_cone_once() -> None:
    """Three tables of steps, of which the middle one tells the positions of both belts and what they face."""
    made = job("middle cone")
    titles = [title for title, _, _ in listed(cut_sections(made)) if title.endswith("steps")]
    assert titles == [
        "Stage 1, driver on motor: steps",
        "Stage 1, driven, and stage 2, driver, on middle: steps",
        "Stage 2, driven on spindle: steps",
    ]
    table = next(table for title, table, _ in listed(cut_sections(made)) if title == titles[1])
    assert column((table.heads, table.rows), "position of belt 2") == ["4", "3", "2", "1"]
    faces = column((table.heads, table.rows), "faces")
    assert [[part.partition(",")[0] for part in cell.split("; ")] for cell in faces] == [
        [f"step {number} on motor", f"step {5 - number} on spindle"] for number in range(1, 5)
    ]
    rows = list(csv.DictReader(io.StringIO(cuts_csv(made))))
    assert len(rows) == 12
    assert {row["cone"] for row in rows} == {
        "motor, driving middle",
        "middle, driven by motor, driving spindle",
        "spindle, driven by middle",
    }
    assert rows[4]["facing_step"] == "step 1 on motor; step 4 on spindle"
    assert rows[8]["facing_step"] == "step 4 on middle"


def test_the_cone_is_measured_once() -> None:
    """Both forms have every step of three cones once, the middle's as the driven of stage 1, and every speed."""
    form = tomllib.loads(measured_toml(middle()))["check"][0]
    there = [(step["stage"], step["side"], step["position"]) for step in form["step"]]
    assert there == [
        (number, side, position)
        for number, side in ((1, "driver"), (1, "driven"), (2, "driven"))
        for position in range(1, 5)
    ]
    assert [tuple(speed["positions"]) for speed in form["speed"]] == [s.positions for s in middle().machine.speeds]
    rows = [row for row in csv.DictReader(io.StringIO(measured_csv(middle()))) if row["what"] == "step"]
    assert [(int(row["stage"]), row["side"], int(row["position"])) for row in rows] == there
    told = measured_toml(middle())
    assert told.count("rpm on the plate") == len(on_plate(there=True)) and told.count("rpm, not on the plate") == len(
        on_plate(there=False)
    )
    assert len(tomllib.loads(measured_toml(apart()))["check"][0]["step"]) == 10


def test_the_document_has_every_speed() -> None:
    """The JSON document is that of all speeds, on the plate or not."""
    assert design_json(middle()).count('"on_plate": false') == len(on_plate(there=False))


def test_two_positions_on_one_step_are_not_said_to_run_together() -> None:
    """Where one movement sets both belts of a shared cone, its steps are never taken twice."""
    sheet = SharedSheet(
        shaft="middle",
        kind="slide",
        way="along its direction",
        stages=("stage[0]", "stage[1]"),
        belt_on_mm=-5,
        running_mm=(0, 2),
        worn_out_mm=9,
        common_mm=0.25,
    )
    for design, two in ((middle(), "any two positions on different steps of the cone"), (apart(), "any two positions")):
        (line,) = setting_lines(design.machine.model_copy(update={"shared": (sheet,)}), "mm")
        assert f"; {two} run together over 0.25 mm of it" in line
