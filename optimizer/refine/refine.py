"""A candidate refined to real diameters, by the smooth problem's answer."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

import numpy as np
from pydantic import ValidationError

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.quantities.digits import meaningful
from optimizer.quantities.written import percent
from optimizer.records import Candidate, Problem, StageSizes
from optimizer.records.refined import Binding, Goal, Refined, SolverReport
from optimizer.refine.program import solve
from optimizer.refine.stated import Stated, bindings, stated
from optimizer.scoring import j_of_sizes, score

__all__ = ["amount", "refine"]

NOT_WORSE = 1e-9
"""By how much J, or a share of timber or disc, may grow and count as no worse."""
TELLING = 5e-6
"""By how much J, or a share of the others, must fall for that to be told: figures are shown to hundred-thousandths."""
MET = 1e-6
"""How near J is to the structural bound where it counts as met."""
NAMES = {"timber": ("timber", "mm³"), "disc": ("the largest disc", "mm")}


class _Outcome(NamedTuple):
    stages: tuple[StageSizes, ...]
    j: float
    report: SolverReport
    why: str
    binding: tuple[Binding, ...] = ()


def refine(
    candidate: Candidate, structural: float, goal: Goal = "j", most_j: float = inf, *, clock: Clock = ENDLESS
) -> Refined:
    """Return the candidate refined to real diameters.

    Every turned diameter and every centre distance moves; what is wanted is made least under all hard rules, in the
    epigraph form: variables a, ln φ, δ and ε beside the sizes, and for every speed
    ``|ln n_k − a − k·ln φ| <= δ``. Gradients are exact. The answer counts only if it builds a candidate again and
    is no worse.

    Parameters
    ----------
    candidate
        Sizes that keep every hard rule.
    structural
        Lower bound of J for any real diameters.
    goal
        What is made least: J, timber, or the largest disc.
    most_j
        A J that may not be passed, where something else is made least.
    clock
        Where it ends the work, the candidate stays as it is.

    Returns
    -------
    Sizes before rounding, what binds, and how the solver ended.
    """
    problem = candidate.problem
    before = j_of_sizes(problem, candidate.stages)
    try:
        outcome = _refined(candidate, before, goal, most_j, clock)
    except LimitReachedError as limit:
        report = SolverReport(method="none", success=False, status=0, message=str(limit))
        outcome = _Outcome(candidate.stages, before, report, f"refinement was ended: {limit}")
    met = goal == "j" and outcome.j <= structural + MET
    return Refined(
        goal=goal,
        solver=outcome.report,
        kept="candidate" if outcome.stages is candidate.stages else "refined",
        why=outcome.why,
        candidate_j=before,
        smooth=outcome.stages,
        smooth_j=outcome.j,
        structural=structural,
        binding=() if met else outcome.binding,
    )


def amount(goal: Goal, problem: Problem, stages: tuple[StageSizes, ...]) -> float:
    """Return what sizes have of what is made least: J, timber [mm³] or the largest disc [mm]."""
    if goal == "j":
        return j_of_sizes(problem, stages)
    figures = score(problem, stages)
    return figures.timber_mm3 if goal == "timber" else figures.largest_disc_mm


def _refined(candidate: Candidate, before: float, goal: Goal, most_j: float, clock: Clock) -> _Outcome:
    if all("turned" not in (p.driver_source, p.driven_source) for s in candidate.stages for p in s.positions):
        report = SolverReport(method="none", success=True, status=0, message="nothing is turned")
        return _Outcome(candidate.stages, before, report, "nothing is turned")
    first = _answer(candidate, before, stated(candidate, goal, most_j), goal, most_j, clock)
    if goal != "timber" or not _discs_of_both_kinds(candidate):
        return first
    other = _answer(candidate, before, stated(candidate, goal, most_j, keep_discs=True), goal, most_j, clock)
    return min(first, other, key=lambda outcome: meaningful(amount(goal, candidate.problem, outcome.stages)))


def _answer(candidate: Candidate, before: float, smooth: Stated, goal: Goal, most_j: float, clock: Clock) -> _Outcome:
    vector, report, _ = solve(smooth.program, smooth.start, clock)
    stages = smooth.variables.stages(vector)
    if not all(np.isfinite(v) for s in stages for p in s.positions for v in (p.driver_mm, p.driven_mm, p.centre_mm)):
        return _Outcome(candidate.stages, before, report, "the solver's sizes take no belt")
    after = j_of_sizes(candidate.problem, stages)
    refused, why = _judged(candidate, stages, (before, after), goal, most_j)
    if refused:
        return _Outcome(candidate.stages, before, report, refused)
    return _Outcome(stages, after, report, why, bindings(smooth, vector))


def _discs_of_both_kinds(candidate: Candidate) -> bool:
    """Tell whether some steps come from discs of set sizes and others from discs of any size."""
    kinds = {
        bool(side.discs_mm)
        for rules, sizes in zip(candidate.problem.stages, candidate.stages, strict=True)
        for p in sizes.positions
        for side, source in ((rules.driver, p.driver_source), (rules.driven, p.driven_source))
        if source == "turned"
    }
    return len(kinds) > 1


def _judged(
    candidate: Candidate, stages: tuple[StageSizes, ...], j: tuple[float, float], goal: Goal, most_j: float
) -> tuple[str, str]:
    """Return why the answer is not taken, or nothing; and what was gained."""
    problem = candidate.problem
    before, after = j
    if goal == "j":
        if after > before + NOT_WORSE:
            return f"refinement came out worse, J {percent(after, 3)} against {percent(before, 3)}", ""
        fell = after < before - TELLING
        why = f"J fell from {percent(before, 3)} to {percent(after, 3)}" if fell else "it is no worse"
    else:
        name, unit = NAMES[goal]
        old, new = amount(goal, problem, candidate.stages), amount(goal, problem, stages)
        if new > old * (1 + NOT_WORSE):
            return f"refinement came out worse, {name} {new:.6g} {unit} against {old:.6g} {unit}", ""
        if after > most_j + NOT_WORSE:
            return f"refinement left the slack, J {percent(after, 3)} against {percent(most_j, 3)}", ""
        fell = new < old * (1 - TELLING)
        why = f"{name} fell from {old:.6g} to {new:.6g} {unit}" if fell else f"{name} is no larger"
    try:
        Candidate(problem=problem, stages=stages)
    except ValidationError as error:
        return f"the refined sizes break a rule: {error.errors()[0]['msg']}", ""
    return "", why
