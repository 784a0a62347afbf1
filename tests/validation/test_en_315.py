"""EN 315, plywood: data of birch plywood made to it, density, thickness and sizes of sheets (read)."""

import pytest

from optimizer.catalogue.parts import cone_material
from optimizer.catalogue.plywood import Ply, ply_of, plywood_density_kg_m3, plywood_sheets_mm
from optimizer.mechanics.rims import ring_stress_mpa

# nominal, mean, limits [mm]; read
WITH_LIMITS = [
    (6.5, 6.4, (6.1, 6.9)),
    (9, 9.2, (8.8, 9.5)),
    (12, 12.0, (11.5, 12.5)),
    (15, 14.9, (14.3, 15.3)),
    (18, 17.7, (17.1, 18.1)),
]
# nominal, mean [mm]; read
MEANS_ALONE = [(21, 20.5), (24, 23.4), (30, 29.4)]


def test_timber_counts_at_its_heaviest() -> None:
    """Stress of turned steps is that of the heaviest plywood, 710 kg/m3; their mass that of the middle, 685."""
    timber = cone_material("timber")
    assert (timber.mass_kg_m3, timber.stress_kg_m3) == (sum(plywood_density_kg_m3()) / 2, plywood_density_kg_m3()[1])
    assert float(ring_stress_mpa(timber.stress_kg_m3, 20.0)) == pytest.approx(710 * 20**2 / 1e6)


def test_density_of_birch_plywood() -> None:
    """Birch plywood weighs 660 to 710 kg/m3 (read)."""
    assert plywood_density_kg_m3() == (660, 710)


@pytest.mark.parametrize(("nominal_mm", "mean_mm", "limits_mm"), WITH_LIMITS)
def test_thickness_with_its_limits(nominal_mm: float, mean_mm: float, limits_mm: tuple[float, float]) -> None:
    """Mean and limits of a nominal thickness are those printed, and every thickness within them is that plywood."""
    for layer_mm in (mean_mm, *limits_mm):
        ply = ply_of(layer_mm)
        assert isinstance(ply, Ply)
        assert (ply.nominal_mm, ply.mean_mm, ply.limits_mm) == (nominal_mm, mean_mm, limits_mm)
    assert ply_of(limits_mm[0] - 0.01) is None
    assert ply_of(limits_mm[1] + 0.01) is None


@pytest.mark.parametrize(("nominal_mm", "mean_mm"), MEANS_ALONE)
def test_thickness_without_limits(nominal_mm: float, mean_mm: float) -> None:
    """Of the thicker plywood the mean alone was read."""
    ply = ply_of(mean_mm)
    assert isinstance(ply, Ply)
    assert (ply.nominal_mm, ply.mean_mm, ply.limits_mm) == (nominal_mm, mean_mm, None)


def test_sizes_of_sheets() -> None:
    """Birch plywood is sold in sheets of these sizes (read)."""
    assert set(plywood_sheets_mm()) == {(1525, 1525), (1220, 2440), (1250, 2500)}
