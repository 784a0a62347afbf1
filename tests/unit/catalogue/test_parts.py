"""Keys, frames, torque classes and stresses by name or size."""

from __future__ import annotations

from itertools import pairwise

import pytest

from optimizer.catalogue.entry import CatalogueError
from optimizer.catalogue.parts import (
    frame,
    frame_names,
    key_for,
    shafting,
    start_torque,
    torque_classes,
    unbalance_g_m,
)


@pytest.mark.parametrize(("inch", "least", "most"), [(False, 6.5, 110.0), (True, 8.0, 114.0)])
def test_keys_grow_with_the_shaft_without_a_gap(inch: bool, least: float, most: float) -> None:
    """Every shaft between the ends of the table has a key, never narrower than that of a thinner shaft."""
    sizes = [least + step * 0.25 for step in range(int((most - least) / 0.25) + 1)]
    keys = [key_for(size, inch=inch) for size in sizes]
    assert None not in keys
    widths = [key.width_mm for key in keys if key]
    assert all(one <= other for one, other in pairwise(widths))
    assert all(key.width_mm < size / 2.4 for key, size in zip(keys, sizes, strict=True) if key)


def test_a_shaft_of_100_mm_has_a_key() -> None:
    """28 by 16 mm, t1 10.0, t2 6.4; from memory, and said so."""
    key = key_for(100.0, inch=False)
    assert key is not None
    assert key[:4] == (28, 16, 10.0, 6.4)
    assert "from memory" in key.source


def test_metric_seats_hold_the_key() -> None:
    """Both depths together are a little more than the key's height: the clearance above it."""
    for size in (7, 9, 11, 14, 20, 25, 35, 40, 48, 55, 60, 70, 80, 90, 100):
        key = key_for(size, inch=False)
        assert key is not None and key.shaft_depth_mm is not None and key.hub_depth_mm is not None
        assert 0.1 <= key.shaft_depth_mm + key.hub_depth_mm - key.height_mm <= 0.5


def test_frames_are_found_however_they_are_written() -> None:
    """Spaces and small letters do not matter, nor the letter of an IEC frame's length."""
    assert frame("  nema   143t ").name == "NEMA 143T"
    assert frame("iec 100l").height_mm == 100
    assert all(frame(name).shaft_mm < frame(name).length_mm < frame(name).height_mm for name in frame_names())
    with pytest.raises(CatalogueError, match="there is no such motor frame"):
        frame("IEC 85")


def test_torque_classes_have_their_sources() -> None:
    """Every class has a torque at standstill between 0.3 and 3 of full load, and says where it comes from."""
    for name in torque_classes():
        share, source = start_torque(name)
        assert 0.3 <= share <= 3
        assert "memory" in source or "no source" in source
    with pytest.raises(CatalogueError, match="there is no such torque class"):
        start_torque("Z")


def test_a_keyway_leaves_three_quarters_of_a_stated_stress() -> None:
    """80 MPa without, 60 MPa with a keyway; the source says who stated it."""
    assert shafting(keyed=False, shock="steady", plain_mpa=80)[:3] == (80, 1.5, 1.0)
    assert shafting(keyed=True, shock="minor shock", plain_mpa=80)[:3] == (60, 2.0, 1.5)
    assert "stated by the maker" in shafting(keyed=True, shock="steady", plain_mpa=80).source


def test_balance_outside_its_table() -> None:
    """Nothing is asked for at 5 m/s and below, nothing told above 30 m/s."""
    assert unbalance_g_m(0.0)[0] is None
    assert unbalance_g_m(5.0)[0] is None
    assert unbalance_g_m(1000.0)[0] is None
