"""A candidate's smooth problem, stated for the solver; which of its limits bind, and what each costs."""

from __future__ import annotations

from math import inf, log, pi
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from optimizer.records import Candidate, SideSizes
from optimizer.records.refined import Binding, Goal
from optimizer.records.speeds import log_speeds, log_ways
from optimizer.refine.limit_rows import Carried, Shared
from optimizer.refine.program import Objective, Program, Rows
from optimizer.refine.rows import (
    Belts,
    Gathered,
    Limit,
    Row,
    disc_rows,
    joined,
    moving_rows,
    slack_row,
    speed_rows,
    stage_rows,
)
from optimizer.refine.variables import CENTRE_SCALE_MM, Variables
from optimizer.series import end_miss, unevenness

__all__ = [
    "Bound",
    "HasLimits",
    "Limits",
    "Stated",
    "bindings",
    "least_disc",
    "least_j",
    "least_timber",
    "rows_of",
    "stated",
]

Floats = NDArray[np.float64]
NEAR = 1e-5
"""Weight of the distance from the start: settles which of many equally good answers is taken."""
STAND_IN = 0.1
"""Weight of the volume of steps that keep their discs."""


def least_j(variables: Variables, start: Floats) -> Objective:
    """Return the weighted sum of end miss and unevenness, ``w_e·ε + w_u·δ``."""
    targets = variables.problem.targets
    line = np.zeros(variables.size)
    _, _, delta, miss = variables.series
    line[delta], line[miss] = targets.unevenness_weight, targets.end_weight
    return _with_distance(variables, start, lambda vector: (float(line @ vector), line))


def least_disc(variables: Variables, start: Floats) -> Objective:
    """Return the logarithm of the largest disc, which `disc_rows` tie to the diameters."""
    line = np.zeros(variables.size)
    line[variables.disc] = 1.0
    return _with_distance(variables, start, lambda vector: (float(line @ vector), line))


def least_timber(variables: Variables, start: Floats, *, keep_discs: bool = False) -> Objective:
    """Return the volume of the discs as a share of that at the start.

    ``Σ π/4·(outside + truing)²·width`` over the turned steps: smooth, as if a disc of any size could be had. Where
    discs come in set sizes it stands in for their true volume, a step function of the diameter. Where they are to keep
    their discs, such steps count less than those from discs of any size, since turning them smaller saves nothing.
    """
    sides = _turned_sides(variables)
    extra_mm = np.array([side.outside_shift_mm + side.truing_mm for side in sides])
    counted = STAND_IN if keep_discs else 1.0
    widths_mm = np.array([side.width_mm * (counted if side.discs_mm else 1.0) for side in sides])
    turned = slice(0, variables.turned)

    def volume(vector: Floats) -> tuple[float, Floats]:
        pitch_mm = np.exp(vector[turned])
        blank_mm = pitch_mm + extra_mm
        gradient = np.zeros(variables.size)
        gradient[turned] = pi / 2 * blank_mm * pitch_mm * widths_mm
        return float(pi / 4 * (blank_mm**2 @ widths_mm)), gradient

    whole = volume(start)[0] or 1.0

    def share(vector: Floats) -> tuple[float, Floats]:
        value, gradient = volume(vector)
        return value / whole, gradient / whole

    return _with_distance(variables, start, share)


def _turned_sides(variables: Variables) -> list[SideSizes]:
    """Return the side of every turned diameter, in the order of the variables."""
    found = {
        index: side
        for spot in variables.spots
        for index, side in (
            (spot.driver, variables.problem.stages[spot.stage].driver),
            (spot.driven, variables.problem.stages[spot.stage].driven),
        )
        if index >= 0
    }
    return [found[index] for index in sorted(found)]


def _with_distance(variables: Variables, start: Floats, wanted: Objective) -> Objective:
    """Return what is wanted with a small weight on the distance of all sizes from the start."""
    sizes = slice(0, variables.first)

    def objective(vector: Floats) -> tuple[float, Floats]:
        value, gradient = wanted(vector)
        away = vector[sizes] - start[sizes]
        out = gradient.copy()
        out[sizes] += 2 * NEAR * away
        return value + NEAR * float(away @ away), out

    return objective


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


