"""Round and flat belts, from a maker's table of round polyurethane belts of 85 Shore A and old handbooks; read."""

import pytest

from optimizer.catalogue.sections import section


@pytest.mark.parametrize(
    ("thick_mm", "smallest_mm"), [(3, 15), (4, 25), (5, 30), (6, 40), (8, 55), (10, 75), (12, 90), (15, 120)]
)
def test_a_round_belt_bends_around_the_printed_pulley(thick_mm: float, smallest_mm: float) -> None:
    """Smallest pulleys for 85 Shore A: 3 mm 15, 4 mm 25, 5 mm 30, 6 mm 40, 8 mm 55, 10 mm 75, 12 mm 90, 15 mm 120."""
    assert section(f"round {thick_mm}").smallest_datum_mm == smallest_mm


@pytest.mark.parametrize("thick_mm", [3, 5])
def test_a_flat_leather_belt_bends_around_twenty_to_thirty_times_its_thickness(thick_mm: float) -> None:
    """Twenty times is the limit, thirty times is advised (old handbooks)."""
    belt = section(f"flat {thick_mm}x40")
    assert (belt.smallest_datum_mm, belt.preferred_datum_mm) == (20 * thick_mm, 30 * thick_mm)


def test_ribs_have_the_printed_pitch() -> None:
    """A PJ belt has its ribs 2.34 mm apart (read)."""
    assert section("PJ 6").e_mm == 2.34
    assert section("PJ 6").top_mm == pytest.approx(6 * 2.34)
