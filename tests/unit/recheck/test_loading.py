"""Files of measurements: what is read, and every fault with its place."""

from __future__ import annotations

import datetime

import pytest

from optimizer.errors import ScenarioError
from optimizer.recheck.loading import is_blank, load_measured
from optimizer.recheck.readings import Measurements
from tests.unit.recheck.forms import as_designed, csv_form, filled, grinder, toml_form

STEP = '[[check]]\ndate = 2026-11-26\nstep = [{{ stage = 1, side = "driver", position = 1, {} }}]\n'


def read(text: str, name: str = "measured.toml") -> Measurements:
    """Return a file of the grinder's measurements."""
    return load_measured(text, name, grinder().design.machine, "mm")


def faults(text: str, name: str = "measured.toml") -> list[str]:
    """Return what is wrong with a file."""
    with pytest.raises(ScenarioError) as error:
        read(text, name)
    return [str(fault) for fault in error.value.faults]


def test_the_form_is_blank_and_is_refused_as_such() -> None:
    """Both forms can be read, hold nothing, may be replaced; reading one says that nothing is filled in."""
    for form, name in ((toml_form(grinder()), "measured.toml"), (csv_form(grinder()), "measured.csv")):
        assert is_blank(form, name)
        assert faults(form, name) == [
            f"{name}: nothing that was measured stands in it; "
            "try: fill in at least one size, centre distance or speed, with the date"
        ]


def test_a_form_with_a_single_word_in_it_is_not_blank() -> None:
    """A size, a note, or text that cannot be read at all keeps the form from being replaced."""
    form = toml_form(grinder())
    assert not is_blank(filled(form, {(1, "driver", 1): 100.0}), "measured.toml")
    assert not is_blank(form.replace('note = ""', 'note = "ash, oiled"'), "measured.toml")
    assert not is_blank(form + "scribble", "measured.toml")
    assert not is_blank(csv_form(grinder()).replace(",step,1,driver,1", "26.11.2026,step,1,driver,1,,100", 1), "a.csv")


def test_a_filled_form_is_read() -> None:
    """Every size over pins arrives with its step, dated."""
    sizes = as_designed(grinder())
    (check,) = read(filled(toml_form(grinder()), sizes)).checks
    assert check.date == datetime.date(2026, 11, 26)
    assert {(s.stage, s.side, s.position): s.over_pins_mm for s in check.step} == sizes


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_tables_as_spreadsheets_save_them(ends: str, mark: str, separator: str) -> None:
    """Separator, line ends, byte order mark do not matter; a decimal comma is read where commas part no cells."""
    decimal = "." if separator == "," else ","
    rows = [
        "Date,what,Stage,side,position,Over Pins,pin",
        f"26.11.2026,step,1,Driver,2,112{decimal}5,",
        ",step,1.0,driven,3,182,12",
    ]
    text = mark + ends.join(row.replace(",", separator) if decimal == "." else _parted(row, separator) for row in rows)
    (check,) = read(text + ends, "measured.csv").checks
    assert check.date == datetime.date(2026, 11, 26)
    found = [(s.side, s.position, s.over_pins_mm, s.pin_mm) for s in check.step]
    assert found == [("driver", 2, 112.5, None), ("driven", 3, 182.0, 12.0)]


def _parted(row: str, separator: str) -> str:
    """Return a row parted by another character, its decimal comma left."""
    return row.replace("112,5", "112#5").replace(",", separator).replace("#", ",")


def test_the_filled_table_says_what_the_filled_form_says() -> None:
    """TOML and CSV with the same sizes are the same measurements."""
    sizes = as_designed(grinder())
    lines = csv_form(grinder()).splitlines()
    for number, line in enumerate(lines):
        cells = line.split(",")
        if len(cells) > 4 and cells[1] == "step":
            head, _, tail = line.rpartition('"')
            size = sizes[(int(cells[2]), cells[3], int(cells[4]))]
            lines[number] = f'2026-11-26{head}",{size:.10g}{tail[1:]}'
    table = read("\n".join(lines), "measured.csv").checks[0]
    form = read(filled(toml_form(grinder()), sizes)).checks[0]
    assert [s.over_pins_mm for s in table.step] == [s.over_pins_mm for s in form.step]
    assert (table.date, len(table.speed), len(table.centre)) == (form.date, len(form.speed), len(form.centre))


