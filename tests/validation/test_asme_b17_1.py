"""ASME B17.1, keys and keyseats, as printed in Machinery's Handbook, 31st ed., p. 2552 (read)."""

import pytest

from optimizer.catalogue.parts import key_for
from optimizer.mechanics.keys import seat_depths_mm

INCH_MM = 25.4
TABLE = {
    0.5: (0.125, 0.430, 0.560),
    0.625: (0.1875, 0.517, 0.709),
    0.75: (0.1875, 0.644, 0.837),
    0.875: (0.1875, 0.771, 0.964),
    1.0: (0.25, 0.859, 1.114),
    1.25: (0.25, 1.112, 1.367),
}
"""Shaft: square key, S and T [in]."""


@pytest.mark.parametrize("shaft", TABLE)
def test_keys_and_the_depths_of_their_seats(shaft: float) -> None:
    """The key by shaft, the size over the shaft's seat, that over the hub's, to the printed thousandth."""
    width, over_shaft, over_hub = TABLE[shaft]
    key = key_for(shaft * INCH_MM, inch=True)
    assert key is not None
    assert key.width_mm == pytest.approx(width * INCH_MM)
    depths = seat_depths_mm(shaft * INCH_MM, key.width_mm)
    assert depths.shaft_mm / INCH_MM == pytest.approx(over_shaft, abs=0.00051)
    assert depths.hub_mm / INCH_MM == pytest.approx(over_hub, abs=0.00051)


@pytest.mark.parametrize(
    ("shaft", "width"), [(5 / 16, None), (7 / 16, 3 / 32), (9 / 16, 1 / 8), (0.6, 3 / 16), (1.3, 5 / 16), (1.5, 3 / 8)]
)
def test_a_key_goes_with_shafts_over_one_size_up_to_another(shaft: float, width: float | None) -> None:
    """A span excludes its lower end and includes its upper one; below the table there is no key (3/32: from memory)."""
    key = key_for(shaft * INCH_MM, inch=True)
    assert (None if key is None else round(key.width_mm / INCH_MM, 6)) == (None if width is None else round(width, 6))
