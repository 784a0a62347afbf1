"""Room for lettering."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.drawing.lettering import CAPITAL_EM, box_of, text_width_mm, wrapped
from optimizer.drawing.sheet import Text

WORDS = st.text(st.sampled_from("ab mWi.低é "), max_size=40)

HELVETICA = {
    "0": 556,
    "8": 556,
    "W": 944,
    "M": 833,
    "m": 833,
    "i": 222,
    "a": 556,
    "e": 556,
    "t": 278,
    " ": 278,
    "x": 500,
}
"""Widths in thousandths of the type size: Adobe Core 14 font metrics, Helvetica (from memory)."""


@pytest.mark.parametrize("text", ["1250", "250 to 800", "2x4 Matt Wax Mix", "time"])
def test_a_common_face_stays_within_the_estimate(text: str) -> None:
    """A text set in Helvetica is no wider than the width estimated, and no less than half of it."""
    known = [HELVETICA.get(sign, 556) for sign in text]
    width = sum(known) / 1000 / CAPITAL_EM
    assert width <= text_width_mm(text, 1.0) <= 2 * width


def test_a_turned_text_takes_turned_room() -> None:
    """A quarter turn counter-clockwise puts a text's width along y, its capitals to the left of the point."""
    box = box_of(Text("words", (50, 50), "250", 7.2, turn_deg=90))
    width = text_width_mm("250", 7.2)
    xs, ys = zip(*box, strict=True)
    assert (min(xs), min(ys), max(ys)) == pytest.approx((50 - 7.2, 50, 50 + width))


@given(WORDS, st.floats(5, 60))
def test_wrapped_lines_stay_within_the_width_with_nothing_lost(text: str, width_mm: float) -> None:
    """Every line fits, and all signs come in their order."""
    lines = wrapped(text, width_mm, 2.2)
    assert all(text_width_mm(line, 2.2) <= width_mm for line in lines)
    assert "".join(lines).replace(" ", "") == "".join(text.split())
