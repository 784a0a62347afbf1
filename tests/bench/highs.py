"""The problem put to HiGHS through scipy.optimize.milp."""

from __future__ import annotations

from math import inf
from time import perf_counter

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from tests.bench.answer import Answer, exact_j
from tests.oracle.milp import Formulation
from tests.oracle.program import LOG_SCALE, Unit

__all__ = ["ask_highs"]

OUT_OF_TIME, NO_DESIGN = 1, 2


def ask_highs(form: Formulation, limit_s: float) -> Answer:
    """Return what HiGHS says within a limit of time, with no gap allowed.

    Raises
    ------
    RuntimeError
        If the solver fails.
    """
    start = perf_counter()
    matrix = form.program.matrix({Unit.LOG: LOG_SCALE})
    constraints = LinearConstraint(matrix.rows, matrix.row_low, matrix.row_high)
    building = perf_counter() - start
    start = perf_counter()
    said = milp(
        matrix.cost,
        integrality=matrix.whole.astype(np.int64),
        bounds=Bounds(matrix.low, matrix.high),
        constraints=constraints,
        options={"mip_rel_gap": 0.0, "time_limit": limit_s},
    )
    seconds = perf_counter() - start
    if said.status == NO_DESIGN:
        return Answer("no design", bound=inf, seconds=seconds, building=building)
    if said.status not in (0, OUT_OF_TIME):
        raise RuntimeError(f"HiGHS says: {said.message}")
    j = inf if said.x is None else exact_j(form.problem, form.stages(said.x))
    bound = -inf if said.mip_dual_bound is None else said.mip_dual_bound / LOG_SCALE
    return Answer("time" if said.status == OUT_OF_TIME else "proved", j, bound, seconds, building)
