"""Birch plywood: how thick a sheet really is, how heavy, how large."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from optimizer.catalogue.entry import table

__all__ = ["Ply", "plies", "ply_of", "plywood_density_kg_m3", "plywood_sheets_mm"]

TOUCH_MM = 0.05
"""How far a thickness may miss a printed figure and still be it: figures are printed to a tenth."""


class Ply(NamedTuple):
    """Plywood of one nominal thickness."""

    nominal_mm: float
    mean_mm: float
    """What a sheet measures on average."""
    limits_mm: tuple[float, float] | None
    """The least and the most that a sheet may measure; nothing where no limits were read."""
    source: str


@cache
def plies() -> tuple[Ply, ...]:
    """Return all thicknesses, the thinnest first.

    Examples
    --------
    >>> [ply.nominal_mm for ply in plies()]
    [6.5, 9.0, 12.0, 15.0, 18.0, 21.0, 24.0, 30.0]
    """
    data = table("plywood")["thickness"]
    found = []
    for nominal, mean, *limits in data["rows"]:
        span = (float(limits[0]), float(limits[1])) if limits else None
        found.append(Ply(float(nominal), float(mean), span, data["source" if limits else "no_limits"]))
    return tuple(found)


def ply_of(layer_mm: float) -> Ply | None:
    """Return the plywood that a layer's thickness [mm] is one of; nothing where it is none.

    Its limits hold the thickness; where none were read, its mean or its nominal thickness is the one stated. Of several
    it is the one with the nearest mean.

    Examples
    --------
    >>> ply_of(17.7).nominal_mm, ply_of(18).mean_mm, ply_of(21).mean_mm, ply_of(19.5)
    (18.0, 17.7, 20.5, None)
    """
    near = [ply for ply in plies() if _holds(ply, layer_mm)]
    return min(near, key=lambda ply: abs(ply.mean_mm - layer_mm), default=None)


def plywood_density_kg_m3() -> tuple[float, float]:
    """Return the least and the greatest density [kg/m³].

    Examples
    --------
    >>> plywood_density_kg_m3()
    (660.0, 710.0)
    """
    least, most = table("plywood")["density"]["kg_m3"]
    return float(least), float(most)


def plywood_sheets_mm() -> tuple[tuple[float, float], ...]:
    """Return the usual sizes of sheets, width and length [mm].

    Examples
    --------
    >>> plywood_sheets_mm()[0]
    (1525.0, 1525.0)
    """
    return tuple((float(width), float(length)) for width, length in table("plywood")["sheets"]["rows"])


def _holds(ply: Ply, layer_mm: float) -> bool:
    if ply.limits_mm is None:
        return min(abs(ply.mean_mm - layer_mm), abs(ply.nominal_mm - layer_mm)) <= TOUCH_MM
    return ply.limits_mm[0] <= layer_mm <= ply.limits_mm[1]
