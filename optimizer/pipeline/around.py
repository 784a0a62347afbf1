"""What is told of the room around a machine."""

from __future__ import annotations

import numpy as np

from optimizer.checks.around import gap_kept, gaps_of, state_words
from optimizer.checks.stands import Stands, stands_of
from optimizer.checks.stated import Machine, read_machine
from optimizer.quantities.digits import meaningful
from optimizer.records.built import BuiltMachine
from optimizer.records.mechanics import AroundSheet, GapSheet, ReachSheet
from optimizer.scenario import Scenario

__all__ = ["around_sheet"]


def around_sheet(scenario: Scenario, built: BuiltMachine) -> AroundSheet | None:
    """Return where the shafts stand and what is near what, nothing where no places of shafts are stated."""
    if not any(shaft.at_mm for shaft in scenario.shafts):
        return None
    machine = read_machine(scenario, built)
    stands = stands_of(machine)
    if isinstance(stands, str):
        return None
    gaps = sorted(gaps_of(machine, stands), key=lambda gap: meaningful(gap.gap_mm))
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
