"""ISO 21940-11, rotors with rigid behaviour: balance quality grades; formula and chart from memory."""

from __future__ import annotations

import pytest

from optimizer.catalogue.parts import balance_grade
from optimizer.mechanics.rims import grade_unbalance_g_m


@pytest.mark.parametrize(
    ("grade", "rpm", "um"),
    [
        (6.3, 1500, 40),  # the chart's usual example, from memory
        (6.3, 3000, 20),  # half of that
        (2.5, 3000, 8),  # 9549·2.5/3000 = 7.96
        (16, 950, 160),  # 16·9549/950 = 160.8
        (16, 3000, 51),  # 9549·16/3000 = 50.9
    ],
)
def test_permissible_eccentricity_of_a_grade(grade: float, rpm: float, um: float) -> None:
    """A kilogram may keep as many g·mm as the chart has µm, read to two digits; 9549·G/n in handbooks."""
    left_g_mm = 1000 * float(grade_unbalance_g_m(1.0, rpm, grade))
    assert left_g_mm == pytest.approx(um, rel=0.02)
    assert left_g_mm == pytest.approx(9549 * grade / rpm, rel=1e-4)


def test_pulleys_are_held_to_g16() -> None:
    """1.66 kg at 1600 rpm: 1.66·16/(2π·1600/60) = 0.1585 g·m, where the pulley standard alone would leave 2."""
    grade, source = balance_grade()
    assert grade == 16
    assert "G16" in source and "from memory" in source
    assert float(grade_unbalance_g_m(1.66, 1600, grade)) == pytest.approx(0.1585, abs=5e-5)
