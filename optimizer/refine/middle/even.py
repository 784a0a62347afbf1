"""Speeds on the plate made even, as far as the largest gap leaves them free."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from optimizer.clock import ENDLESS, Clock
from optimizer.records.middle import MiddleCandidate, plate_of
from optimizer.records.plate import Plate
from optimizer.refine.middle.speeds import speed_lines
from optimizer.refine.middle.stated import stated_middle
from optimizer.refine.program import Rows, solve

__all__ = ["EVEN_SLACK", "evened", "more_even"]

Floats = NDArray[np.float64]
EVEN_SLACK = 5e-4
"""By how much F may rise for an even plate."""
ROUNDS = 3
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
    for _ in range(ROUNDS):
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
