"""The smooth problem of a machine with a middle shaft, stated for the solver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records.middle import MiddleCandidate, largest_gap, middle_logs
from optimizer.refine.middle.rows import (
    Settings,
    belt_rows,
    cone_rows,
    moving_rows,
    order_rows,
    ordered,
    speed_rows,
    want_rows,
)
from optimizer.refine.middle.variables import MiddleVariables
from optimizer.refine.program import Program, Rows
from optimizer.refine.rows import Gathered, Limit, joined
from optimizer.refine.stated import Bound, Limits
from optimizer.series import end_miss

__all__ = ["StatedMiddle", "stated_middle"]

Floats = NDArray[np.float64]
NEAR = 1e-5
"""Weight of the distance from the start: settles which of many equally good answers is taken."""


class StatedMiddle(NamedTuple):
    """The problem with what its parts are there for."""

    variables: MiddleVariables
    program: Program
    start: Floats
    limits: Limits
    bounds: tuple[Bound, ...]
    order: tuple[int, ...]
    """The positions in the order that the gaps are taken in."""

    def near(self, start: Floats) -> Program:
        """Return the program that of answers equally good takes the nearest to a start."""
        line, sizes = self.variables.f_line, np.arange(start.size) < self.variables.turned

        def objective(vector: Floats) -> tuple[float, Floats]:
            away = np.where(sizes, vector - start, 0.0)
            return float(line @ vector) + NEAR * float(away @ away), line + 2 * NEAR * away

        return replace(self.program, objective=objective)


def stated_middle(
    candidate: MiddleCandidate, order: Sequence[int] | None = None, *, every_group: bool = False
) -> StatedMiddle:
    """Return the smooth problem around a candidate.

    Parameters
    ----------
    candidate
        Sizes that keep every hard rule.
    order
        The positions in the order that gaps are taken in; that of the candidate's speeds where it is not given.
    every_group
        Whether near-equal speeds stay in the groups that they are in, as far as bands want any.
    """
    variables = MiddleVariables.of(candidate)
    order = ordered(candidate.problem, candidate.stages) if order is None else order
    rows = [*speed_rows(variables, order), *want_rows(variables, every_group=every_group), *order_rows(variables)]
    rows += [*moving_rows(variables), *belt_rows(variables), *cone_rows(variables)]
    gathered, settings = Gathered.of(variables, rows), Settings(variables)
    limits = Limits(
        joined([Rows(gathered.values, gathered.gradients), Rows(settings.values, settings.gradients)]),
        (*(row.limit for row in gathered.rows), *settings.limits),
    )
    low, high, bounds = _bounds(variables)
    start = np.clip(_start(variables), low, high)
    none = Rows(lambda _: np.empty(0), lambda _: np.empty((0, variables.size)))
    line = variables.f_line

    def objective(vector: Floats) -> tuple[float, Floats]:
        return float(line @ vector), line

    program = Program(objective=objective, equal=none, least=limits.rows, low=low, high=high)
    return StatedMiddle(variables, program, start, limits, bounds, tuple(order))


def _start(variables: MiddleVariables) -> Floats:
    targets = variables.problem.targets
    logs = sorted(middle_logs(variables.problem, variables.candidate.stages))
    return variables.start(end_miss(logs, targets.lo_rpm, targets.hi_rpm), largest_gap(logs))


def _bounds(variables: MiddleVariables) -> tuple[Floats, Floats, tuple[Bound, ...]]:
    """Return least and greatest value of every variable, with the limits that they stand for."""
    low, high = np.full(variables.size, -inf), np.full(variables.size, inf)
    bounds: list[Bound] = []
    for cone, row in zip(variables.cones, variables.places, strict=True):
        if cone.turned_mm is None:
            continue
        for level, place in enumerate(row):
            if place >= 0:
                low[place], high[place] = (log(size_mm) for size_mm in cone.turned_mm)
                for end, (word, size_mm) in enumerate(zip(("smallest", "largest"), cone.turned_mm, strict=True)):
                    name = f"{cone.sides[0].key}: the {word} diameter"
                    bounds.append(Bound(place, bool(end), Limit(name, f"step {level + 1}", "mm", 1 / size_mm)))
    low[[variables.miss, variables.gap]] = 0.0
    high[variables.miss] = variables.problem.targets.end_miss_most
    bounds.append(Bound(variables.miss, True, Limit("end miss", "", "percent", 0.01)))
    return low, high, tuple(bounds)
