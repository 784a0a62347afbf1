"""Cut list and buying list as tables, comma-separated text, JSON."""

from __future__ import annotations

import csv
import json
from io import StringIO
from typing import Any

import pytest

from optimizer.cuts import cut_cones
from optimizer.cuts.work_order import work_order
from optimizer.documents.blocks import Table
from optimizer.documents.buying import buying_csv, buying_json, buying_schema, buying_sections
from optimizer.documents.cut_list import cut_sections, cuts_json, cuts_schema
from optimizer.documents.markdown import table_markdown
from tests.jobs import HOSTILE, JOBS, job
from tests.unit.cuts.hand_made import BEARINGS, mill
from tests.unit.documents.listed import listed

Titled = tuple[str, Table, tuple[str, ...]]


def _table(tables: list[Titled], title: str) -> Table:
    return next(table for name, table, _ in tables if name == title)


def _notes(tables: list[Titled], title: str) -> str:
    return " ".join(next(notes for name, _, notes in tables if name == title))


def _column(table: Table, head: str) -> list[str]:
    return [row[table.heads.index(head)] for row in table.rows]


def _csv(text: str) -> list[list[str]]:
    return list(csv.reader(StringIO(text)))


def test_tables_come_cone_by_cone_and_the_sheets_last() -> None:
    """Steps, layers where any are glued, order of work; the ready sheave has no layers."""
    titles = [title for title, _, _ in listed(cut_sections(mill()))]
    assert titles == [
        "Stage 1, driver on motor: steps",
        "Stage 1, driver on motor: order of work",
        *(f"Stage 1, driven on countershaft: {part}" for part in ("steps", "layers", "order of work")),
        *(f"Stage 2, driver on countershaft: {part}" for part in ("steps", "layers", "order of work")),
        *(f"Stage 2, driven on spindle: {part}" for part in ("steps", "layers", "order of work")),
        "Sheets to saw",
        "Squares on the sheets",
    ]


def test_steps_stand_with_every_size() -> None:
    """Datum 90, 150: rim 96.60, 156.60, pins 107.00, 167.00, root 24 mm below the rim, facing 186.60 and 126.60."""
    tables = listed(cut_sections(mill()))
    table = _table(tables, "Stage 2, driver on countershaft: steps")
    assert _column(table, "outside mm") == ["96.60", "156.60"]
    assert _column(table, "over pins mm") == ["107.00", "167.00"]
    assert _column(table, "root mm") == ["72.60", "132.60"]
    assert _column(table, "middle mm") == ["17.70", "53.10"]
    assert _column(table, "rim") == ["34°", "36°"]
    assert _column(table, "faces") == ["step 1 on spindle, 186.60 mm", "step 2 on spindle, 126.60 mm"]
    notes = _notes(tables, "Stage 2, driver on countershaft: steps")
    assert "Large end at step 2" in notes and "passed" in notes and "Width of all steps together 70.80 mm" in notes
    assert "Bore 35.00 mm" in notes and "Never key plywood alone" in notes


def test_columns_that_nothing_stands_in_are_left_out() -> None:
    """A flat rim has no groove to measure; steps that nobody states layers for have none, metal ones no mass."""
    flat = next(table for title, table, _ in listed(cut_sections(job("grindstone"))) if title.endswith("steps"))
    assert not {"over pins mm", "pin mm", "depth mm", "root mm", "layers"} & set(flat.heads)
    metal = next(table for title, table, _ in listed(cut_sections(job("bench-drill"))) if title.endswith("steps"))
    assert "mass kg" not in metal.heads


def test_layers_stand_with_nominal_mean_and_stated_thickness() -> None:
    """Nominal 18, mean 17.7 (EN 315, read), every second layer's grain across."""
    table = _table(listed(cut_sections(mill())), "Stage 2, driver on countershaft: layers")
    assert _column(table, "nominal mm") == ["18.00"] * 4
    assert _column(table, "mean mm") == _column(table, "thick mm") == ["17.70"] * 4
    assert _column(table, "round mm") == ["100.60", "100.60", "160.60", "160.60"]
    assert _column(table, "face grain")[:2] == ["along the first layer's", "across it"]


def test_inches_are_fractions_with_the_true_value_beside() -> None:
    """96.6 mm is 3.803 in, nearest 64th 3 51/64 (3.797)."""
    table = _table(listed(cut_sections(mill(units="in"))), "Stage 2, driver on countershaft: steps")
    assert _column(table, "outside in")[0] == '3 51/64" (3.803)'


def test_sheets_tell_their_waste() -> None:
    """Ten squares, two each of 220.6, 100.6, 160.6, 190.6, 130.6 mm, on 1525 x 1525 = 2 325 625 mm².

    Squares: 48 664.36 + 10 120.36 + 25 792.36 + 36 328.36 + 17 056.36 mm², twice 137 961.8 is 275 923.6: 88.1 % waste.
    """
    tables = listed(cut_sections(mill()))
    assert _column(_table(tables, "Sheets to saw"), "waste") == ["88.1 %"]
    squares = _table(tables, "Squares on the sheets")
    assert sorted(_column(squares, "side mm")) == sorted(
        2 * ["220.60", "100.60", "160.60", "190.60", "130.60"],
    )
    assert _column(squares, "square") == [str(number) for number in range(1, 11)]


