"""The plate of a machine with a middle shaft."""

from __future__ import annotations

from optimizer.geometry.belts import small_wrap_deg
from optimizer.records.middle import MiddleCandidate
from optimizer.records.middle_rules import middle_logs
from optimizer.records.plate import Plate, PlateRules, Way, chosen_plate

__all__ = ["plate_of"]


def plate_of(candidate: MiddleCandidate) -> Plate:
    """Return the plate of a design, positions as levels (from 0) of the first and second belt."""
    problem = candidate.problem
    ways = []
    for log, position in zip(middle_logs(problem, candidate.stages), problem.positions, strict=True):
        wraps, pulleys = [], []
        for rules, sizes, level in zip(problem.stages, candidate.stages, position, strict=True):
            p = sizes.positions[level]
            wraps.append(float(small_wrap_deg(p.driver_mm, p.driven_mm, p.centre_mm, crossed=rules.crossed)))
            pulleys += [p.driver_mm, p.driven_mm]
        ways.append(Way(log, position, min(wraps), min(pulleys)))
    return chosen_plate(ways, PlateRules(problem.targets.bands, problem.targets.distinct))
