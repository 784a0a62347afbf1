"""Belt sections that come in many sizes."""

from __future__ import annotations

import re
from fractions import Fraction
from math import inf, isfinite, pi

from optimizer.catalogue.entry import INCH_MM, CatalogueError, Section, table

__all__ = ["flat_section", "ribbed_section", "round_section"]

MOST_RIBS = 40


def ribbed_section(size: str) -> Section:
    """Return the ribbed section with the number of ribs written in `size`, four where it is empty.

    Its datum line is the effective line at the rim of the pulley; the pitch line lies outside it.

    Raises
    ------
    CatalogueError
        The number of ribs cannot be read.

    Examples
    --------
    >>> belt = ribbed_section("6")
    >>> belt.name, round(belt.top_mm, 2), belt.pitch_shift_mm
    ('PJ 6', 14.04, 2.4)
    """
    data = table("families")["ribbed"]
    if size and not (size.isdecimal() and 1 <= int(size) <= MOST_RIBS):
        raise CatalogueError(
            "the number of ribs cannot be read",
            repr(size),
            f"a whole number from 1 to {MOST_RIBS}",
            'write "PJ 6"',
        )
    ribs = int(size) if size else int(data["ribs"])
    width, depth = data["rib_pitch_mm"] * ribs, data["rib_depth_mm"]
    return Section(
        name=f"{data['name']} {ribs}",
        title=f"ribbed belt {data['name']}, {ribs} ribs",
        kind="ribbed",
        top_mm=width,
        height_mm=data["height_mm"],
        datum_width_mm=width,
        datum_depth_mm=data["height_mm"] - depth,
        above_mm=0.0,
        below_mm=depth,
        e_mm=data["rib_pitch_mm"],
        f_mm=data["edge_mm"],
        smallest_datum_mm=data["smallest_mm"],
        preferred_datum_mm=data["smallest_mm"],
        pitch_shift_mm=2 * data["effective_to_pitch_mm"],
        default_measured="outside",
        kg_per_m=data["kg_per_m_rib"] * ribs,
        default_series="inch",
        ribs=ribs,
        sources=data["sources"],
    )


def round_section(size: str) -> Section:
    """Return the round section whose diameter is written in `size`, in mm unless it says inches.

    Its datum and pitch line is its middle, which lies at the rim of a half-round seat.

    Raises
    ------
    CatalogueError
        The diameter is missing or cannot be read.

    Examples
    --------
    >>> belt = round_section("5/16 in")
    >>> belt.name, belt.smallest_datum_mm, round(belt.kg_per_m, 3)
    ('round 7.9375', 55.0, 0.059)
    """
    data = table("families")["round"]
    (thick,) = _size_mm(size, 1, "round 8")
    smallest = next((float(least) for most, least in data["smallest"] if thick <= most), data["beyond"] * thick)
    return Section(
        name=f"round {thick:.10g}",
        title=f"round belt, {thick:.10g} mm",
        kind="round",
        top_mm=thick,
        height_mm=thick,
        datum_width_mm=thick,
        datum_depth_mm=thick / 2,
        above_mm=0.0,
        below_mm=thick / 2,
        e_mm=1.5 * thick,
        f_mm=thick,
        smallest_datum_mm=smallest,
        preferred_datum_mm=smallest,
        kg_per_m=pi / 4 * thick**2 * data["density_kg_m3"] * 1e-6,
        default_series=None,
        sources=data["sources"],
    )


def flat_section(size: str) -> Section:
    """Return the flat section whose thickness and width are written in `size`, in mm unless it says inches.

    Its datum line is its inner face, which lies on the rim; its pitch line is the middle of its thickness.

    Raises
    ------
    CatalogueError
        Thickness or width is missing or cannot be read.

    Examples
    --------
    >>> belt = flat_section("1/8 x 2 in")
    >>> belt.name, belt.smallest_datum_mm, belt.pitch_shift_mm
    ('flat 3.175x50.8', 63.5, 3.175)
    """
    data = table("families")["flat"]
    thick, wide = _size_mm(size, 2, "flat 3x40")
    return Section(
        name=f"flat {thick:.10g}x{wide:.10g}",
        title=f"flat belt, {thick:.10g} mm thick, {wide:.10g} mm wide",
        kind="flat",
        top_mm=wide,
        height_mm=thick,
        datum_width_mm=wide,
        datum_depth_mm=thick,
        above_mm=0.0,
        below_mm=0.0,
        e_mm=wide,
        f_mm=wide / 2,
        smallest_datum_mm=data["smallest_over_thickness"] * thick,
        preferred_datum_mm=data["preferred_over_thickness"] * thick,
        pitch_shift_mm=thick,
        default_measured="outside",
        kg_per_m=thick * wide * data["density_kg_m3"] * 1e-6,
        default_series=None,
        sources=data["sources"],
    )


def _size_mm(size: str, count: int, example: str) -> tuple[float, ...]:
    """Return the sizes written in a section's name [mm]."""
    text = size.lower().replace("×", "x").strip()
    factor = 1.0
    for unit, scale in (("mm", 1.0), ("inch", INCH_MM), ("in", INCH_MM), ('"', INCH_MM)):
        if text.endswith(unit):
            text, factor = text[: -len(unit)].strip(), scale
            break
    values = tuple(_number(part) * factor for part in text.split("x"))
    if len(values) != count or not all(0 < value < inf for value in values):
        named = "a diameter" if count == 1 else "a thickness and a width"
        raise CatalogueError(
            "the size of the belt section cannot be read",
            repr(size),
            f"{named} above 0",
            f'write "{example}"',
        )
    return values


def _number(text: str) -> float:
    """Return a decimal or shop fraction such as `1 1/2`, not a number where it is neither."""
    if not re.fullmatch(r"\d+(\.\d+)?|(\d+[ -])?\d+/\d+|\.\d+", text.strip()):
        return float("nan")
    try:
        value = float(sum(Fraction(part) for part in re.split(r"[ -]", text.strip())))
    except ZeroDivisionError:
        return float("nan")
    return value if isfinite(value) else float("nan")
