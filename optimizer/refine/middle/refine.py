"""A machine with a middle shaft refined to real diameters and rounded to what can be turned."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import NamedTuple

import numpy as np
from pydantic import ValidationError

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.quantities.written import percent
from optimizer.records import StageSizes
from optimizer.records.middle import MiddleCandidate, MiddleProblem, f_of, plate_of
from optimizer.records.refined import Binding, RefinedMiddle, RoundedMiddle, SolverReport
from optimizer.refine.binding import bindings
from optimizer.refine.middle.even import EVEN_SLACK, evened, more_even
from optimizer.refine.middle.orders import even_orders
from optimizer.refine.middle.speeds import ordered
from optimizer.refine.middle.stated import StatedMiddle, stated_middle
from optimizer.refine.middle.straight import approached
from optimizer.refine.program import solve

__all__ = ["refine_middle"]

Pair = tuple[StageSizes, StageSizes]
Rounding = Callable[[MiddleProblem, Sequence[Pair], Clock], RoundedMiddle]
"""What brings sizes to ticks near those given: a question to the search."""
NOT_WORSE = 1e-9
"""By how much F may grow and count as no worse."""
MET = 1e-6
"""How near F is to the bound where it counts as met."""
TELLING = 5e-6
"""By how much F must fall for that to be told, as it is shown to hundred-thousandths."""
ROUNDS = 4
"""How often the order of the speeds may be taken anew."""


class _Answer(NamedTuple):
    """Where the solver ended, as a candidate if it is one that is no worse."""

    report: SolverReport
    candidate: MiddleCandidate | None
    why: str
    """Why it is not taken."""
    binding: tuple[Binding, ...] = ()


class _Refined(NamedTuple):
    """A candidate refined, or the candidate itself."""

    candidate: MiddleCandidate
    f: float
    report: SolverReport
    why: str
    binding: tuple[Binding, ...] = ()


def refine_middle(
    candidate: MiddleCandidate, bound: float, rounding: Rounding, clock: Clock = ENDLESS
) -> RefinedMiddle:
    """Return the candidate refined to real diameters, and rounded.

    Every turned diameter moves, a shared cone's step once, and ``F = w_e·ε + w_u·g`` is made least under all hard
    rules, in the epigraph form: variables ε and g beside the sizes, and no two speeds that are neighbours in the
    candidate's order farther apart than g. Own centre distances follow from the sizes and the belts; gradients are
    exact. Linear programs, straight about each other's answers, bring the solver near its own. Where the answer's
    speeds have another order, it is taken and the solver goes on; then orders are tried in which the speeds could lie
    more evenly, and that of the rounded sizes where these came out better. The answer counts only if it builds a
    candidate again and is no worse. At last the speeds on the plate are made even, as far as F leaves them free.

    Parameters
    ----------
    candidate
        Sizes that keep every hard rule.
    bound
        Lower bound of F for any real diameters.
    rounding
        Brings sizes to ticks.
    clock
        Where it ends the work, the best sizes so far are rounded.

    Returns
    -------
    Sizes before and after rounding, what binds, and how the solver ended.
    """
    problem = candidate.problem
    before = f_of(problem, candidate.stages)
    try:
        smooth = _refined(candidate, before, clock)
    except LimitReachedError as limit:
        report = SolverReport(method="none", success=False, status=0, message=str(limit))
        smooth = _Refined(candidate, before, report, f"refinement was ended: {limit}")
    rounded = rounding(problem, (smooth.candidate.stages, candidate.stages), clock)
    with suppress(LimitReachedError):
        for _ in range(ROUNDS):
            if rounded.stages is None or rounded.f >= smooth.f - MET:
                break
            better = MiddleCandidate(problem=problem, stages=rounded.stages)
            again = _refined(better, rounded.f, clock)
            smooth = again._replace(why=_fell(before, again.f))
            rounded = rounding(problem, (smooth.candidate.stages, better.stages), clock)
        smooth, rounded = _with_even_plate(smooth, rounded, rounding, clock)
    return RefinedMiddle(
        solver=smooth.report,
        kept="candidate" if smooth.candidate is candidate else "refined",
        why=smooth.why,
        candidate_f=before,
        smooth=smooth.candidate.stages,
        smooth_f=smooth.f,
        structural=bound,
        binding=() if smooth.f <= bound + MET else smooth.binding,
        rounded=rounded.stages,
        rounded_f=rounded.f,
        nearest_f=rounded.nearest_f,
    )


def _with_even_plate(
    smooth: _Refined, rounded: RoundedMiddle, rounding: Rounding, clock: Clock
) -> tuple[_Refined, RoundedMiddle]:
    """Return sizes of about the same F with the plate's speeds more even, where there are some that can be turned."""
    problem = smooth.candidate.problem
    even = evened(smooth.candidate, smooth.f, clock)
    if even is smooth.candidate:
        return smooth, rounded
    other = rounding(problem, (even.stages,), clock)
    if other.stages is None:
        return smooth, rounded
    if rounded.stages is not None:
        plates = (
            plate_of(MiddleCandidate(problem=problem, stages=stages)) for stages in (other.stages, rounded.stages)
        )
        if other.f > rounded.f + EVEN_SLACK or not more_even(*plates):
            return smooth, rounded
    f = f_of(problem, even.stages)
    return smooth._replace(candidate=even, f=f, why=f"{smooth.why}; then the plate was made even"), other


