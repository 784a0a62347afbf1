"""The smooth problem solved by scipy, its answer polished, then rounded."""

from __future__ import annotations

from math import inf
from typing import Any, Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError
from scipy.optimize import Bounds, minimize

from optimizer.records import Candidate, StageSizes
from optimizer.records.refined import Refined, SolverReport
from optimizer.records.speeds import log_speeds
from optimizer.refine.constraints import Row, bounds_of, rows_of
from optimizer.refine.rounding import round_sizes
from optimizer.refine.variables import CENTRE_SCALE_MM, Variables
from optimizer.scoring import j_of
from optimizer.series import end_miss, unevenness

__all__ = ["refine"]

Floats = NDArray[np.float64]
Vector = np.ndarray[tuple[int], np.dtype[np.float64]]
SCALE = 100.0
"""Factor on J in the solver's objective."""
NEAR = 1e-4
"""Weight of the distance from the candidate: settles which of many equally good answers is taken."""
ACTIVE = 1e-6
"""A limit binds when its room is less than this, as a logarithm or a share of a length."""
NOT_WORSE = 1e-9
METHOD: Final = "SLSQP"
LOCKED_MM = 1e-9


class _Answer(NamedTuple):
    stages: tuple[StageSizes, ...]
    vector: Floats
    rows: list[Row]
    bounds: tuple[Floats, Floats]
    variables: Variables


def refine(candidate: Candidate, structural: float) -> Refined:
    """Return the candidate refined to real diameters and rounded to what can be turned.

    Every turned diameter and every centre distance moves; the sum of end miss and unevenness is made least under
    all hard rules, in the epigraph form: variables a, ln φ, δ and ε beside the sizes, and for every speed
    ``|ln n_k − a − k·ln φ| <= δ``. Gradients are exact. The answer counts only if it builds a candidate again and
    is no worse.

    Parameters
    ----------
    candidate
        Sizes that keep every hard rule.
    structural
        Lower bound of J for any real diameters.

    Returns
    -------
    Sizes before and after rounding, what binds, and how the solver ended.
    """
    problem = candidate.problem
    before = j_of(problem.targets, log_speeds(problem, candidate.stages))
    variables = Variables.of(candidate)
    if all(spot.driver < 0 and spot.driven < 0 for spot in variables.spots):
        report = SolverReport(method="none", success=True, status=0, message="nothing is turned", iterations=0)
        return _result(candidate, structural, (before, before), (candidate.stages, report, "nothing is turned"))
    answer, report = _solved(variables)
    refused, after = _refusal(candidate, answer, before)
    if refused:
        return _result(candidate, structural, (before, before), (candidate.stages, report, refused))
    binding = () if after <= structural + 1e-6 else _binding(answer)
    why = f"J fell from {before:.2e} to {after:.2e}" if after < before - NOT_WORSE else "it is no worse"
    return _result(candidate, structural, (before, after), (answer.stages, report, why), binding)


def _result(
    candidate: Candidate,
    structural: float,
    j: tuple[float, float],
    outcome: tuple[tuple[StageSizes, ...], SolverReport, str],
    binding: tuple[str, ...] = (),
) -> Refined:
    stages, report, why = outcome
    return Refined(
        solver=report,
        kept="candidate" if stages is candidate.stages else "refined",
        why=why,
        candidate_j=j[0],
        smooth=stages,
        smooth_j=j[1],
        structural=structural,
        binding=binding,
        rounded=round_sizes(candidate.problem, stages),
    )


