"""What papers and screens say of room and work, word for word."""

from __future__ import annotations

import json

import jsonschema
import pytest

from optimizer.documents.around import around_sections, around_words
from optimizer.documents.data import speeds_json, speeds_schema
from optimizer.documents.design import design_screen, speeds_screen
from optimizer.documents.work_size import told_words, work_column, work_section, work_table
from optimizer.pipeline.known import tell_known
from optimizer.quantities import SurfaceUnit
from optimizer.records.around import AroundSheet, GapSheet, ReachSheet
from optimizer.records.design import Design
from optimizer.records.known import KnownMachine
from optimizer.records.work_size import SurfaceSheet, WorkSheet, WorkSizeSheet
from optimizer.scenario import load_scenario
from optimizer.scenario.surfaces import Of
from tests.machines import OLD_SAW
from tests.unit.documents.listed import on_paper

NEAR = GapSheet(one="belt of stage 1", other="rail", gap_mm=2.8, placed=True, state="stage 1 at position 2 worn out")
OVER = GapSheet(
    one="driver of stage 1",
    other="driven of stage 2",
    gap_mm=-12.7,
    placed=False,
    state="stage 1 at position 1, stage 2 at position 1",
)


def around(*gaps: GapSheet, unknown: tuple[str, ...] = ()) -> AroundSheet:
    """Return a sheet with these gaps."""
    reach = ReachSheet(shaft="motor", x_mm=(0.0, 0.0), y_mm=(-25.4, 0.0))
    return AroundSheet(least_gap_mm=5.08, shafts=(reach,), unknown=unknown, gaps=gaps)


def work(
    number: int = 1,
    band: str = "",
    suited: tuple[float, float] | None = (101.6, 152.4),
    unit: SurfaceUnit = "m/s",
    of: Of = "work",
    told: bool = False,
) -> WorkSheet:
    """Return what is told of one speed."""
    speed = {"m/s": 10.16, "m/min": 609.6, "ft/min": 2000.0, "ft/s": 100 / 3}[unit]
    return WorkSheet(
        number=number,
        rpm=1500.0,
        band=band,
        rule="wood turning" if suited else None,
        wanted_m_s=(7.98, 11.97) if suited else None,
        source="6000 to 9000 rpm times inches, common practice, no source" if suited else "",
        suited_mm=suited,
        surfaces=() if suited else (SurfaceSheet(diameter_mm=150.0, speed_m_s=10.16, speed=speed, unit=unit),),
        of=of,
        unit=unit,
        told=told,
    )


def sizes(*rows: WorkSheet, largest: float | None = None) -> WorkSizeSheet:
    """Return a sheet with these rows."""
    return WorkSizeSheet(largest_mm=largest, work=rows, cautions=("Hold it fast.",))


@pytest.mark.parametrize(
    ("sheet", "units", "said"),
    [
        pytest.param(
            around(NEAR),
            "mm",
            "Room around: least gap 2.80 mm, belt of stage 1 to rail, with stage 1 at position 2 worn out; 5.08 mm are "
            "to be kept",
            id="near",
        ),
        pytest.param(
            around(OVER, NEAR, unknown=("spindle",)),
            "in",
            "Room around: least gap -0.500 in (they overlap), driver of stage 1 to driven of stage 2, if both lie side "
            "by side along the shafts, which is not stated, with stage 1 at position 1, stage 2 at position 1; 0.200 "
            "in are to be kept; not looked at, as its place is not known: spindle",
            id="overlapping, if side by side",
        ),
        pytest.param(
            around(), "mm", "Room around: nothing that would have to keep clear of each other", id="nothing near"
        ),
    ],
)
def test_the_nearest_two_are_told(sheet: AroundSheet, units: str, said: str) -> None:
    """The sentence names both, the gap in the maker's units, where it is, what is not known."""
    assert around_words(sheet, "in" if units == "in" else "mm") == said


def test_the_sheet_tells_places_and_gaps() -> None:
    """Both tables stand in the section, a place that does not move as one figure."""
    text = on_paper(*around_sections(around(NEAR), "in"))
    assert text.startswith("# Title\n\n## Room around\n\nSeen from the motor's pulley end, x to the right, y up")
    assert "| motor | 0.000 | -1.000 to 0.000 |" in text
    assert "| belt of stage 1 | rail | 0.110 | by their places | stage 1 at position 2 worn out |" in text


