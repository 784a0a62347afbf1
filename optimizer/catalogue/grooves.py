"""Grooves by section with their angles by diameter."""

from __future__ import annotations

from functools import cache
from math import pi, radians, tan
from typing import Literal

from optimizer.catalogue.entry import INCH_MM, CatalogueError, Entry, Section, table
from optimizer.catalogue.lines import GrooveKind
from optimizer.geometry.grooves import floor_width_mm, over_pins_mm

__all__ = [
    "Groove",
    "alignment_mm",
    "flank_runout_mm",
    "groove",
    "over_pins",
    "preferred_datum_mm",
    "rim_width_mm",
    "step_volume_mm3",
]

Standard = Literal["metric", "inch"]

EDGE = 1e-9
"""Rounding that does not move a diameter into another row."""


class Groove(Entry):
    """The groove, or the plain rim, that a belt runs on at one diameter."""

    kind: Literal["v", "ribbed", "round", "flat", "crowned"]
    angle_deg: float
    """Angle between the flanks; 0 where there are none."""
    top_width_mm: float
    """Width at the rim; on a plain rim the width of the belt."""
    depth_mm: float
    """Depth below the rim; 0 on a plain rim."""
    outside_less_datum_mm: float
    e_mm: float
    """Distance of neighbouring grooves."""
    f_mm: float
    """Distance from the middle of the outer groove to the edge of the rim."""
    angle_tolerance_deg: float
    source: str


class AngleRow(Entry):
    """One angle of a groove with the diameters it holds for."""

    deg: float
    at_least: float | None = None
    above: float | None = None
    top: float | None = None

    def holds_from(self, size: float) -> bool:
        """Tell whether the diameter has reached this row."""
        if self.at_least is not None:
            return size >= self.at_least - EDGE
        return size > (self.above or 0.0) + EDGE


class GrooveRow(Entry):
    """The grooves of some sections by one standard."""

    sections: tuple[str, ...]
    standard: Standard
    unit: Literal["mm", "in"]
    measured: Literal["datum", "outside"]
    angles: tuple[AngleRow, ...]
    depth: float | None = None
    pitch: float | None = None
    edge: float | None = None
    outside_less_datum: float | None = None
    source: str


def groove(
    section: Section, datum_mm: float, groove_kind: GrooveKind = "v", standard: Standard | None = None
) -> Groove:
    """Return the groove for a belt at a datum diameter.

    The width at the rim is ``datum width + 2·b·tan(α/2)`` where the standard prints none.

    Parameters
    ----------
    section
        The belt section.
    datum_mm
        Datum diameter [mm].
    groove_kind
        ``"v"`` for the groove made for the section, ``"flat"`` or ``"crowned"`` for a plain rim.
    standard
        ``"metric"`` or ``"inch"`` where a section has grooves by both; metric where it has.

    Raises
    ------
    CatalogueError
        The section has no groove by that standard.

    Examples
    --------
    GOST 20889-88 (read) for section A: 34° up to 112 mm, 38° from 180 mm; the widths 13.02 and 13.27 mm
    follow.

    >>> from optimizer.catalogue.sections import section
    >>> for datum_mm in (100, 200):
    ...     found = groove(section("A"), datum_mm)
    ...     print(found.angle_deg, round(found.top_width_mm, 2), found.depth_mm)
    34.0 13.02 12.0
    38.0 13.27 12.0
    """
    if groove_kind != "v" or section.kind == "flat":
        return _plain_rim(section, "flat" if groove_kind == "v" else groove_kind)
    if section.kind == "v":
        return _v_groove(section, datum_mm, _row(section.name, standard))
    return Groove(
        kind=section.kind,
        angle_deg=table("families")["ribbed"]["angle_deg"] if section.kind == "ribbed" else 0.0,
        top_width_mm=section.top_mm,
        depth_mm=section.above_mm + section.below_mm,
        outside_less_datum_mm=2 * section.above_mm,
        e_mm=section.e_mm,
        f_mm=section.f_mm,
        angle_tolerance_deg=table("grooves")["angle_tolerance_deg"],
        source=section.sources["groove"],
    )


def over_pins(section: Section, datum_mm: float, groove_kind: GrooveKind = "v") -> tuple[float, float] | None:
    """Return the size over two gauge pins laid in the groove, and the diameter of those pins [mm].

    By the section's standard where it names a take-off, otherwise from the groove's angle and width at the rim;
    nothing where there is no groove or no pins are named.

    Examples
    --------
    GOST 20889-88 (read): 17.0 mm over the datum diameter, with 12 mm pins, for section A.

    >>> from optimizer.catalogue.sections import section
    >>> over_pins(section("A"), 100.0), over_pins(section("A"), 100.0, "flat")
    ((117.0, 12.0), None)
    """
    if groove_kind != "v" or section.pins is None:
        return None
    pin = section.pins.pin_mm
    if section.pins.take_off_mm is not None:
        return datum_mm + section.pins.take_off_mm, pin
    cut = groove(section, datum_mm, groove_kind)
    return over_pins_mm(datum_mm + cut.outside_less_datum_mm, cut.top_width_mm, cut.angle_deg, pin), pin


def rim_width_mm(section: Section, belts: int = 1) -> float:
    """Return the width of a pulley's rim, ``(n − 1)·e + 2·f`` [mm].

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> rim_width_mm(section("A")), rim_width_mm(section("A"), 2)
    (20.0, 35.0)
    """
    count = section.ribs * belts if section.ribs else belts
    return (count - 1) * section.e_mm + 2 * section.f_mm


