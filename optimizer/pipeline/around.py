"""What is told of the room around a machine, and of the sizes of work it suits."""

from __future__ import annotations

import numpy as np

from optimizer.checks.around import gap_kept, gaps_of, state_words
from optimizer.checks.stands import Stands, stands_of
from optimizer.checks.stated import Machine, read_machine
from optimizer.checks.work_size import WorkAt, work_at
from optimizer.records.around import AroundSheet, GapSheet, ReachSheet
from optimizer.records.built import BuiltMachine
from optimizer.records.work_size import SurfaceSheet, WorkSheet, WorkSizeSheet
from optimizer.scenario import Scenario

__all__ = ["around_sheet", "work_size_sheet"]

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


def around_sheet(scenario: Scenario, built: BuiltMachine) -> AroundSheet | None:
    """Return where the shafts stand and what is near what, nothing where no places of shafts are stated."""
    if not any(shaft.at_mm for shaft in scenario.shafts):
        return None
    machine = read_machine(scenario, built)
    stands = stands_of(machine)
    if isinstance(stands, str):
        return None
    gaps = sorted(gaps_of(machine, stands), key=lambda gap: gap.gap_mm)
    return AroundSheet(
        least_gap_mm=gap_kept(machine),
        shafts=_reaches(machine, stands),
        unknown=tuple(stands.unknown),
        gaps=tuple(
            GapSheet(
                one=gap.one.name,
                other=gap.other.name,
                gap_mm=gap.gap_mm,
                placed=gap.placed,
                state=state_words(gap.state),
            )
            for gap in gaps
        ),
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


def _reaches(machine: Machine, stands: Stands) -> tuple[ReachSheet, ...]:
    """Return from where to where every axis moves; a shaft that cannot be brought anywhere is left out."""
    found = []
    for name in dict.fromkeys(name for s in machine.scenario.chain for name in (s.from_shaft, s.to_shaft)):
        if name in stands.unknown:
            continue
        places = stands.shaft(machine.scenario.shaft(name))
        places = places[~np.isnan(places).any(axis=1)]
        if len(places):
            low, high = ((edge.round(6) + 0.0).tolist() for edge in (places.min(axis=0), places.max(axis=0)))
            found.append(ReachSheet(shaft=name, x_mm=(low[0], high[0]), y_mm=(low[1], high[1])))
    return tuple(found)


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
        surfaces=tuple(SurfaceSheet(diameter_mm=size, speed_m_s=speed) for size, speed in row.surfaces),
    )