def test_units_are_the_scenarios_a_text_has_its_own() -> None:
    """A bare number is in the units of the scenario or of the file; inches with a fraction are read anywhere."""
    one = STEP.format('over_pins = "3 3/4 in"')
    assert read(one).checks[0].step[0].over_pins_mm == pytest.approx(95.25)
    assert read('units = "in"\n' + STEP.format("over_pins = 3.75")).checks[0].step[0].over_pins_mm == pytest.approx(
        95.25
    )


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ("over_pns = 100", "check[0].step[0].over_pns: there is no such key; got 100;"),
        ("over_pins = nan", "check[0].step[0].over_pins: a length must be finite"),
        ("over_pins = -3", "check[0].step[0].over_pins: a length cannot be negative"),
        ('over_pins = "117,5 mm"', "check[0].step[0].over_pins: a comma is not read in numbers"),
        ("belt_top = -1", "check[0].step[0].belt_top: how far the belt stands from the rim tells nothing without"),
        ("pin = 12", "check[0].step[0].pin: pins are stated without the size over them"),
        ("over_pins = 12, pin = 100", "check[0].step[0].over_pins: the size over the pins is no larger than the two"),
        ("tape_thickness = 0.2", "check[0].step[0].tape_thickness: the tape's thickness is stated without its length"),
        ("turned = false, outside = 100", "check[0].step[0].turned: a step that is to be made anew has no size yet"),
        ("over_pins = 4.5", "check[0].step[0]: by over pins this step runs at"),
        ("over_pins = 110, pin = 25", "check[0].step[0].pin: pins of this size do not lie on the flanks"),
        ("outside = 30", "check[0].step[0].outside: this is not the diameter of this step; got 30 mm"),
    ],
)
def test_what_is_wrong_with_a_step(stated: str, said: str) -> None:
    """Every fault has its place, what was got, what to try."""
    found = faults(STEP.format(stated))
    assert any(fault.startswith(said) for fault in found), found


def test_steps_that_the_machine_has_not() -> None:
    """Stages and positions are held to the design, all faults at once."""
    text = """[[check]]
step = [
  { stage = 2, side = "driver", position = 1, outside = 100 },
  { stage = 1, side = "driver", position = 5, outside = 100 },
]
centre = [{ stage = 1, position = 9, centre = 300 }]
speed = [{ positions = [1, 1], speed = 700 }, { positions = [1], speed = 700, shaft = "nail" }]
"""
    found = faults("[[check]]\ndate = 2026-11-26\n" + text.split("\n", 1)[1])
    assert [fault.split(";")[0] for fault in found] == [
        "check[0].centre[0].position: this is too large",
    ]
    found = faults("[[check]]\ndate = 2026-11-26\n" + text.split("\n", 1)[1].replace("position = 9", "position = 6"))
    assert [fault.split(";")[0] for fault in found] == [
        "check[0].step[0].stage: the machine has no such belt stage",
        "check[0].step[1].position: stage 1 has no such position",
        "check[0].centre[0].position: stage 1 has no such position",
        "check[0].speed[0].positions: the machine has no such positions",
        "check[0].speed[1].shaft: no such shaft is driven",
    ]
    assert faults(text)[0].startswith("check[0].centre[0].position")


def test_readings_without_a_day_are_refused() -> None:
    """Dates tell which reading is the newest."""
    text = STEP.format("over_pins = 100").replace("date = 2026-11-26\n", "")
    assert faults(text) == ["check[0].date: these readings have no day; try: write year, month, day, as in 2026-11-26"]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("what,stage\nstep,1", "row 1: there is no column of dates"),
        ("date,what,size\n1.1.2026,step,9", 'row 1: there is no such column; got "size"'),
        ("date,what,stage,stage\n1.1.2026,step,9,9", 'row 1: this column stands there twice; got "stage"'),
        ("date,what,stage\n1.1.2026,stap,9", 'row 2, what: this is none of the words allowed here; got "stap"'),
        ("date;stage;side;position;over pins\n11/12/2026;1;driver;1;100", "row 2, date: day and month cannot be told"),
        ("date;stage;side;position;over pins\n26.11.2026;1;driver;x;100", "row 2, position: this must be a whole"),
        ("date;what;positions;speed\n26.11.2026;speed;1;1,420", "row 2, speed: a comma that may be a decimal one or"),
        ("date,side,over pins\n26.11.2026,driver,117,5", "row 2: there are more cells than headings"),
        ("date,side,centre\n26.11.2026,driver,117", "row 2, centre: a step has no such column"),
        ('date,note\n"26.11.2026,x', "table: this is no table"),
    ],
)
def test_what_is_wrong_with_a_table(rows: str, said: str) -> None:
    """Faults of a table name row and column."""
    found = faults(rows, "measured.csv")
    assert any(fault.startswith(said) for fault in found), found


def test_hostile_text_is_no_crash() -> None:
    """Control characters, huge numbers, deep lists, binary zeros: a fault each, never anything else."""
    texts = [
        'note = "\\u0000"',
        "x = " + "[" * 5000 + "]" * 5000,
        "date = 2026-13-45",
        "check = 3",
        "[check]",
        "\0",
        "a" * 10**5,
    ]
    for text in (*texts, f"[[check]]\nresolution = {'9' * 400}", "[[check]]\nstep = [[1]]", "[[check]]\ndate = 1979"):
        assert faults(text)
        assert faults(text, "measured.csv")
