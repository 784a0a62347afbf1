"""Which spindle speeds count in which band."""

from __future__ import annotations

from optimizer.records.problem import BandTarget
from optimizer.scenario import Band, Scenario

__all__ = ["EDGE", "band_edges", "counts_between", "wanted_bands"]

EDGE = 1e-9


def band_edges(band: Band, bands: tuple[Band, ...], ends: float) -> tuple[float, float, bool]:
    """Return a band's edges, the outermost widened, with whether the upper edge counts."""
    bottom, top = min(b.from_rpm for b in bands), max(b.to_rpm for b in bands)
    low = band.from_rpm / (1 + ends) if band.from_rpm == bottom else band.from_rpm
    closed = band.to_rpm == top
    return low, band.to_rpm * (1 + ends) if closed else band.to_rpm, closed


def counts_between(rpm: float, low: float, high: float, closed: bool) -> bool:
    """Tell whether a speed counts between two edges; an edge speed counts in the upper band."""
    if rpm < low * (1 - EDGE):
        return False
    return rpm <= high * (1 + EDGE) if closed else rpm < high * (1 - EDGE)


def wanted_bands(scenario: Scenario) -> tuple[BandTarget, ...]:
    """Return what a plate must keep of every band: its edges, with the number of speeds wanted."""
    found = []
    for band in scenario.bands:
        low, high, closed = band_edges(band, scenario.bands, scenario.series.ends)
        found.append(BandTarget(name=band.name, low_rpm=low, high_rpm=high, top=closed, want=band.want))
    return tuple(found)
