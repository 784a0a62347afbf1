"""A candidate's smooth problem, stated for the solver."""

from __future__ import annotations

from math import inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records import Candidate
from optimizer.records.refined import Goal
from optimizer.records.speeds import log_speeds, log_ways
from optimizer.refine.coupled_rows import Shared
from optimizer.refine.grip_rows import Carried
from optimizer.refine.objectives import least_disc, least_j, least_timber
from optimizer.refine.program import Program, Rows
from optimizer.refine.rows import Belts, Gathered, Limit, Row, joined
from optimizer.refine.speed_rows import slack_row, speed_rows
from optimizer.refine.stage_rows import disc_rows, moving_rows, stage_rows
from optimizer.refine.variables import CENTRE_SCALE_MM, Variables
from optimizer.series import end_miss, unevenness

__all__ = ["Bound", "Limits", "Stated", "rows_of", "stated"]

Floats = NDArray[np.float64]


class Bound(NamedTuple):
    """A bound of one variable that is a limit of the maker's."""

    place: int
    high: bool
    limit: Limit


class Limits(NamedTuple):
    """Rows that must not be below 0, with what each is there for."""

    rows: Rows
    limits: tuple[Limit | None, ...]


class Stated(NamedTuple):
    """The problem with what its parts are there for."""

    variables: Variables
    program: Program
    start: Floats
    limits: Limits
    bounds: tuple[Bound, ...]


def stated(candidate: Candidate, goal: Goal = "j", most_j: float = inf, *, keep_discs: bool = False) -> Stated:
    """Return the smooth problem around a candidate.

    Parameters
    ----------
    candidate
        Sizes that keep every hard rule.
    goal
        What is made least.
    most_j
        A J that may not be passed; for goals other than J.
    keep_discs
        For timber: whether no step may outgrow the disc of a set size that it comes from.
    """
    variables = Variables.of(candidate)
    rows = rows_of(variables)
    if most_j < inf:
        rows.append(slack_row(variables, most_j))
    if goal == "disc":
        rows += disc_rows(variables)
    equal = Gathered.of(variables, [row for row in rows if row.equal])
    least = Gathered.of(variables, [row for row in rows if not row.equal])
    carried, shared = Carried(variables), Shared(variables)
    limits = Limits(
        joined([Rows(part.values, part.gradients) for part in (least, carried, shared)]),
        (*(row.limit for row in least.rows), *carried.limits, *shared.limits),
    )
    belts = Belts(variables)
    low, high, bounds = _bounds(variables)
    _keep_discs(variables, high, every=keep_discs)
    start = np.clip(variables.start(_line(variables)), low, high)
    if goal == "timber":
        objective = least_timber(variables, start, keep_discs=keep_discs)
    else:
        objective = least_disc(variables, start) if goal == "disc" else least_j(variables, start)
    program = Program(
        objective=objective,
        equal=joined([Rows(belts.values, belts.gradients), Rows(equal.values, equal.gradients)]),
        least=limits.rows,
        low=low,
        high=high,
    )
    return Stated(variables, program, start, limits, bounds)


def rows_of(variables: Variables) -> list[Row]:
    """Return every rule but the bounds and the lengths of the belts."""
    rows = [*speed_rows(variables), *moving_rows(variables)]
    for number in range(len(variables.problem.stages)):
        rows += stage_rows(variables, number)
    return rows


def _bounds(variables: Variables) -> tuple[Floats, Floats, tuple[Bound, ...]]:
    """Return least and greatest value of every variable, with the limits that they stand for."""
    low, high = np.full(variables.size, -inf), np.full(variables.size, inf)
    bounds: list[Bound] = []
    for spot in variables.spots:
        rules = variables.problem.stages[spot.stage]
        for index, side in ((spot.driver, rules.driver), (spot.driven, rules.driven)):
            if index >= 0 and side.turned_mm is not None:
                low[index], high[index] = (log(limit) for limit in side.turned_mm)
                for end, (word, size) in enumerate(zip(("smallest", "largest"), side.turned_mm, strict=True)):
                    name = f"{side.key}: the {word} diameter"
                    bounds.append(Bound(index, bool(end), Limit(name, f"step {spot.position + 1}", "mm", 1 / size)))
        if 0 <= spot.centre < variables.size:
            low[spot.centre], high[spot.centre] = (limit / CENTRE_SCALE_MM for limit in rules.centre_mm)
            for end, word in enumerate(("smallest", "largest")):
                name, place = f"{rules.key}: the {word} centre distance", f"position {spot.position + 1}"
                bounds.append(Bound(spot.centre, bool(end), Limit(name, place, "mm", 1 / CENTRE_SCALE_MM)))
    targets = variables.problem.targets
    _, ratio, delta, miss = variables.series
    low[ratio] = log(targets.ratio_least)
    low[delta], high[delta] = 0.0, targets.unevenness_most
    low[miss], high[miss] = 0.0, targets.end_miss_most
    bounds += [
        Bound(ratio, False, Limit("least ratio of the series", "", "percent", 0.01 / targets.ratio_least)),
        Bound(delta, True, Limit("unevenness", "", "percent", 0.01)),
        Bound(miss, True, Limit("end miss", "", "percent", 0.01)),
    ]
    return low, high, tuple(dict.fromkeys(bounds))


def _keep_discs(variables: Variables, high: Floats, *, every: bool) -> None:
    """Lower the bounds of steps from discs of set sizes to what their present disc gives, or only where few are."""
    for spot in variables.spots:
        rules = variables.problem.stages[spot.stage]
        for index, side, size_mm in (
            (spot.driver, rules.driver, spot.sizes.driver_mm),
            (spot.driven, rules.driven, spot.sizes.driven_mm),
        ):
            if index >= 0 and side.discs_mm and (every or side.scarce_above_mm < inf):
                high[index] = min(high[index], log(side.most_from_disc_mm(size_mm)))


def _line(variables: Variables) -> tuple[float, float, float, float]:
    targets = variables.problem.targets
    logs = log_speeds(variables.problem, variables.candidate.stages)
    places, every = log_ways(variables.problem, variables.candidate.stages)
    fitted = unevenness(every, targets.ratio_least, places)
    return fitted.start, fitted.log_ratio, fitted.delta, end_miss(logs, targets.lo_rpm, targets.hi_rpm)