def test_the_column_of_the_speeds_says_what_suits() -> None:
    """A span, cut off at the machine's largest; the band's name where one speed is in two; else the surface speed."""
    assert work_column(sizes(work()), "in") == ("work in", {1: "4 to 6"})
    assert work_column(sizes(work(), largest=120.0), "mm")[1] == {1: "102 to 120"}
    assert work_column(sizes(work(), largest=100.0), "mm")[1] == {1: "all up to 100"}
    two = sizes(work(band="oak"), work(band="brass turning tools", suited=(50.0, 50.0)))
    assert work_column(two, "mm")[1] == {1: "oak 102 to 152; brass turning… 50"}
    assert work_column(sizes(work(band="oak"), work(band="ash")), "mm")[1] == {1: "102 to 152"}
    assert work_column(sizes(work(suited=None, unit="ft/min")), "in")[1] == {1: "5.91 at 2000 ft/min"}


def test_the_column_says_what_runs_so_fast_where_one_thing_does() -> None:
    """150 mm at 10.16 m/s, which is 609.6 m/min: one blade makes a column of figures, two kinds are named in each."""
    blade = work(suited=None, unit="m/min", of="blade", told=True)
    assert work_column(sizes(blade), "mm") == ("blade m/min", {1: "610"})
    assert work_column(sizes(blade), "in") == ("blade m/min", {1: "610"})
    wheel = work(number=2, suited=None, unit="m/s", of="wheel", told=True)
    assert work_column(sizes(blade, wheel), "mm") == ("work mm", {1: "blade 610 m/min", 2: "wheel 10.2 m/s"})
    assert told_words(sizes(blade, wheel), 2) == "wheel 10.2 m/s"
    assert told_words(sizes(work()), 1) == told_words(None, 1) == ""


def test_every_figure_of_work_stands_with_its_source() -> None:
    """The table of the sheet has the rule's source in every row, and the caution stands above it."""
    row = work_table(sizes(work(band="oak")), "mm").rows[0]
    assert row == (
        "1",
        "1500.0",
        "oak",
        "102 to 152",
        "7.98 to 12 m/s",
        "",
        "6000 to 9000 rpm times inches, common practice, no source",
    )


@pytest.fixture(scope="module")
def told() -> KnownMachine:
    """Return the old saw as a wood turner's, with places, and a rail."""
    text = OLD_SAW.replace('name = "motor"', 'name = "motor"\nat = [0, 0]', 1)
    more = '\n[[shaft]]\nname = "spindle"\nat = [0, 360]\n\n[[obstacle]]\nname = "rail"\n'
    more += "box = { from = [150, 0], to = [170, 400] }\n\n[work]\nwood_turning = true\n"
    assert text != OLD_SAW
    return tell_known(load_scenario(text + more, "saw.toml"))


def test_a_known_machine_tells_all_of_it(told: KnownMachine) -> None:
    """Screen and document have room and work; the caution stands below the speeds; no line is too long."""
    lines = speeds_screen(told).splitlines()
    assert all(len(line) <= 80 for line in lines)
    heading = lines.index("Speeds")
    assert lines[heading + 1].split() == ["speed", "rpm", "position", "step", "up", "work", "mm"]
    assert any(
        line.startswith("Work: Rough, glued-up, cracked or unbalanced work starts at the slowest") for line in lines
    )
    assert any(line.startswith("Room around: least gap ") for line in lines)
    jsonschema.validate(json.loads(speeds_json(told)), speeds_schema(), jsonschema.Draft202012Validator)
    assert told.work_size is not None
    assert "common practice, no source" in on_paper(work_section(told.work_size, told.machine, "mm"))


def test_sizes_of_work_that_leave_no_room_get_a_table_of_their_own(mixer: Design) -> None:
    """With a countershaft and bands no column fits beside them within 80 columns."""
    rows = tuple(
        work(number=speed.number, band=band, suited=suited)
        for speed in mixer.machine.speeds
        for band, suited in (("thick slip of red clay", (101.6, 152.4)), ("glaze", (50.8, 76.2)))
    )
    lines = design_screen(mixer.model_copy(update={"work_size": sizes(*rows)})).splitlines()
    assert all(len(line) <= 80 for line in lines)
    start = lines.index("Work by speed")
    assert lines[start + 1].split() == ["speed", "rpm", "work", "in"]
    assert lines[start + 3].endswith("  thick slip of… 4 to 6; glaze 2 to 3")
    assert "Work: Hold it fast." in lines


def test_places_are_told_from_end_to_end(told: KnownMachine) -> None:
    """The saw's motor slides on the line of centres: it moves up and down below the spindle, which stays."""
    assert told.around is not None
    motor, spindle = told.around.shafts
    (stage,) = told.machine.stages
    assert (spindle.x_mm, spindle.y_mm) == ((0.0, 0.0), (360.0, 360.0))
    assert stage.centres.belt_on_mm is not None and stage.centres.worn_out_mm is not None
    assert motor.x_mm == (0.0, 0.0)
    assert motor.y_mm == pytest.approx((360 - stage.centres.worn_out_mm, 360 - stage.centres.belt_on_mm), abs=1e-5)
    assert told.around.gaps == tuple(sorted(told.around.gaps, key=lambda gap: gap.gap_mm))
