"""What papers and screens say of the sizes of work."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from optimizer.documents.blocks import MARKDOWN, Lines, Rows, Section, Table, Text, table_of
from optimizer.documents.figures import Units, in_units, rpm, short
from optimizer.quantities import SurfaceUnit, surface_figure
from optimizer.records.design import BandSheet
from optimizer.records.sheet import MachineSheet
from optimizer.records.work_size import WorkSheet, WorkSizeSheet
from optimizer.scenario.surfaces import shown_unit, span_words

__all__ = ["band_lines", "surface_words", "told_words", "work_column", "work_section", "work_table"]


def surface_words(speed_m_s: float, units: Units, unit: SurfaceUnit | None = None) -> str:
    """Return a speed along a surface, in ft/min where the maker works in inches and no other unit is asked for.

    Examples
    --------
    >>> surface_words(10.16, "in"), surface_words(6.1851, "mm"), surface_words(1.047198, "in", "m/min")
    ('2000 ft/min', '6.19 m/s', '62.8 m/min')
    """
    shown = shown_unit(units, unit)
    return f"{surface_figure(speed_m_s, shown)} {shown}"


def band_lines(bands: Iterable[BandSheet], units: Units) -> Iterator[str]:
    """Yield what every band wants along a surface, in the terms that it was stated in."""
    for band in bands:
        if (surface := band.surface) is not None:
            said = span_words(surface.of, surface.diameter_mm, surface.wanted_m_s, surface.unit, units)
            yield f"{band.name}: {said}" + (", from which the band's rpm follow" if surface.sets_edges else "")


def work_column(work: WorkSizeSheet, units: Units) -> tuple[str, Mapping[int, str]]:
    """Return head and cells, by speed, of a column for the table of speeds.

    Where every speed is told by the surface of one thing, the head says of what and in which unit.
    """
    things = {(row.of, row.unit, tuple(s.diameter_mm for s in row.surfaces)) for row in work.work}
    if len(things) == 1 and all(row.told for row in work.work):
        ((of, unit, _),) = things
        return f"{of} {unit}", {row.number: surface_figure(row.surfaces[0].speed_m_s, unit) for row in work.work}
    cells: dict[int, list[str]] = {}
    for row in work.work:
        if row.told:
            said = _told(row)
        else:
            suited = row.suited_mm
            said = _suited(suited, work.largest_mm, units) if suited else _surfaces(row, units)
        cells.setdefault(row.number, []).append(said)
    several = {n for n, said in cells.items() if len(set(said)) > 1}
    for number in several:
        named = [row for row in work.work if row.number == number]
        cells[number] = [f"{short(row.band, 14)} {said}" for row, said in zip(named, cells[number], strict=True)]
    return f"work {units}", {number: "; ".join(dict.fromkeys(said)) for number, said in cells.items()}


def told_words(work: WorkSizeSheet | None, number: int) -> str:
    """Return how fast the surfaces run that a speed is told by, such as that of a blade; nothing where none is."""
    rows = work.work if work is not None else ()
    return ", ".join(dict.fromkeys(_told(row) for row in rows if row.told and row.number == number))


def work_table(work: WorkSizeSheet, units: Units) -> Table:
    """Return what suits every speed, with how fast stated diameters run."""
    return table_of(
        work.work,
        ("speed", lambda row: str(row.number)),
        ("rpm", lambda row: rpm(row.rpm)),
        ("band", lambda row: row.band or "none"),
        (f"suits {units}", lambda row: row.suited_mm and _suited(row.suited_mm, work.largest_mm, units)),
        ("surface speed wanted", lambda row: row.wanted_m_s and _wanted(row.wanted_m_s, units, row.unit)),
        ("the band's own work", lambda row: _surfaces(row, units)),
        ("source", lambda row: row.source),
    )


def work_section(work: WorkSizeSheet, machine: MachineSheet, units: Units) -> Section:
    """Return which diameters suit every speed."""
    told = {row.number for row in work.work}
    left = [rpm(speed.rpm) for speed in machine.speeds if speed.number not in told]
    but = f"; nothing is stated that tells of {', '.join(left)} rpm" if left else ""
    blocks = (
        Lines(work.cautions, look="cautions"),
        Text(f"Diameters that suit every speed{but}.", only=MARKDOWN),
        Rows(work_table(work, units), "Work that suits every speed"),
    )
    return Section("Work size", blocks)


def _suited(suited_mm: tuple[float, float], largest_mm: float | None, units: Units) -> str:
    """Return a span of diameters, cut off at the largest that the machine takes."""
    least, most = suited_mm
    if largest_mm is not None and least >= largest_mm:
        return f"all up to {_size(largest_mm, units)}"
    low, high = _size(least, units), _size(most if largest_mm is None else min(most, largest_mm), units)
    return low if low == high else f"{low} to {high}"


def _told(row: WorkSheet) -> str:
    (surface,) = row.surfaces
    return f"{row.of} {surface_figure(surface.speed_m_s, row.unit)} {row.unit}"


def _surfaces(row: WorkSheet, units: Units) -> str:
    return ", ".join(
        f"{_size(s.diameter_mm, units)} at {surface_words(s.speed_m_s, units, row.unit)}" for s in row.surfaces
    )


def _wanted(wanted: tuple[float, float], units: Units, unit: SurfaceUnit) -> str:
    low, high = (surface_words(speed, units, unit) for speed in wanted)
    return low if low == high else f"{low.partition(' ')[0]} to {high}"


def _size(mm: float, units: Units) -> str:
    """Return three digits, as the rules are no finer."""
    return f"{float(f'{in_units(mm, units):.3g}'):.10g}"
