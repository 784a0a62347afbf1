"""Text stays text."""

from __future__ import annotations

import pytest

from optimizer.documents.blocks import Lines, Rows, Section, Table, Text
from optimizer.documents.html import shown, turned
from tests.unit.documents.hostile import HOSTILE
from tests.unit.documents.listed import on_page
from tests.unit.documents.outline import outline_of


@pytest.mark.parametrize("name", HOSTILE)
def test_a_text_comes_out_as_it_went_in(name: str) -> None:
    """A parser finds one element with the text as shown, whether it stands inside or in an attribute."""
    text = HOSTILE[name]
    rows = Rows(Table((text,), ((text,),)), text, links=[text])
    outline = outline_of(on_page(Section(text, [Text(text), Lines([text]), rows])))
    assert [outline.texts[tag] for tag in ("h3", "p", "li", "caption", "a")] == [
        *([[shown(text)]] * 4),
        ["Skip to the sheet", shown(text)],
    ]
    assert outline.named("div")[0]["aria-label"] == shown(text)
    assert not outline.wrong


def test_what_cannot_be_shown_is_replaced_one_for_one() -> None:
    """Controls, overrides, halves of pairs become replacement characters; line ends, tabs, other scripts stay."""
    assert shown("a\x00b\x9fc\u202ed\u2066e\ud800f\ufffeg") == "a�b�c�d�e�f�g"
    assert shown("a\tb\nc\r\nd אב 中 é") == "a\tb\nc\nd אב 中 é"


def test_a_list_of_nothing_is_nothing() -> None:
    """No empty list is ever shown."""
    assert not outline_of(on_page(Section("", [Lines([])]))).named("ul")


def test_a_table_names_its_columns_and_rows() -> None:
    """Heads are column headers, first cells row headers; an empty first cell is none; figures stand right."""
    outline = outline_of(on_page(Section("", [Rows(Table(("a", "b"), (("x", "1.5"), ("", "2"))), "Both")])))
    assert [h.get("scope") for h in outline.named("th")] == ["col", "col", "row"]
    assert [cell.get("class") for cell in outline.named("td")] == ["figure", None, "figure"]
    assert outline.texts["caption"] == ["Both"]
    frame = outline.named("div")[0]
    assert (frame["role"], frame["aria-label"], frame["tabindex"]) == ("group", "Both", "0")


def test_a_table_without_rows_still_has_its_heads() -> None:
    """Nothing in a table is no fault."""
    assert outline_of(on_page(Section("", [Rows(Table(("a", "b"), ()), "None")]))).texts["th"] == ["a", "b"]


def test_rows_lead_where_they_are_told_to() -> None:
    """The first cell of every row is a link where links are given."""
    rows = Rows(Table(("a", "b"), (("1", "x"), ("2", "y"))), "t", links=("#one", "#two"))
    assert [a["href"] for a in outline_of(on_page(Section("", [rows]))).named("a")] == ["#sheet", "#one", "#two"]


def test_a_wide_short_table_is_turned() -> None:
    """Eleven columns of two rows become ten rows of three columns; ten columns, or nine rows, or none, stay."""
    heads = tuple(f"h{n}" for n in range(11))
    row = tuple(f"c{n}" for n in range(11))
    table = turned(Table(heads, (row, row)))
    assert table.heads == ("h0", "c0", "c0")
    assert table.rows == tuple((f"h{n}", f"c{n}", f"c{n}") for n in range(1, 11))
    for left in (Table(heads[:10], (row[:10],)), Table(heads, (row,) * 9), Table(heads, ())):
        assert turned(left) is left