def _refined(candidate: MiddleCandidate, before: float, clock: Clock) -> _Refined:
    if all("turned" not in (p.driver_source, p.driven_source) for s in candidate.stages for p in s.positions):
        report = SolverReport(method="none", success=True, status=0, message="nothing is turned")
        return _Refined(candidate, before, report, "nothing is turned")
    answer = _best_answer(candidate, before, clock)
    if answer.candidate is None:
        return _Refined(candidate, before, answer.report, answer.why)
    found = _in_own_order(candidate, _taken(answer, answer.candidate), clock)
    for _ in range(ROUNDS):
        other = _in_other_orders(found, clock)
        if other is found:
            break
        found = _in_own_order(found.candidate, other, clock)
    return found._replace(why=_fell(before, found.f))


def _in_own_order(last: MiddleCandidate, found: _Refined, clock: Clock) -> _Refined:
    """Return the sizes refined on for as long as their speeds come to stand in another order."""
    for _ in range(ROUNDS):
        if _order(found.candidate) == _order(last):
            break
        answer = _best_answer(found.candidate, found.f, clock)
        if answer.candidate is None:
            return found._replace(report=answer.report)
        last, found = found.candidate, _taken(answer, answer.candidate)
    return found


def _in_other_orders(refined: _Refined, clock: Clock) -> _Refined:
    """Return the sizes refined in another order of the speeds where one is better, the first that is."""
    problem = refined.candidate.problem
    for order in even_orders(problem, refined.candidate.stages, refined.f - MET):
        clock.ask()
        smooth = stated_middle(refined.candidate, order)
        variables, most = smooth.variables, refined.f - MET
        start = approached(smooth.program, smooth.start, variables.f_line, variables.turned, most, clock)
        if float(variables.f_line @ start) < most:
            answer = _answer(smooth, refined.f, clock)
            if answer.candidate is not None and f_of(problem, answer.candidate.stages) < refined.f - MET:
                return _taken(answer, answer.candidate)
    return refined


def _taken(answer: _Answer, candidate: MiddleCandidate) -> _Refined:
    return _Refined(candidate, f_of(candidate.problem, candidate.stages), answer.report, "", answer.binding)


def _fell(before: float, after: float) -> str:
    return f"F fell from {percent(before, 3)} to {percent(after, 3)}" if after < before - TELLING else "it is no worse"


def _best_answer(candidate: MiddleCandidate, before: float, clock: Clock) -> _Answer:
    """Return the solver's answer; once more with all groups of near-equals kept, where the first broke a rule."""
    answer = _answer(stated_middle(candidate), before, clock)
    if answer.candidate is None:
        other = _answer(stated_middle(candidate, every_group=True), before, clock)
        if other.candidate is not None:
            return other
    return answer


def _answer(smooth: StatedMiddle, before: float, clock: Clock) -> _Answer:
    variables = smooth.variables
    start = approached(smooth.program, smooth.start, variables.f_line, variables.turned, clock=clock)
    vector, report, _ = solve(smooth.near(smooth.start), start, clock)
    stages = variables.stages(vector)
    if not all(np.isfinite(v) for s in stages for p in s.positions for v in (p.driver_mm, p.driven_mm, p.centre_mm)):
        return _Answer(report, None, "the solver's sizes take no belt")
    problem = variables.problem
    after = f_of(problem, stages)
    if after > before + NOT_WORSE:
        return _Answer(report, None, f"refinement came out worse, F {percent(after, 3)} against {percent(before, 3)}")
    try:
        candidate = MiddleCandidate(problem=problem, stages=stages)
    except ValidationError as error:
        return _Answer(report, None, f"the refined sizes break a rule: {error.errors()[0]['msg']}")
    return _Answer(report, candidate, "", bindings(smooth, vector))


def _order(candidate: MiddleCandidate) -> list[int]:
    return ordered(candidate.problem, candidate.stages)
