"""GOST 23360-78, parallel keys: widths by shaft (read), depths of the seats (from memory)."""

import pytest

from optimizer.catalogue.parts import key_for

TABLE: dict[float, tuple[float, float, float, float]] = {
    11: (4, 4, 2.5, 1.8),
    14: (5, 5, 3.0, 2.3),
    19: (6, 6, 3.5, 2.8),
    24: (8, 7, 4.0, 3.3),
    32: (10, 8, 5.0, 3.3),
}
"""Shaft: width and height of the key (read), depth in the shaft and in the hub (from memory) [mm]."""


@pytest.mark.parametrize("shaft", TABLE)
def test_keys_and_depths(shaft: float) -> None:
    """Shafts over 10 to 12, 12 to 17, 17 to 22, 22 to 30, 30 to 38 mm."""
    key = key_for(shaft, inch=False)
    assert key is not None
    assert (key.width_mm, key.height_mm, key.shaft_depth_mm, key.hub_depth_mm) == TABLE[shaft]


def test_the_ends_of_the_spans() -> None:
    """A span excludes its lower end and includes its upper one; outside the table nothing is said."""
    widths = [key.width_mm if (key := key_for(size, inch=False)) else None for size in (6, 10, 12, 17, 22, 30, 38, 200)]
    assert widths == [None, 3, 4, 5, 6, 8, 10, None]
