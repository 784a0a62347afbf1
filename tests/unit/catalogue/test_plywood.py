"""Plywood by the thickness of a layer."""

from __future__ import annotations

from itertools import pairwise

import pytest

from optimizer.catalogue.plywood import plies, ply_of, plywood_density_kg_m3, plywood_sheets_mm


def test_every_ply_is_found_by_its_mean_and_most_by_their_nominal_thickness() -> None:
    """A layer as thick as a ply's mean is of that ply, and so is one of its nominal thickness."""
    for ply in plies():
        assert ply_of(ply.mean_mm) == ply
        assert ply_of(ply.nominal_mm) == ply


def test_limits_of_neighbours_do_not_meet() -> None:
    """No thickness belongs to two plies."""
    spans = [ply.limits_mm or (ply.mean_mm, ply.mean_mm) for ply in plies()]
    assert all(one[1] < other[0] for one, other in pairwise(spans))
    assert all(low <= ply.mean_mm <= high for ply, (low, high) in zip(plies(), spans, strict=True))


@pytest.mark.parametrize("layer_mm", [0.5, 6.0, 7.0, 8.7, 13.0, 18.2, 19.5, 22.0, 200.0])
def test_what_no_limits_hold_is_no_ply(layer_mm: float) -> None:
    """A thickness between the limits of two plies, below the thinnest or above the thickest, is of none."""
    assert ply_of(layer_mm) is None


def test_limits_themselves_count() -> None:
    """The least and the most that a sheet may measure are still of its ply."""
    assert [ply and ply.nominal_mm for ply in map(ply_of, (17.1, 18.1))] == [18, 18]


def test_a_ply_without_limits_says_so() -> None:
    """Where only the mean was read, there are no limits, and the source tells."""
    ply = ply_of(20.5)
    assert ply is not None
    assert ply.limits_mm is None
    assert "limits not read" in ply.source


def test_density_and_sheets_have_an_order() -> None:
    """The lighter density comes first; no sheet is wider than it is long."""
    least, most = plywood_density_kg_m3()
    assert least < most
    assert all(width <= length for width, length in plywood_sheets_mm())
