"""A machine with a middle shaft refined: orders of its speeds, a straight start, an even plate."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import lru_cache
from itertools import combinations_with_replacement
from math import inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError
from scipy.optimize import linprog

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.quantities.written import percent
from optimizer.records import StageSizes
from optimizer.records.middle import MiddleCandidate, MiddleProblem, f_of, middle_logs, plate_of
from optimizer.records.plate import Plate
from optimizer.records.refined import Binding, RefinedMiddle, RoundedMiddle, SolverReport
from optimizer.refine.middle.rows import ordered, speed_lines
from optimizer.refine.middle.stated import StatedMiddle, stated_middle
from optimizer.refine.program import Program, Rows, solve
from optimizer.refine.stated import bindings

__all__ = ["EVEN_SLACK", "approached", "even_orders", "evened", "more_even", "patterns", "refine_middle"]

Ints = NDArray[np.int64]
MOST = 400_000
"""Ways to place both belts' levels on whole steps that are looked at."""
SAME_ORDER = 1e-9
NEAREST = 4
"""Patterns of as many steps that are tried, those nearest to the speeds as they are."""


def even_orders(problem: MiddleProblem, stages: tuple[StageSizes, StageSizes], most_f: float) -> list[list[int]]:
    """Return orders of the positions in which F may come below what is given, the most promising first.

    Where all gaps are as small as they can be, the levels of either belt lie on whole steps of the largest gap. So
    every way to lay them on steps that leaves none between slowest and fastest without a speed is an order to try.
    Positions on one step keep the order that they have.

    Parameters
    ----------
    problem
        The machine.
    stages
        Sizes that it has.
    most_f
        F to be beaten.
    """
    targets, logs = problem.targets, np.array(middle_logs(problem, stages))
    span = log(targets.hi_rpm / targets.lo_rpm)
    low, high = (logs[problem.positions.index(end)] for end in (problem.slowest, problem.fastest))
    found: list[list[int]] = []
    for steps in range(len(logs) - 1, 0, -1):
        # ends met, or missed as far as that pays
        misses = (0.0, min(targets.end_miss_most, span / 2))
        least = min(targets.end_weight * e + targets.unevenness_weight * (span - 2 * e) / steps for e in misses)
        if least >= most_f:
            break
        places = patterns(problem.positions, steps, second_falls=problem.shared)
        apart = np.abs(places / steps - (logs - low) / max(high - low, SAME_ORDER)).sum(axis=1)
        for row in places[np.argsort(np.round(apart, 9), kind="stable")[:NEAREST]]:
            rank = row.astype(float)
            rank[problem.positions.index(problem.slowest)] = -1
            rank[problem.positions.index(problem.fastest)] = steps + 1
            found.append(np.lexsort((np.arange(len(logs)), np.round(logs, 9), rank)).tolist())
    return found


@lru_cache(maxsize=64)
def patterns(positions: tuple[tuple[int, int], ...], steps: int, *, second_falls: bool) -> Ints:
    """Return the steps of every position, for all ways in which none from 0 to the last is without a speed.

    Parameters
    ----------
    positions
        Levels of the first and second belt.
    steps
        How far the fastest lies above the slowest.
    second_falls
        Whether the second belt's speeds fall with its level.

    Returns
    -------
    An array (ways, positions); empty where there are too many to look at.

    Examples
    --------
    A coarse and a fine belt of two levels each make four speeds in two ways:

    >>> patterns(((0, 0), (0, 1), (1, 0), (1, 1)), 3, second_falls=False).tolist()
    [[0, 2, 1, 3], [0, 1, 2, 3]]

    Three levels of a shared cone reach four steps, not five:

    >>> shared = ((0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1))
    >>> [len(patterns(shared, steps, second_falls=True)) > 0 for steps in (4, 5)]
    [True, False]
    """
    levels = [1 + max(pair[belt] for pair in positions) for belt in (0, 1)]
    first, second = (
        np.array([(0, *rest) for rest in combinations_with_replacement(range(steps + 1), count - 1)], dtype=np.int64)
        for count in levels
    )
    if second_falls:
        second = second[:, ::-1]
    if len(first) * len(second) > MOST:
        return np.empty((0, len(positions)), dtype=np.int64)
    ends = first.max(axis=1)[:, None] + second.max(axis=1)[None, :] == steps
    one, other = np.nonzero(ends)
    places = np.stack([first[one, i] + second[other, j] for i, j in positions], axis=1)
    covered = np.bitwise_or.reduce(np.left_shift(1, places), axis=1) == (1 << (steps + 1)) - 1
    return np.asarray(places[covered])


Floats = NDArray[np.float64]
STRAIGHT_ROUNDS = 8
REACH = 0.6
"""How far a size may move in one round, as a logarithm."""
NEAR = 1e-5
"""Weight of the sum of all sizes' distances from the start: of answers equally good the nearest is taken."""
SETTLED = 1e-9
CLOSE = 1e-7
"""How far rows may be passed by an answer that is taken."""