def step_volume_mm3(cut: Groove, outside_mm: float, width_mm: float, bore_mm: float) -> float:
    """Return the volume of a finished step: the disc less bore and groove [mm³].

    The groove's volume is its area times the way of its centroid around the axis (Pappus, Guldin).

    Examples
    --------
    A plain disc of 200 mm, 36 mm wide, bored 20 mm, is π/4·(200² − 20²)·36 mm³:

    >>> from optimizer.catalogue.sections import section
    >>> round(step_volume_mm3(groove(section("A"), 200, "flat"), 200, 36, 20))
    1119664
    """
    disc = pi / 4 * (outside_mm**2 - bore_mm**2) * width_mm
    top, depth, rim = cut.top_width_mm, cut.depth_mm, outside_mm / 2
    if cut.kind == "round":
        area, down = pi * top**2 / 8, 4 * (top / 2) / (3 * pi)
    elif not cut.angle_deg or not depth:
        return disc
    elif cut.kind == "ribbed":
        area, down = top * depth / 2, depth / 3
    else:
        floor = floor_width_mm(top, cut.angle_deg, depth)
        sunk = depth if floor else min(depth, top / 2 / tan(radians(cut.angle_deg) / 2))
        area, down = (top + floor) / 2 * sunk, sunk / 3 * (top + 2 * floor) / (top + floor)
    return disc - 2 * pi * (rim - down) * area


def flank_runout_mm(diameter_mm: float, speed_rpm: float) -> float:
    """Return how much the flanks of a groove may run out [mm].

    Per 100 mm of diameter 0.20 mm to 8 revolutions a second, 0.15 mm to 16, 0.10 mm above (GOST 20889-88,
    read).

    Examples
    --------
    >>> flank_runout_mm(200.0, 480.0), flank_runout_mm(200.0, 1420.0)
    (0.4, 0.2)
    """
    rows = table("grooves")["runout"]["rows"]
    per_100 = next(row["mm"] for row in rows if speed_rpm / 60 <= row["rev_per_s"])
    return float(per_100) * diameter_mm / 100


def alignment_mm(centre_mm: float) -> float:
    """Return how far two facing grooves may lie out of line, 2 mm per metre of centre distance [mm].

    Source: GOST 20889-88, read.

    Examples
    --------
    >>> alignment_mm(250.0)
    0.5
    """
    return float(table("grooves")["alignment_mm_per_m"]) * centre_mm / 1000


def preferred_datum_mm(second: bool = True) -> tuple[float, ...]:
    """Return the preferred datum diameters from 50 to 250 mm, with those of second choice or without [mm].

    Examples
    --------
    >>> preferred_datum_mm(second=False)[:4], preferred_datum_mm()[:4]
    ((50.0, 56.0, 63.0, 71.0), (50.0, 53.0, 56.0, 60.0))
    """
    lists = table("grooves")["preferred"]
    return tuple(sorted(map(float, [*lists["first_mm"], *(lists["second_mm"] if second else [])])))


@cache
def _rows() -> tuple[GrooveRow, ...]:
    """Return the rows of the data file."""
    rows = []
    for row in table("grooves")["groove"]:
        angles = [{("at_least" if key == "from" else key): v for key, v in a.items()} for a in row["angles"]]
        rows.append(GrooveRow(**{**row, "angles": angles}))
    return tuple(rows)


def _row(name: str, standard: Standard | None) -> GrooveRow:
    """Return a section's row by the standard, the first one where none is named."""
    rows = [row for row in _rows() if name in row.sections]
    for row in rows:
        if standard in (None, row.standard):
            return row
    there = ", ".join(row.standard for row in rows)
    raise CatalogueError(f"section {name} has no such grooves", str(standard), there)


def _v_groove(section: Section, datum_mm: float, row: GrooveRow) -> Groove:
    """Return a V-groove by one standard."""
    factor = INCH_MM if row.unit == "in" else 1.0
    shift = 2 * section.above_mm if row.outside_less_datum is None else row.outside_less_datum * factor
    size = (datum_mm + (shift if row.measured == "outside" else 0.0)) / factor
    angle = next((a for a in reversed(row.angles) if a.holds_from(size)), row.angles[0])
    reckoned = section.datum_width_mm + shift * tan(radians(angle.deg / 2))
    return Groove(
        kind="v",
        angle_deg=angle.deg,
        top_width_mm=reckoned if angle.top is None else angle.top * factor,
        depth_mm=section.above_mm + section.below_mm if row.depth is None else row.depth * factor,
        outside_less_datum_mm=shift,
        e_mm=section.e_mm if row.pitch is None else row.pitch * factor,
        f_mm=section.f_mm if row.edge is None else row.edge * factor,
        angle_tolerance_deg=table("grooves")["angle_tolerance_deg"],
        source=row.source,
    )


def _plain_rim(section: Section, kind: Literal["flat", "crowned"]) -> Groove:
    """Return a rim without a groove; as wide as the belt at least."""
    return Groove(
        kind=kind,
        angle_deg=0.0,
        top_width_mm=section.top_mm,
        depth_mm=0.0,
        outside_less_datum_mm=2 * (section.datum_depth_mm - section.height_mm),
        e_mm=section.e_mm,
        f_mm=section.f_mm,
        angle_tolerance_deg=0.0,
        source="the belt rests on the rim (computed)",
    )
