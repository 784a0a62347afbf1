"""Whether a problem over point sizes leaves something for a tolerance to decide."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, log, prod

import numpy as np

from optimizer.records.problem import Problem, StageProblem
from tests.oracle.choices import Variant, variants
from tests.oracle.plain import small_wrap_deg

__all__ = ["clear_cut"]

NEAR_MM = 2e-5
NEAR_LOG = 1e-7


def clear_cut(problem: Problem) -> bool:
    """Tell whether no pair and no speed lies so near a limit that a tolerance decides.

    Moving every window by a hundred-thousandth of a millimetre then changes neither the designs nor the optimum.
    """
    tables = [
        variants(_loose(rules), count) for rules, count in zip(problem.stages, problem.layout.positions, strict=True)
    ]
    return all(
        _clear_sizes(rules, table) for rules, table in zip(problem.stages, tables, strict=True)
    ) and _clear_speeds(problem, tables)


def _loose(rules: StageProblem) -> StageProblem:
    """Return a stage whose limits lie a little further out, to see the pairs that nearly fit as well."""
    low, high = rules.centre_mm
    return rules.model_copy(
        update={
            "centre_mm": (low - 0.01, high + 0.01),
            "clearance_mm": rules.clearance_mm - 0.01,
            "least_wrap_deg": rules.least_wrap_deg - 0.01,
        }
    )


def _clear_sizes(rules: StageProblem, table: Sequence[Variant]) -> bool:
    for variant in table:
        pairs = sorted({pair for row in variant.rows for pair in row})
        centres = np.array([pair.centre_mm for pair in pairs])
        apart = np.abs(np.abs(centres[:, None] - centres[None, :]) - variant.belt.window_mm)
        if apart.min(initial=inf) < NEAR_MM:
            return False
        for pair in pairs:
            sums = (pair.driver_mm + pair.driven_mm) / 2
            wrap = small_wrap_deg(pair.driver_mm, pair.driven_mm, pair.centre_mm, crossed=rules.crossed)
            margins = (
                pair.centre_mm - rules.centre_mm[0],
                pair.centre_mm - rules.centre_mm[1],
                sums + rules.clearance_mm - pair.centre_mm,
                wrap - rules.least_wrap_deg,
            )
            if min(map(abs, margins)) < NEAR_MM:
                return False
    return True


def _clear_speeds(problem: Problem, tables: Sequence[Sequence[Variant]]) -> bool:
    """Tell whether every speed that any choice of pairs gives is clear of every edge."""
    targets = problem.targets
    speed = problem.motor_rpm * problem.gain_out * prod(rules.gain for rules in problem.stages)
    logs = np.array([log(speed)])
    for table in tables:
        ratios = np.array(sorted({p.log_ratio for v in table for row in v.rows for p in row}))
        logs = np.unique((logs[:, None] + ratios[None, :]).ravel())
    edges = [edge for band in targets.bands for edge in (band.low_rpm, band.high_rpm)]
    edges += [targets.never_above_rpm, targets.never_below_rpm]
    near = [float(np.abs(logs - log(edge)).min(initial=inf)) for edge in edges if 0 < edge < inf]
    return min(near, default=inf) >= NEAR_LOG