def approached(
    program: Program, start: Floats, line: Floats, sizes: int, most: float = inf, clock: Clock = ENDLESS
) -> Floats:
    """Return a vector that keeps the rows of a program and has about the least ``line·z`` there, or the start.

    Every round is straight about the answer of the one before. Own centre distances bend so little with the logarithms
    of the sizes that a few rounds settle.

    Parameters
    ----------
    program
        Rows and bounds.
    start
        Where to begin.
    line
        What is made least.
    sizes
        How many of the variables, the first ones, are sizes.
    most
        What the least must be below to be of use; the start is returned once a second round leaves it above.
    clock
        Asked before every round.

    Examples
    --------
    The rightmost point of the disc ``x² + y² <= 2`` with y from 1 to 5:

    >>> from optimizer.refine.program import Rows
    >>> disc = Rows(lambda z: np.array([2 - z @ z]), lambda z: -2 * z[None, :])
    >>> program = Program(lambda z: (0.0, z), disc, disc, np.array([-5.0, 1.0]), np.full(2, 5.0))
    >>> approached(program, np.array([0.8, 1.1]), np.array([-1.0, 0.0]), 2).round(6).tolist()
    [1.0, 1.0]
    """
    vector, count = start, start.size
    apart = np.hstack([np.eye(sizes, count), -np.eye(sizes)]), np.hstack([-np.eye(sizes, count), -np.eye(sizes)])
    for number in range(STRAIGHT_ROUNDS):
        clock.ask()
        values, gradients = program.least.values(vector), program.least.gradients(vector)
        low, high = program.low.copy(), program.high.copy()
        low[:sizes] = np.maximum(low[:sizes], vector[:sizes] - REACH)
        high[:sizes] = np.minimum(high[:sizes], vector[:sizes] + REACH)
        answer = linprog(
            np.concatenate([line, np.full(sizes, NEAR)]),
            A_ub=np.vstack([np.hstack([-gradients, np.zeros((len(values), sizes))]), *apart]),
            b_ub=np.concatenate([values - gradients @ vector, start[:sizes], -start[:sizes]]),
            bounds=[*zip(low, high, strict=True), *[(0.0, None)] * sizes],
            method="highs",
            options={"time_limit": clock.left_s},
        )
        if answer.status != 0 or answer.x is None:
            return start
        found = np.clip(answer.x[:count], low, high)
        moved = float(np.abs(found - vector).max())
        vector = found
        if number and float(line @ vector) >= most:
            return start
        if moved < SETTLED:
            break
    return vector if np.all(program.least.values(vector) >= -CLOSE) else start


EVEN_SLACK = 5e-4
"""By how much F may rise for an even plate."""
PLATE_ROUNDS = 3
"""How often the plate may be chosen anew."""


def evened(candidate: MiddleCandidate, most_f: float, clock: Clock = ENDLESS) -> MiddleCandidate:
    """Return sizes of about the same F whose speeds on the plate lie more evenly, or those given.

    Least F is the affair of few gaps, and leaves the other speeds free. Of the speeds on the plate the sum of squares
    of their distances from the geometric series nearest to them, in logarithms, is made least under all the same rows
    and with F no more than the slack above `most_f`. Where other speeds then belong on the plate it is done again.

    Parameters
    ----------
    candidate
        Refined sizes.
    most_f
        The least F.
    clock
        Asked at every step.
    """
    best = candidate
    for _ in range(PLATE_ROUNDS):
        tried = _evened(best, most_f + EVEN_SLACK, clock)
        if tried is None or not more_even(plate_of(tried), plate_of(best)):
            break
        best = tried
    return best


def more_even(one: Plate, other: Plate) -> bool:
    """Tell whether a plate is better than another: within what is advised, of more speeds, of less unevenness.

    Examples
    --------
    >>> few = Plate(speeds=(), left_out=(), unevenness=0.01, log_ratio=0.2, advised=True)
    >>> more_even(few, few.model_copy(update={"unevenness": 0.02}))
    True
    """
    return _rank(one) < _rank(other)


def _rank(plate: Plate) -> tuple[bool, int, float]:
    return not plate.advised, -len(plate.speeds) if plate.advised else 0, plate.unevenness


def _evened(candidate: MiddleCandidate, most_f: float, clock: Clock) -> MiddleCandidate | None:
    smooth = stated_middle(candidate)
    variables, old = smooth.variables, smooth.program.least
    lines = speed_lines(variables)
    at = [candidate.problem.positions.index(speed.position) for speed in plate_of(candidate).speeds]
    slopes, constants = np.array([lines[k][0] for k in at]), np.array([lines[k][1] for k in at])
    series = np.stack([np.ones(len(at)), np.arange(len(at))], axis=1)
    off = np.eye(len(at)) - series @ np.linalg.pinv(series)
    total = variables.f_line

    def objective(vector: Floats) -> tuple[float, Floats]:
        away = off @ (slopes @ vector + constants)
        return float(away @ away), 2 * slopes.T @ away

    rows = Rows(
        lambda vector: np.append(old.values(vector), most_f - total @ vector),
        lambda vector: np.vstack([old.gradients(vector), -total]),
    )
    vector = solve(replace(smooth.program, objective=objective, least=rows), smooth.start, clock).vector
    stages = variables.stages(vector)
    if not all(np.isfinite(v) for s in stages for p in s.positions for v in (p.driver_mm, p.driven_mm, p.centre_mm)):
        return None
    try:
        return MiddleCandidate(problem=candidate.problem, stages=stages)
    except ValidationError:
        return None


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
