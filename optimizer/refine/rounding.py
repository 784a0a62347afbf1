"""Turned sizes brought to whole ticks, all positions of a stage together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from optimizer.records import Candidate, Problem, StageProblem, StageSizes
from optimizer.records.refined import Rounded
from optimizer.records.rules import broken_rules
from optimizer.records.speeds import position_logs
from optimizer.refine.judging import SAME_PLACES, Judge
from optimizer.refine.meeting import Meeting, meeting_of, meets
from optimizer.refine.stated import Goal
from optimizer.refine.ticks import Options, choices_within, nearest_sizes, options_of, sizes_of
from optimizer.scoring import j_of_sizes, score

__all__ = ["round_sizes"]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
FIRST_RANGE = 2e-4
"""First limit on how far the positions of a stage may spread from the refined series, as a logarithm."""
RANGE_GROWTH = 2.0
WIDEST_RANGE = 0.2
CHOICES = 400
"""Choices of a stage kept for each thing that they are ranked by."""
MOST_JUDGED = 2000
"""Choices of a stage whose J is worked out where there are more stages."""
COMBINED = 16_000
"""Combinations of the stages' best choices whose J is worked out."""
TRIED = 200
"""Combinations held against every rule, best first."""
ROUNDS = 4


@dataclass(frozen=True)
class _Choices:
    """A stage's choices that are worth trying."""

    sizes: StageSizes
    options: list[Options]
    rows: Rows
    ratios: Floats
    amounts: Floats
    meeting: Meeting
    """Between which settings of shared mounts they are fitted."""

    @cached_property
    def count(self) -> int:
        """How many there are."""
        return len(self.rows)

    def built(self, number: int) -> StageSizes:
        """Return the sizes of one choice."""
        return sizes_of(self.sizes, self.options, self.rows[number])


@dataclass(frozen=True)
class _Ticks:
    """The ticks near one stage's refined sizes."""

    judge: Judge
    refined: list[Floats]
    """Log ratios of every stage as refined, each of one row."""
    number: int
    sizes: StageSizes
    options: list[Options]
    limit: float
    """A range of log ratios within which there are choices."""
    least: float
    """Least J of these, the other stages as refined; infinity where there are none."""

    @classmethod
    def of(cls, judge: Judge, refined: list[Floats], number: int, sizes: StageSizes) -> _Ticks:
        """Look for some choices, within a range that doubles until there are."""
        options = [options_of(judge.problem.stages[number], sizes, p) for p in sizes.positions]
        ticks = cls(judge, refined, number, sizes, options, FIRST_RANGE, inf)
        rows, limit = ticks.within(FIRST_RANGE), FIRST_RANGE
        while limit < WIDEST_RANGE and not rows.size:
            limit = min(limit * RANGE_GROWTH, WIDEST_RANGE)
            rows = ticks.within(limit)
        least = float(ticks.js(_ratios(options, rows)).min()) if rows.size else inf
        return cls(judge, refined, number, sizes, options, limit, least)

    @property
    def rules(self) -> StageProblem:
        """The stage's rules."""
        return self.judge.problem.stages[self.number]

    def within(self, limit: float) -> Rows:
        """Return all choices within a range."""
        return choices_within(self.rules, self.sizes.belt.window_mm, self.options, limit)

    def js(self, ratios: Floats) -> Floats:
        """Return J of choices with the other stages as refined."""
        return self.judge.js([ratios if s == self.number else part for s, part in enumerate(self.refined)])

    def choices(self, reach: float) -> _Choices:
        """Return the choices that designs within a range can have, as far as they are worth trying."""
        if not np.isfinite(self.least):
            none = np.empty((0, 1), dtype=np.intp)
            return _Choices(self.sizes, self.options, none, np.empty((0, 1)), np.empty(0), ())
        rows = self.within(max(reach, self.limit))
        ratios = _ratios(self.options, rows)
        if len(self.refined) > 1:
            spreads = np.ptp(ratios - self.refined[self.number], axis=1)
            near = np.argsort(np.round(spreads, SAME_PLACES), kind="stable")[:MOST_JUDGED]
            rows, ratios = rows[near], ratios[near]
        amounts = _amounts(self.judge, self.rules, self.sizes, self.options, rows)
        kept = _worth_trying(self.judge, self.js(ratios), amounts)
        mounts, forgives = self.judge.problem.couplings, self.sizes.belt.forgives_mm
        meeting = meeting_of(mounts, self.number, forgives, self.options, rows[kept])
        return _Choices(self.sizes, self.options, rows[kept], ratios[kept], amounts[kept], meeting)


