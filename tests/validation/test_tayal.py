"""A. K. Tayal, Engineering Mechanics, example 7.1.

Data as reworked in a public companion notebook to the numbered example. The book takes the two-term series for the
length: its answer differs from the exact one, which is why no design here is made with the series.
"""

import pytest

from optimizer.geometry.belts import belt_length_mm, belt_length_two_term_mm, small_wrap_deg


def test_the_two_term_length_is_the_books() -> None:
    """Pulleys of 12 and 24 cm at 30 cm: 117.748668 cm by the two-term series."""
    assert belt_length_two_term_mm(12.0, 24.0, 30.0) == pytest.approx(117.748668, abs=5e-7)


def test_the_exact_length_is_longer() -> None:
    """The exact belt is 117.752717 cm, 0.04 mm longer than the series says."""
    assert belt_length_mm(12.0, 24.0, 30.0) == pytest.approx(117.752717, abs=5e-7)


def test_the_wrap_of_the_smaller_pulley_is_the_one_worked_out() -> None:
    """The arc of contact on the 12 cm pulley is 156.926082 degrees."""
    assert small_wrap_deg(12.0, 24.0, 30.0) == pytest.approx(156.926082, abs=5e-7)
