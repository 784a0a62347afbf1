"""Seats and lengths of keys, against the geometry of circle and chord."""

from __future__ import annotations

from math import hypot

import pytest

from optimizer.mechanics.keys import key_length_mm, key_stresses_mpa, seat_depths_mm


@pytest.mark.parametrize(("shaft", "width"), [(12.7, 3.175), (25.4, 6.35), (100.0, 25.4)])
def test_the_edges_of_a_seat_lie_on_the_shaft(shaft: float, width: float) -> None:
    """Half of the key above the edge of its seat: the edge is as far from the axis as the rim."""
    depths = seat_depths_mm(shaft, width)
    edge = depths.shaft_mm - shaft / 2 + width / 2
    assert hypot(edge, width / 2) == pytest.approx(shaft / 2)
    assert depths.hub_mm - depths.shaft_mm == pytest.approx(width + 0.127)


def test_a_key_as_wide_as_its_shaft_is_refused() -> None:
    """There is no seat for it."""
    with pytest.raises(ValueError, match="as wide as the shaft"):
        seat_depths_mm(6.0, 6.0)


def test_a_key_of_the_needed_length_is_stressed_as_allowed() -> None:
    """The worse of shear and crushing is what is allowed, the other below it."""
    for shaft, width, height in ((20.0, 6.0, 6.0), (28.0, 8.0, 7.0), (100.0, 28.0, 16.0)):
        length = key_length_mm(80.0, shaft, width, height, (41.0, 82.0))
        shear, crushing = key_stresses_mpa(80.0, shaft, width, height, length)
        assert max(shear / 41, crushing / 82) == pytest.approx(1)
        assert min(shear / 41, crushing / 82) <= 1 + 1e-12


def test_a_key_without_a_size_is_refused() -> None:
    """Stresses need a length."""
    with pytest.raises(ValueError, match="above 0"):
        key_stresses_mpa(10.0, 20.0, 6.0, 6.0, 0.0)