ACTIVE = 1e-6
"""A limit binds when its room is less than this, as a logarithm or a share of a length."""
STATIONARY = 1e-3
"""Share of the objective's gradient that the limits may leave unexplained for their costs to be told."""
NOTHING = 1e-7
"""A fall of J per unit below which a limit that the answer stands at costs nothing."""


class HasLimits(Protocol):
    """A smooth problem that says what its rows and bounds are there for."""

    @property
    def program(self) -> Program:
        """The problem as it is solved."""

    @property
    def limits(self) -> Limits:
        """Its rows that must not be below 0."""

    @property
    def bounds(self) -> tuple[Bound, ...]:
        """Its bounds that are limits of the maker's."""


def bindings(stated: HasLimits, vector: Floats) -> tuple[Binding, ...]:
    """Return the limits that keep the objective from being less, each with its price.

    At a least value the gradient of the objective is a sum of the gradients of the rows and bounds that bind,
    ``∇J = Σ λ·∇g + Σ μ·∇h`` with ``λ >= 0`` for limits and any μ for equal rows (the conditions of Karush, Kuhn and
    Tucker). scipy's solver keeps λ to itself, so they are found by non-negative least squares. J falls by λ for
    every unit by which a row's value grows; a limit that several steps stand at counts with all of them.

    Parameters
    ----------
    stated
        The problem.
    vector
        The solver's answer.

    Returns
    -------
    Limits in the order of their cost, dearest first. Where the sum leaves a part of the gradient, all limits that the
    answer stands at, without cost.
    """
    limits, columns = _active(stated, vector)
    if not limits:
        return ()
    equal = stated.program.equal.gradients(vector)
    wanted = stated.program.objective(vector)[1]
    rest = inf
    try:
        multipliers, rest = nnls(np.column_stack([*columns, *equal, *-equal]), wanted)
    except RuntimeError:  # as scipy says that its steps did not suffice
        multipliers = np.zeros(len(limits))
    told = rest <= STATIONARY * float(np.linalg.norm(wanted))
    costs: dict[tuple[str, str], float] = {}
    places: dict[tuple[str, str], list[str]] = {}
    for limit, multiplier in zip(limits, multipliers, strict=False):
        cost = float(multiplier) * limit.per if limit else 0.0
        if limit is None or (told and cost < NOTHING):
            continue
        key = limit.name, limit.unit
        costs[key] = costs.get(key, 0.0) + cost
        if limit.place and limit.place not in places.setdefault(key, []):
            places[key].append(limit.place)
    listed = [
        Binding(
            limit=name,
            places=tuple(places.get((name, unit), ())),
            falls=costs[name, unit] if told else None,
            unit=unit,
        )
        for name, unit in costs
    ]
    return tuple(sorted(listed, key=lambda b: (-(b.falls or 0.0), b.limit)))


def _active(stated: HasLimits, vector: Floats) -> tuple[list[Limit | None], list[Floats]]:
    """Return what every binding bound and row is there for, with the gradient of its room."""
    program = stated.program
    limits: list[Limit | None] = []
    columns: list[Floats] = []
    named = {(bound.place, bound.high): bound.limit for bound in stated.bounds}
    for high, ends, sign in ((False, program.low, 1.0), (True, program.high, -1.0)):
        for index in np.flatnonzero(np.abs(vector - ends) < ACTIVE):
            column = np.zeros(vector.size)
            column[index] = sign
            columns.append(column)
            limits.append(named.get((int(index), high)))
    at = np.flatnonzero(stated.limits.rows.values(vector) < ACTIVE)
    gradients = stated.limits.rows.gradients(vector)
    for number in at:
        columns.append(gradients[number])
        limits.append(stated.limits.limits[number])
    return limits, columns
