"""Columns of a terminal."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from optimizer.documents.chart_text import broken, columns, padded


@given(st.text(st.sampled_from("ab é低速 e\u0301-"), max_size=40), st.integers(2, 20))
def test_broken_lines_stay_within_the_width_with_nothing_lost(text: str, width: int) -> None:
    """Every line fits, and all signs come in their order."""
    lines = broken(text, width)
    assert all(columns(line) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == "".join(text.split())


def test_padding_counts_columns() -> None:
    """Wide signs count double, signs set on others not at all; what is too long stays as it is."""
    assert [padded(text, 5) for text in ("低", "e\u0301", "abcdef")] == ["低   ", "e\u0301    ", "abcdef"]
