"""Tables as text and as comma-separated cells; columns of a terminal."""

from __future__ import annotations

import csv
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.documents.blocks import Table
from optimizer.documents.data import csv_text
from optimizer.documents.markdown import table_markdown
from optimizer.documents.terminal import broken, columns, padded, table_text


@pytest.mark.parametrize("cell", ["=1+2", "+1", "-1", "@SUM(A1)", "\tx", "\rx"])
def test_formulas_are_defused(cell: str) -> None:
    """Any text that a spreadsheet would run gets an apostrophe before it."""
    (_, row) = csv.reader(StringIO(csv_text(["head"], [[cell]]), newline=""))
    assert row == [f"'{cell}"]


def test_figures_are_left_as_they_are() -> None:
    """A figure below zero is no formula, and keeps its digits."""
    assert csv_text(["size"], [[-1234.5678]]) == "size\r\n-1234.5678\r\n"


def test_heads_are_defused_too() -> None:
    """A head may be a maker's word, so it is treated like any text."""
    assert csv_text(["=x"], []) == "'=x\r\n"


def test_quotes_and_commas_survive() -> None:
    """What is written is what is read back."""
    cell = 'a "b", c\nd'
    (_, row) = csv.reader(StringIO(csv_text(["head"], [[cell]]), newline=""))
    assert row == [cell]


def test_last_column_is_wrapped_to_the_width() -> None:
    """A table wider than asked wraps its last column, and stays within the width."""
    table = Table(("name", "said"), (("one", "a rather long sentence that must be wrapped somewhere"),))
    lines = table_text(table, width=30).splitlines()
    assert all(len(line) <= 30 for line in lines)
    assert " ".join(line[6:] for line in lines[2:]) == "a rather long sentence that must be wrapped somewhere"


def test_markdown_cells_cannot_break_the_table() -> None:
    """Pipes, markup and links of a maker's text stay text."""
    text = table_markdown(Table(("name",), (("a|b <script> [x](javascript:y)",),)))
    assert text.splitlines()[2] == "| a\\|b \\<script> [x]\\(javascript:y) |"


@given(st.text(st.sampled_from("ab é低速 e\u0301-"), max_size=40), st.integers(2, 20))
def test_broken_lines_stay_within_the_width_with_nothing_lost(text: str, width: int) -> None:
    """Every line fits, and all signs come in their order."""
    lines = broken(text, width)
    assert all(columns(line) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == "".join(text.split())


def test_padding_counts_columns() -> None:
    """Wide signs count double, signs set on others not at all; what is too long stays as it is."""
    assert [padded(text, 5) for text in ("低", "e\u0301", "abcdef")] == ["低   ", "e\u0301    ", "abcdef"]