def test_the_order_of_work_stands_as_it_was_written() -> None:
    """Every row is a step, in its order."""
    made = mill()
    cone = cut_cones(made)[2]
    table = _table(listed(cut_sections(made)), "Stage 2, driver on countershaft: order of work")
    assert [row[0] for row in table.rows] == [str(step.number) for step in work_order(cone, made)]
    assert _column(table, "measure") == [step.check for step in work_order(cone, made)]


def test_the_buying_list_has_a_table_for_each_kind() -> None:
    """Belts first; a size that a line lacks is an empty cell; what is not bought is said at the end."""
    tables = listed(buying_sections(mill(countershaft=BEARINGS, along=("20 mm", "80 mm"))))
    titles = ["Belts", "Sheaves", "Hubs", "Keys", "Gauge pins", "Bearings", "Shafts", "Sheets"]
    assert [title for title, _, _ in tables] == titles
    belts = _table(tables, "Belts")
    assert _column(belts, "datum mm") == ["1180.00", "1120.00"]
    assert _column(belts, "inside mm") == ["1150.47", "1090.47"]
    bearings = _table(tables, "Bearings")
    assert _column(bearings, "bore mm") == ["20.00", "25.00"]
    assert _column(bearings, "load N")[1] == "" and float(_column(bearings, "load N")[0]) > 0
    assert "not worked out" in tables[-1][2][-1]


def test_loads_are_in_pounds_force_where_lengths_are_in_inches() -> None:
    """One pound-force is 4.4482 N."""
    metric = _column(
        _table(listed(buying_sections(mill(countershaft=BEARINGS, along=("20 mm", "80 mm")))), "Bearings"), "load N"
    )
    inch = mill(units="in", countershaft=BEARINGS, along=("20 mm", "80 mm"))
    shown = _column(_table(listed(buying_sections(inch)), "Bearings"), "load lbf")
    assert float(shown[0]) == pytest.approx(float(metric[0]) / 4.4482, abs=0.6)


def test_the_buying_list_is_a_table_for_spreadsheets() -> None:
    """A head, then a row for each belt and line, as many cells each; sizes with their units."""
    made = mill()
    rows = _csv(buying_csv(made))
    assert rows[0] == ["kind", "count", "what", "sizes", "where_used", "not_stated", "source"]
    assert all(len(row) == 7 for row in rows)
    assert [row[0] for row in rows[1:4]] == ["belt", "belt", "sheave"]
    assert "outside 81.60 mm; datum 75.00 mm; over pins 92.00 mm" in rows[3][3]


def test_documents_name_their_format_and_keep_millimetres() -> None:
    """Also where the maker's units are inches; the design's digest says which scenario they belong to."""
    made = mill(units="in")
    cuts: dict[str, Any] = json.loads(cuts_json(made))
    buying: dict[str, Any] = json.loads(buying_json(made))
    assert (cuts["format"], buying["format"]) == ("conewright cuts 1", "conewright buying 1")
    assert cuts["scenario_sha256"] == buying["scenario_sha256"] == made.design.scenario.sha256
    assert [s["outside_mm"] for s in cuts["cones"][2]["cone"]["steps"]] == pytest.approx([96.6, 156.6])
    assert len(cuts["cones"][2]["cone"]["layers"]) == 4 and len(cuts["sawn"]["sheets"]) == 1
    assert cuts["cones"][1]["truing"]["pair"]["driven_mm"] == pytest.approx(159.0, abs=0.5)
    assert [check["passed"] for check in cuts["in_line"]] == [True]
    assert buying["belts"][1]["window"]["datum_length_mm"] == 1120.0


def test_documents_follow_their_schemas() -> None:
    """Every key of a document is one that its schema knows."""
    for text, schema in ((cuts_json(mill()), cuts_schema()), (buying_json(mill()), buying_schema())):
        assert json.loads(text).keys() == schema["properties"].keys()


@pytest.mark.parametrize("name", ['=HYPERLINK("x")', "<script>alert(1)</script>", "|`*", "שלום", "車" * 40])
def test_no_name_breaks_a_list(name: str) -> None:
    """A name that is a formula, markup, right-to-left or wide stays text in every form."""
    made = mill(title=name.replace('"', "'"), change=("countershaft", name.replace('"', "'")))
    rows = _csv(buying_csv(made))
    assert all(len(row) == 7 for row in rows)
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row)
    assert json.loads(cuts_json(made))["title"] == made.scenario.title
    assert buying_json(made).isascii() and cuts_json(made).isascii()
    for _, table, _ in (*listed(cut_sections(made)), *listed(buying_sections(made))):
        lines = table_markdown(table).splitlines()
        assert len(lines) == len(table.rows) + 2


@pytest.mark.parametrize("name", JOBS)
def test_every_machine_has_lists_that_are_always_the_same(name: str) -> None:
    """Rows are as wide as their heads, titles differ, nothing is lost of a name, the bytes are the same twice."""
    made = job(name)
    tables = [*listed(cut_sections(made)), *listed(buying_sections(made))]
    assert len({title for title, _, _ in tables}) == len(tables)
    for _, table, _ in tables:
        assert table.rows and all(len(row) == len(table.heads) for row in table.rows)
        assert len(set(table.heads)) == len(table.heads)
    assert cuts_json(made) == cuts_json(made) and buying_json(made) == buying_json(made)
    assert buying_csv(made) == buying_csv(made)
    assert all(len(row) == 7 for row in _csv(buying_csv(made)))
    if name == "hostile shafts":
        assert any(HOSTILE in title for title, _, _ in tables)
