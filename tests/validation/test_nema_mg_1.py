"""NEMA MG 1, motors and generators: shafts (read), flats, heights and lengths of small frames (from memory)."""

import pytest

from optimizer.catalogue.parts import frame

READ = {"48": 1 / 2, "56": 5 / 8, "143T": 7 / 8, "145T": 7 / 8}
"""Frame: diameter of its shaft [in], read."""
HEIGHTS = {"42": 42, "48": 48, "56": 56, "143T": 56, "145T": 56, "182T": 72, "184T": 72}
"""Frame: height of the axis above the feet in sixteenths of an inch, from memory."""


OVER_FLAT = {"42": 21 / 64, "48": 29 / 64}
"""Frame: from the flat of its shaft to the far side [in], dimension R, from memory; larger frames have keyways."""


@pytest.mark.parametrize("name", ["42", *READ])
def test_flats(name: str) -> None:
    """The smallest frames have a flat, the others a keyway."""
    flat = frame(f"NEMA {name}").flat
    assert (flat and flat.over_mm / 25.4) == (pytest.approx(OVER_FLAT[name]) if name in OVER_FLAT else None)


@pytest.mark.parametrize("name", READ)
def test_shafts(name: str) -> None:
    """The diameters of the shafts."""
    assert frame(f"NEMA {name}").shaft_mm / 25.4 == pytest.approx(READ[name])


@pytest.mark.parametrize("name", HEIGHTS)
def test_the_first_two_figures_tell_the_height(name: str) -> None:
    """Small frames: the number over sixteen; others: the first two figures over four."""
    assert frame(f"NEMA {name}").height_mm / 25.4 == pytest.approx(HEIGHTS[name] / 16)
