"""A start near the answer of a smooth problem that is nearly straight: a short run of linear programs."""

from __future__ import annotations

from math import inf

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from optimizer.clock import ENDLESS, Clock
from optimizer.refine.program import Program

__all__ = ["approached"]

Floats = NDArray[np.float64]
ROUNDS = 8
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
    for number in range(ROUNDS):
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
