"""The problem put to OR-tools CP-SAT in whole numbers."""

from __future__ import annotations

from math import inf
from time import perf_counter
from typing import Any

import numpy as np

from tests.bench.answer import Answer, exact_j
from tests.oracle.milp import Formulation
from tests.oracle.program import Matrix, Unit

__all__ = ["ask_cp_sat"]

WORKERS = 2
SCALES = {Unit.LOG: 1e8, Unit.MM: 1e5}
"""Logarithms are counted in units of 1e-8, centre distances in units of 1e-5 mm, each rounded."""
NO_END = 2**40


def ask_cp_sat(form: Formulation, limit_s: float) -> Answer:
    """Return what CP-SAT says within a limit of time, with two workers.

    Every figure is rounded to a whole number of its unit, so J of a design is known to it within a few 1e-8;
    the design it finds is worked out again without rounding.

    Raises
    ------
    RuntimeError
        If the solver fails.
    """
    from ortools.sat.python import cp_model  # an extra of the benchmarks alone, heavy to import

    start = perf_counter()
    matrix = form.program.matrix(dict(SCALES))
    model, variables = _model(cp_model, matrix)
    building = perf_counter() - start
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.max_time_in_seconds = limit_s
    solver.parameters.random_seed = 1
    start = perf_counter()
    status = solver.solve(model)
    seconds = perf_counter() - start
    if status == cp_model.INFEASIBLE:
        return Answer("no design", bound=inf, seconds=seconds, building=building)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.UNKNOWN):
        raise RuntimeError(f"CP-SAT says: {solver.status_name(status)}")
    bound = solver.best_objective_bound / SCALES[Unit.LOG]
    if status == cp_model.UNKNOWN:
        return Answer("time", bound=bound, seconds=seconds, building=building)
    values = np.array([float(solver.value(variable)) for variable in variables])
    j = exact_j(form.problem, form.stages(values))
    return Answer("proved" if status == cp_model.OPTIMAL else "time", j, bound, seconds, building)


def _model(cp_model: Any, matrix: Matrix) -> tuple[Any, list[Any]]:
    model = cp_model.CpModel()
    low, high = np.floor(matrix.low).astype(np.int64), np.ceil(matrix.high).astype(np.int64)
    variables = [
        model.new_bool_var("") if whole and b == 1 else model.new_int_var(int(a), int(b), "")
        for a, b, whole in zip(low, high, matrix.whole, strict=True)
    ]
    rows = matrix.rows
    for row, (a, b) in enumerate(zip(matrix.row_low, matrix.row_high, strict=True)):
        span = slice(rows.indptr[row], rows.indptr[row + 1])
        terms = [variables[column] for column in rows.indices[span]]
        weights = [int(weight) for weight in np.rint(rows.data[span])]
        if a == b == 1 and all(weight == 1 for weight in weights) and all(matrix.whole[rows.indices[span]]):
            model.add_exactly_one(terms)
            continue
        sums = cp_model.LinearExpr.weighted_sum(terms, weights)
        domain = cp_model.Domain(-NO_END if a == -inf else int(np.rint(a)), NO_END if b == inf else int(np.rint(b)))
        model.add_linear_expression_in_domain(sums, domain)
    aims = np.flatnonzero(matrix.cost)
    costs = [float(matrix.cost[k]) for k in aims]
    model.minimize(cp_model.LinearExpr.weighted_sum([variables[k] for k in aims], costs))
    return model, variables
