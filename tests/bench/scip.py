"""The problem put to SCIP through pyscipopt."""

from __future__ import annotations

from math import inf
from time import perf_counter

import numpy as np

from tests.bench.answer import Answer, exact_j
from tests.oracle.milp import Formulation
from tests.oracle.program import LOG_SCALE, Unit

__all__ = ["ask_scip"]

FEASIBLE = 1e-7
"""SCIP's own tolerance of 1e-6, made finer."""


def ask_scip(form: Formulation, limit_s: float) -> Answer:
    """Return what SCIP says within a limit of time, with no gap allowed.

    Raises
    ------
    RuntimeError
        If the solver fails.
    """
    from pyscipopt import Model, quicksum  # an extra of the benchmarks alone, heavy to import

    start = perf_counter()
    matrix = form.program.matrix({Unit.LOG: LOG_SCALE})
    model = Model()
    model.hideOutput()
    model.setParam("limits/time", limit_s)
    model.setParam("limits/gap", 0.0)
    model.setParam("numerics/feastol", FEASIBLE)
    variables = [
        model.addVar(vtype="B" if whole else "C", lb=float(a), ub=float(b), obj=float(cost))
        for a, b, whole, cost in zip(matrix.low, matrix.high, matrix.whole, matrix.cost, strict=True)
    ]
    rows = matrix.rows
    for row, (a, b) in enumerate(zip(matrix.row_low, matrix.row_high, strict=True)):
        span = slice(rows.indptr[row], rows.indptr[row + 1])
        terms = quicksum(
            float(weight) * variables[column]
            for column, weight in zip(rows.indices[span], rows.data[span], strict=True)
        )
        if a == b:
            model.addCons(terms == float(a))
        elif a > -inf and b < inf:
            model.addCons((float(a) <= terms) <= float(b))
        else:
            model.addCons(terms >= float(a) if a > -inf else terms <= float(b))
    building = perf_counter() - start
    start = perf_counter()
    model.optimize()
    seconds = perf_counter() - start
    status = model.getStatus()
    if status == "infeasible":
        return Answer("no design", bound=inf, seconds=seconds, building=building)
    if status not in ("optimal", "timelimit", "gaplimit"):
        raise RuntimeError(f"SCIP says: {status}")
    j = inf
    if model.getNSols():
        best = model.getBestSol()
        values = np.array([model.getSolVal(best, variable) for variable in variables])
        j = exact_j(form.problem, form.stages(values))
    bound = model.getDualbound()
    bound = -inf if abs(bound) >= model.infinity() else bound / LOG_SCALE
    return Answer("time" if status == "timelimit" else "proved", j, bound, seconds, building)
