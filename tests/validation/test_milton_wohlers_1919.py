"""A. S. Milton, O. K. Wohlers, A Course in Wood Turning (1919), on the speed of the lathe (read, public domain).

Stock up to 3 in runs at 2400 to 3000 rpm, from 3 to 6 in on the second or third step, above 6 in on the slowest.
"""

from __future__ import annotations

import pytest

from optimizer.mechanics.surface_speed import suited_mm, wood_turning_m_s

INCH = 25.4


@pytest.mark.parametrize("rpm", [2400.0, 3000.0])
def test_the_largest_stock_of_the_fastest_step_is_within_the_rule(rpm: float) -> None:
    """3 in at 2400 rpm is 7200 rpm·in, at 3000 rpm 9000, the rule's upper end."""
    least, most = suited_mm(rpm, *wood_turning_m_s())
    assert least <= 3 * INCH <= most * (1 + 1e-12)


def test_the_rule_turns_larger_stock_slower_than_the_book_names_for_3_in() -> None:
    """At 2400 rpm no stock of 6 in suits: the book takes another step for it too."""
    assert suited_mm(2400.0, *wood_turning_m_s()).most < 6 * INCH
