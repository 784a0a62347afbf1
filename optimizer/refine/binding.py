"""Which limits an answer stands at, with what each of them costs."""

from __future__ import annotations

from math import inf
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from optimizer.records.refined import Binding
from optimizer.refine.program import Program
from optimizer.refine.rows import Limit
from optimizer.refine.stated import Bound, Limits

__all__ = ["HasLimits", "bindings"]

Floats = NDArray[np.float64]
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