def _solved(variables: Variables) -> tuple[_Answer, SolverReport]:
    rows = rows_of(variables)
    low, high = bounds_of(variables)
    start: Vector = np.clip(variables.start(_line(variables)), low, high).reshape(variables.size)
    sizes = variables.size - 4
    targets = variables.problem.targets
    weights = np.array([targets.unevenness_weight, targets.end_weight])

    def objective(vector: Vector) -> tuple[float, Vector]:
        away = vector[:sizes] - start[:sizes]
        gradient = np.zeros_like(vector)
        gradient[:sizes] = 2 * NEAR * away
        gradient[-2:] = SCALE * weights
        return float(SCALE * (weights @ vector[-2:]) + NEAR * (away @ away)), gradient

    result = minimize(
        objective,
        start,
        jac=True,
        method=METHOD,
        bounds=Bounds(low, high),
        constraints=[
            _stack([row for row in rows if row.equal], "eq", variables.size),
            _stack([row for row in rows if not row.equal], "ineq", variables.size),
        ],
        options={"maxiter": 300, "ftol": 1e-11},
    )
    report = SolverReport(
        method=METHOD,
        success=bool(result.success),
        status=int(result.status),
        message=str(result.message),
        iterations=int(result.nit),
    )
    vector = np.clip(np.asarray(result.x, dtype=np.float64), low, high)
    return _Answer(variables.stages(vector), vector, rows, (low, high), variables), report


def _stack(rows: list[Row], kind: Literal["eq", "ineq"], size: int) -> Any:
    """Return the rows as one function with its Jacobian, linear rows first; the stubs keep this dict's type private."""
    straight = [row.linear for row in rows if row.linear]
    curved = [row for row in rows if not row.linear]
    matrix = np.array([row for row, _ in straight]).reshape(len(straight), size)
    constants = np.array([constant for _, constant in straight])

    def values(vector: Vector) -> Floats:
        return np.concatenate([matrix @ vector + constants, [row.value(vector)[0] for row in curved]])

    def gradients(vector: Vector) -> Floats:
        bent = np.array([row.value(vector)[1] for row in curved]).reshape(len(curved), size)
        return np.vstack([matrix, bent])

    return {"type": kind, "fun": values, "jac": gradients}


def _line(variables: Variables) -> tuple[float, float, float, float]:
    targets = variables.problem.targets
    logs = log_speeds(variables.problem, variables.candidate.stages)
    fitted = unevenness(logs, targets.ratio_least)
    return fitted.start, fitted.log_ratio, fitted.delta, end_miss(logs, targets.lo_rpm, targets.hi_rpm)


def _refusal(candidate: Candidate, answer: _Answer, before: float) -> tuple[str, float]:
    """Return why the answer is not taken, or nothing, with its J."""
    problem = candidate.problem
    if not all(
        np.isfinite(v) for s in answer.stages for p in s.positions for v in (p.driver_mm, p.driven_mm, p.centre_mm)
    ):
        return "the solver's sizes take no belt", inf
    after = j_of(problem.targets, log_speeds(problem, answer.stages))
    if after > before + NOT_WORSE:
        return f"refinement came out worse, J {after:.2e} against {before:.2e}", after
    try:
        Candidate(problem=problem, stages=answer.stages)
    except ValidationError as error:
        return f"the refined sizes break a rule: {error.errors()[0]['msg']}", after
    return "", after


def _binding(answer: _Answer) -> tuple[str, ...]:
    """Return a sentence for every limit that the answer stands at."""
    found = []
    for spot in answer.variables.spots:
        rules = answer.variables.problem.stages[spot.stage]
        for index, side in ((spot.driver, rules.driver), (spot.driven, rules.driven)):
            if index < 0:
                continue
            for limit, word in zip(answer.bounds, ("smallest", "largest"), strict=True):
                if abs(answer.vector[index] - limit[index]) < ACTIVE:
                    found.append(f"{side.key}, step {spot.position + 1}: the {word} diameter")
        if spot.centre >= 0:
            for limit, word in zip(answer.bounds, ("smallest", "largest"), strict=True):
                if abs(answer.vector[spot.centre] - limit[spot.centre]) < ACTIVE * CENTRE_SCALE_MM:
                    found.append(f"{rules.key}, position {spot.position + 1}: the {word} centre distance")
    found += [
        row.sentence
        for row in answer.rows
        if not row.equal and not row.series and abs(row.value(answer.vector)[0]) < ACTIVE
    ]
    return tuple(dict.fromkeys(found))
