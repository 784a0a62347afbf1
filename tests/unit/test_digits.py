"""Figures without their last bits: what is stored, and what is chosen by."""

from math import inf, nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.quantities.digits import first_least, meaningful
from optimizer.records.figures import Document
from optimizer.records.refined import Binding

FIGURES = st.floats(min_value=-1e9, max_value=1e9)


class _Page(Document):
    """A document with figures at every depth."""

    width_mm: float
    name: str
    count: int
    bindings: tuple[Binding, ...]
    spans_mm: tuple[tuple[float, float], ...]


@pytest.mark.parametrize(
    ("value", "kept"),
    [
        (0.1 + 0.2, 0.3),  # 0.30000000000000004
        (4.440892098500626e-16, 0.0),
        (-4.440892098500626e-16, 0.0),
        (1234.56789012345, 1234.567890),  # ten digits
        (0.123456789012, 0.123456789),  # nine places
        (inf, inf),
        (-inf, -inf),
    ],
)
def test_a_figure_has_ten_digits_and_nine_places(value: float, kept: float) -> None:
    """Ten leading digits are kept, and nothing beyond the ninth decimal place."""
    assert meaningful(value) == kept


def test_nothing_is_never_less_than_nothing() -> None:
    """What is left over below 0 is written as 0, and what is no number stays none."""
    assert str(meaningful(-1e-17)) == "0.0"
    assert str(meaningful(nan)) == "nan"


@given(FIGURES)
def test_a_rounded_figure_stays(value: float) -> None:
    """A figure rounded twice is the figure rounded once, so that a document read is the one written."""
    once = meaningful(value)
    assert meaningful(once) == once
    assert once == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(FIGURES, FIGURES)
def test_the_order_of_figures_stays(one: float, other: float) -> None:
    """What is no more than another before rounding is no more than it after."""
    low, high = sorted((one, other))
    assert meaningful(low) <= meaningful(high)


@pytest.mark.parametrize("bits", [-1, 0, 1])
def test_the_first_of_equals_is_taken(bits: int) -> None:
    """Of three figures that differ in their last bits only the first is taken, whichever is less."""
    third = 1 / 3 + bits * 2**-54
    assert first_least(np.array([nan, 1 / 3, third, 0.5])) == 1
    assert first_least(np.array([nan, third, 1 / 3, 0.5])) == 1


def test_all_figures_of_a_document_are_rounded() -> None:
    """Figures are rounded at every depth: 1/3 to nine places, the price of a limit to four digits and six places."""
    page = _Page(
        width_mm=1 / 3,
        name="a",
        count=3,
        bindings=(Binding(limit="x", falls=0.0073889426500064), Binding(limit="y", falls=1e-9), Binding(limit="z")),
        spans_mm=((1 / 3, 2.0), (1e-15, -1e-15)),
    )
    assert page.model_dump() == {
        "width_mm": 0.333333333,
        "name": "a",
        "count": 3,
        "bindings": tuple(
            {"limit": limit, "places": (), "falls": falls, "unit": "mm"}
            for limit, falls in (("x", 0.007389), ("y", 0.0), ("z", None))
        ),
        "spans_mm": ((0.333333333, 2.0), (0.0, 0.0)),
    }
    assert _Page.model_validate_json(page.model_dump_json()) == page
