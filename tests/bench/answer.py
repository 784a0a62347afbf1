"""What a solver answers, held against the problem itself."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import Literal, NamedTuple

from optimizer.records.candidate import StageSizes
from optimizer.records.problem import Problem
from optimizer.records.rules import broken_rules
from tests.oracle.milp import j_of_design

__all__ = ["Answer", "ContradictionError", "Status", "exact_j", "hold_against"]

SAME = 1e-7
"""Optima of J closer than this are one."""
BETTER = 1e-9
"""A design has to be better by this much to be called better."""

Status = Literal["proved", "no design", "time", "value only"]


class Answer(NamedTuple):
    """What one solver said of one problem, its value worked out again from the sizes it chose."""

    status: Status
    j: float = inf
    """J of the sizes it chose; infinite where it chose none."""
    bound: float = -inf
    """What it says no design can beat."""
    seconds: float = 0.0
    """What the solver's own call took."""
    building: float = 0.0
    """What it took to write the problem down for it."""


class ContradictionError(Exception):
    """Two answers to one problem cannot both be true."""


def exact_j(problem: Problem, stages: Sequence[StageSizes]) -> float:
    """Return J of a design, from its sizes and plain arithmetic.

    Raises
    ------
    ContradictionError
        If the design breaks a rule of the problem: a solver's tolerance is then wider than the rule.
    """
    broken = broken_rules(problem, stages)
    if broken:
        raise ContradictionError(f"the design breaks a rule: {broken[0]}")
    return j_of_design(problem, stages)


def hold_against(ours: Answer, theirs: Answer) -> None:
    """Compare two answers to one problem.

    Raises
    ------
    ContradictionError
        If both closed with different optima, if either has a design better than the other's proof allows.

    Examples
    --------
    >>> hold_against(Answer("proved", 0.02, 0.02), Answer("time", 0.05, 0.01))
    >>> hold_against(Answer("proved", 0.02, 0.02), Answer("value only", 0.01))
    Traceback (most recent call last):
    ...
    tests.bench.answer.ContradictionError: a design with J = 0.01 is better than the proved 0.02
    """
    for one, other in ((ours, theirs), (theirs, ours)):
        if one.status == "proved" and other.j < one.j - (BETTER if one is ours else SAME):
            raise ContradictionError(f"a design with J = {other.j} is better than the proved {one.j}")
        if one.status == "no design" and other.j < inf:
            raise ContradictionError(f"a design with J = {other.j} where there is said to be none")
        if one.bound > other.j + SAME:
            raise ContradictionError(f"a design with J = {other.j} is below the bound {one.bound}")
