"""What is told of the sizes of work, tool, or wheel that a machine suits, and of how fast their surface runs."""

from __future__ import annotations

from optimizer.checks.spindle import WorkAt, work_at
from optimizer.checks.stated import read_machine
from optimizer.quantities import RIM_SPEED, SurfaceUnit
from optimizer.records.built import BuiltMachine
from optimizer.records.mechanics import BandSurface, SurfaceSheet, WorkSheet, WorkSizeSheet
from optimizer.scenario import Band, Scenario
from optimizer.scenario.surfaces import shown_unit

__all__ = ["band_surface", "work_size_sheet"]

ROUGH = (
    "Rough, glued-up, cracked or unbalanced work starts at the slowest speed, whatever this table says, and is run "
    "faster only once it runs true. Stand out of its plane when it starts."
)
FAST = (
    "Never run a grinding wheel, disc, saw or bit above the speed marked on it, whatever this table says. Take it off, "
    "or lock the belt where it is, before anyone sets a faster speed."
)
HELD = (
    "Check before every start that work, chuck, faceplate or wheel are fast; tie up hair and sleeves, guard the eyes."
)


def work_size_sheet(scenario: Scenario, built: BuiltMachine) -> WorkSizeSheet | None:
    """Return what is told of work at every speed, nothing where the maker states nothing of it."""
    rows = work_at(read_machine(scenario, built))
    if not rows:
        return None
    wood = all(row.rule is not None and row.rule.name == "wood turning" and not row.surfaces for row in rows)
    return WorkSizeSheet(
        largest_mm=scenario.work.largest_mm,
        work=tuple(map(_work, rows)),
        cautions=(ROUGH, HELD) if wood else (FAST, ROUGH, HELD),
    )


def band_surface(scenario: Scenario, band: Band) -> BandSurface | None:
    """Return what a band wants along the surface of its own diameters, nothing where it does not state both."""
    if band.work_mm is None or band.surface_speed_m_s is None:
        return None
    unit = shown_unit(scenario.units, band.surface_unit, scenario.work.surface_unit)
    low, high = band.surface_speed_m_s
    return BandSurface(
        of=band.of,
        diameter_mm=band.work_mm,
        wanted_m_s=(low, high),
        wanted=(_in_unit(low, unit), _in_unit(high, unit)),
        unit=unit,
        told=band.told_mm is not None,
        sets_edges=band.by_surface,
    )


def _work(row: WorkAt) -> WorkSheet:
    rule = row.rule
    return WorkSheet(
        number=row.number,
        rpm=row.rpm,
        band=row.band,
        rule=None if rule is None else rule.name,
        wanted_m_s=None if rule is None else (rule.least_m_s, rule.most_m_s),
        source="" if rule is None else rule.source,
        suited_mm=row.suited_mm,
        surfaces=tuple(
            SurfaceSheet(diameter_mm=size, speed_m_s=speed, speed=_in_unit(speed, row.unit), unit=row.unit)
            for size, speed in row.surfaces
        ),
        of=row.of,
        unit=row.unit,
        told=row.told,
    )


def _in_unit(speed_m_s: float, unit: SurfaceUnit) -> float:
    """Return a speed in a unit, rounded to a millionth, so that what was written reads as it was."""
    return round(speed_m_s / float(RIM_SPEED.words[unit]), 6)
