"""EN 315, plywood: data of birch plywood made to it, density 660 to 710 kg/m3 (read)."""

import pytest

from optimizer.checks.turning import TIMBER_KG_M3
from optimizer.mechanics.rims import ring_stress_mpa


def test_timber_counts_at_its_heaviest() -> None:
    """Stress of turned steps is that of the heaviest plywood, 710 kg/m3."""
    assert TIMBER_KG_M3 == 710
    assert float(ring_stress_mpa(TIMBER_KG_M3, 20.0)) == pytest.approx(710 * 20**2 / 1e6)