def round_sizes(problem: Problem, stages: Sequence[StageSizes], goal: Goal = "j", most_j: float = inf) -> Rounded:
    """Return the sizes with every turned one on a tick, chosen jointly.

    For every stage the pairs of ticks near the refined ones are combined so that the own centre distances stay in
    the window, the cones keep their order and the log ratios stay together. Any design at most as good as the best
    so far keeps its log ratios within a range that follows from it, so that with one stage none is lost. With more,
    the best choices of each stage are combined, then each stage's choice is made anew for the others' until nothing
    is gained. What results is never worse than rounding every size by itself.

    Parameters
    ----------
    problem
        The layout's problem.
    stages
        Sizes that keep its rules.
    goal, most_j
        What is made least, and the J that may then not be passed.

    Returns
    -------
    The rounded sizes with their J, and J of rounding every size to its nearest tick by itself.
    """
    judge = Judge(problem, goal, most_j)
    nearest = _nearest(problem, stages)
    nearest_j = inf if nearest is None else j_of_sizes(problem, nearest)
    refined = [np.array([row]) for row in position_logs(problem, stages)]
    ticks = [_Ticks.of(judge, refined, number, sizes) for number, sizes in enumerate(stages)]
    most = max(sum(t.least for t in ticks), most_j if goal != "j" else 0.0)
    parts = [t.choices(min(_reach(judge, most, float(judge.js(refined)[0])), WIDEST_RANGE)) for t in ticks]
    best = _combined(judge, parts) if all(part.count for part in parts) else None
    if nearest is not None and (best is None or judge.better(_merit(judge, nearest), _merit(judge, best))):
        best = nearest
    j = inf if best is None else j_of_sizes(problem, best)
    return Rounded(stages=best, j=j, nearest_j=nearest_j)


def _reach(judge: Judge, most_j: float, refined_j: float) -> float:
    """Return how far the log ratios of designs up to a J may move away from each other.

    A speed of such a design lies within ``ε + 2δ`` of the series wanted, a refined one within ``ε₀ + 2δ₀``; both are
    greatest where all of J is one of the two. Two speeds move apart by at most twice the sum.
    """
    targets = judge.problem.targets
    weights = (targets.end_weight, targets.unevenness_weight / 2)
    if min(weights) <= 0:
        return WIDEST_RANGE
    return 2 * (most_j + refined_j) / min(weights)


def _worth_trying(judge: Judge, js: Floats, amounts: Floats) -> Rows:
    """Return the best by merit; with more stages also those best by J and those nearest the refined ratios, in turn.

    Choices come with those first whose log ratios move together: a common shift another stage may undo.
    """
    lists = [judge.order(js, amounts)]
    if len(judge.problem.stages) > 1:
        lists += [np.argsort(np.round(js, SAME_PLACES), kind="stable"), np.arange(js.size)]
    turns = np.column_stack([part[:CHOICES] for part in lists]).ravel()
    return np.array(list(dict.fromkeys(turns.tolist())), dtype=np.intp)


def _combined(judge: Judge, parts: list[_Choices]) -> tuple[StageSizes, ...] | None:
    """Return the best combination that keeps every rule."""
    few = max(2, int(COMBINED ** (1 / len(parts))))
    grid = np.indices([min(few, part.count) for part in parts]).reshape(len(parts), -1).T if len(parts) > 1 else None
    places = np.arange(parts[0].count)[:, None] if grid is None else grid
    order = _order(judge, parts, places)
    chosen = places[order[0]]
    for _ in range(ROUNDS if len(parts) > 1 else 0):
        before = chosen
        for number, part in enumerate(parts):
            tried = np.repeat(chosen[None, :], part.count, axis=0)
            tried[:, number] = np.arange(part.count)
            chosen = tried[_order(judge, parts, tried)[0]]
        if np.array_equal(chosen, before):
            break
    for row in (chosen, *places[order[:TRIED]]):
        stages = tuple(part.built(int(number)) for part, number in zip(parts, row, strict=True))
        if not broken_rules(judge.problem, stages):
            return stages
    return None


def _order(judge: Judge, parts: list[_Choices], places: Rows) -> Rows:
    """Return combinations in order of merit, those last that no setting of a shared mount fits."""
    js = judge.js([part.ratios[places[:, s]] for s, part in enumerate(parts)])
    js = np.where(meets([part.meeting for part in parts], places), js, inf)
    return judge.order(js, judge.together([part.amounts[places[:, s]] for s, part in enumerate(parts)]))


def _ratios(options: list[Options], rows: Rows) -> Floats:
    return np.column_stack([o.ratio[rows[:, p]] for p, o in enumerate(options)])


def _amounts(judge: Judge, rules: StageProblem, sizes: StageSizes, options: list[Options], rows: Rows) -> Floats:
    """Return what every choice has of what is wanted."""
    found = [np.zeros(rows.shape[0])]
    if judge.goal != "j":
        for p, (position, o) in enumerate(zip(sizes.positions, options, strict=True)):
            for side, pitch_mm, source in (
                (rules.driver, o.driver_mm, position.driver_source),
                (rules.driven, o.driven_mm, position.driven_source),
            ):
                found.append(np.array([judge.amount(side, float(size), source) for size in pitch_mm])[rows[:, p]])
    return judge.together(found)


def _nearest(problem: Problem, stages: Sequence[StageSizes]) -> tuple[StageSizes, ...] | None:
    """Return every turned size at its nearest tick; nothing where that breaks a rule."""
    rounded = [nearest_sizes(rules, sizes) for rules, sizes in zip(problem.stages, stages, strict=True)]
    built = tuple(sizes for sizes in rounded if sizes is not None)
    if len(built) < len(rounded):
        return None
    try:
        return Candidate(problem=problem, stages=built).stages
    except ValidationError:
        return None


def _merit(judge: Judge, stages: tuple[StageSizes, ...]) -> tuple[float, float]:
    """Return J with what the sizes have of what is wanted."""
    figures = score(judge.problem, stages)
    return figures.j, {"j": 0.0, "timber": figures.timber_mm3, "disc": figures.largest_disc_mm}[judge.goal]
