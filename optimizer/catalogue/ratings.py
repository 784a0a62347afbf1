"""What belts of a section carry, by every source that counts."""

from __future__ import annotations

from functools import cache
from math import log10, pi
from typing import Any

from optimizer.catalogue.entry import INCH_MM, Grade, Section, table
from optimizer.mechanics.carrying import Factors, FrictionRating, Points, Rating, TableRating, VRating

__all__ = ["ratings_of"]

HP_KW = 0.45359237 * 9.80665 * 0.3048 * 550 / 1000
FT_MIN_M_S = 0.3048 / 60


def ratings_of(section: Section, *, flat_rim: bool = False, grade: Grade = "ordinary") -> tuple[Rating, ...]:
    """Return what is known of the power that belts of a section carry; nothing where no source is known.

    Parameters
    ----------
    section
        The belt's section; round and flat ones with their size.
    flat_rim
        Whether a V-belt runs on a rim without a groove on one of the pulleys.
    grade
        How strong the belt is; by default the weaker kind counts.

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> [rating.source for rating in ratings_of(section("AX"))]
    ['IP-20:1988 as reprinted (read)']
    >>> ratings_of(section("PJ 6"))
    ()
    """
    if section.kind == "flat":
        return _flat(section)
    if section.kind == "round":
        return _round(section)
    return _v_ratings(section.name, flat_rim, grade)


@cache
def _v_ratings(name: str, flat_rim: bool, grade: Grade) -> tuple[Rating, ...]:
    named = table("ratings")["section"].get(name)
    if named is None:
        return ()
    factors = _factors(named["length"], flat_rim=flat_rim)
    return tuple(_v_rating(name, factors) for name in named[grade])


def _v_rating(name: str, factors: Factors) -> Rating:
    data = table("ratings")
    if name in data["table"]:
        return _table(data["table"][name], factors)
    row = data["formula"][name]
    k1, k2, k3, k4 = row["k"]
    if row["units"] == "inch":
        k1, k2, k3, k4 = _metric(k1, k2, k3, k4)
    ratio = _ratio() if row.get("ratio") else ()
    return VRating(row["source"], k1, k2, k3, k4, factors, row.get("share", 1.0), ratio)


def _metric(k1: float, k2: float, k3: float, k4: float) -> tuple[float, float, float, float]:
    """Return coefficients for kW and mm from those for hp and inches; ``log10(x/25.4)`` adds to the first.

    Examples
    --------
    >>> a = _metric(1.004, 1.652, 1.547e-4, 0.2126)
    >>> x = 140 * 1.45
    >>> from math import log10
    >>> round(x * (a[0] - a[1] / 140 - a[2] * x**2 - a[3] * log10(x)), 3)
    2.995
    """
    from_inch = HP_KW / INCH_MM
    lift = log10(INCH_MM)
    return (k1 + k4 * lift) * from_inch, k2 * HP_KW, k3 * from_inch / INCH_MM**2, k4 * from_inch


def _ratio() -> Points:
    """Return the ratio factor as points: at the end of each span of ratios what holds throughout it, so never more."""
    row = table("ratings")["ratio"]
    starts, factors = row["from"], row["factor"]
    return ((starts[0], factors[0]), *zip(starts[1:], factors[:-1], strict=True), (2 * starts[-1], factors[-1]))


def _factors(length: str, *, flat_rim: bool) -> Factors:
    data = table("ratings")
    arc = data["arc"]
    factors = arc["flat_rim" if flat_rim else "grooved"]
    arcs = tuple(zip(map(float, arc["degrees"]), factors, strict=True))
    return Factors(arcs, tuple((float(mm), factor) for mm, factor in data["length"][length]))


def _table(row: dict[str, Any], factors: Factors) -> TableRating:
    rows = tuple((size * INCH_MM, tuple(hp * HP_KW for hp in powers)) for size, powers in row["rows"])
    return TableRating(row["source"], tuple(v * FT_MIN_M_S for v in row["speeds_ft_min"]), rows, factors)


def _flat(section: Section) -> tuple[Rating, ...]:
    data = table("ratings")["flat"]
    return tuple(
        FrictionRating(
            row["source"],
            row["pull_n_mm"] * section.top_mm
            if "pull_n_mm" in row
            else row["stress_mpa"] * section.top_mm * section.height_mm,
            section.kg_per_m,
            data["friction"],
        )
        for row in data["rating"]
    )


def _round(section: Section) -> tuple[Rating, ...]:
    data = table("ratings")["round"]
    area_mm2 = pi / 4 * section.height_mm**2
    return (
        FrictionRating(
            data["source"], data["stress_mpa"] * area_mm2, section.kg_per_m, data["friction"], stretched=True
        ),
    )
