"""A smooth problem with bounds and rows, solved by scipy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Any, Final, Literal, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, minimize

from optimizer.clock import ENDLESS, Clock
from optimizer.records.refined import SolverReport

__all__ = ["Objective", "Program", "Rows", "Solution", "solve"]

Floats = NDArray[np.float64]
Vector = np.ndarray[tuple[int], np.dtype[np.float64]]
METHOD: Final = "SLSQP"
MOST_STEPS = 300
FINEST = 1e-12
"""Change of the objective below which the solver ends."""
NEARBY = 0.03
"""Rows farther than this from their limit are left out until an answer passes them."""
PASSED = 1e-10
"""How far an answer may pass a row that was left out."""
KEPT = 1e-9
"""How far an answer may pass any row."""
ROUNDS = 6
"""How often the solver may go on from an answer, the last time with all rows."""
TRIES = 6
"""How often the solver may begin anew beside an answer at which it could not end."""
MOVED = 0.01
"""How far a new beginning lies from that answer at first, as a share of a variable's own size, or of 1."""
TURN = 0.6180339887498949
"""Share of the golden section: its multiples, less whole numbers, spread the moves evenly between the variables."""


class Objective(Protocol):
    """What is made least."""

    def __call__(self, vector: Floats, /) -> tuple[float, Floats]:
        """Return the value with its gradient."""


class Rows(NamedTuple):
    """Functions that must all be 0, or must all not be below it."""

    values: Callable[[Floats], Floats]
    """The functions' values, shape (rows,)."""
    gradients: Callable[[Floats], Floats]
    """Their gradients, shape (rows, variables)."""


@dataclass(frozen=True)
class Program:
    """An objective to be made least under rows and bounds; how it is solved is no part of it."""

    objective: Objective
    equal: Rows
    """Rows that must be 0."""
    least: Rows
    """Rows that must not be below 0."""
    low: Floats
    high: Floats


class Solution(NamedTuple):
    """Where the solver ended."""

    vector: Floats
    report: SolverReport
    evaluations: int
    """How often it asked for the objective, in all its runs; that hangs on the processor, so it is nobody's figure."""


class _Asked:
    """The objective, counted over all rounds of the solver; the clock may end them."""

    def __init__(self, objective: Objective, clock: Clock) -> None:
        self._objective, self._clock = objective, clock
        self.evaluations = 0

    def __call__(self, vector: Floats, /) -> tuple[float, Floats]:
        """Return the value with its gradient."""
        self._clock.ask()
        self.evaluations += 1
        return self._objective(vector)


def solve(program: Program, start: Floats, clock: Clock = ENDLESS) -> Solution:
    """Return the least value near a start, by sequential quadratic programming with exact gradients.

    The solver's effort grows with the number of rows, of which few are near their limits. So the others are left
    out at first; those that an answer passes are taken in and the solver goes on from there, until the answer
    keeps every row. It goes on once too where it stopped short. A run that ends without success all the same, or with a
    row passed, is begun anew beside where it stood, each time farther off and in another direction: whether a line
    search stalls at the end hangs on the last bits of the processor's kernels. The best run is the answer, those that
    arrived before all others, and the report is of that run.

    Parameters
    ----------
    program
        Objective, rows and bounds.
    start
        Where to begin; clipped to the bounds.
    clock
        Asked at every step.

    Returns
    -------
    The answer within the bounds, with what the solver said of it; rows are kept to its tolerance only.

    Examples
    --------
    The point of the line x + y = 2 that is nearest to the origin:

    >>> line = Rows(lambda z: np.array([z[0] + z[1] - 2]), lambda z: np.array([[1.0, 1.0]]))
    >>> none = Rows(lambda z: np.empty(0), lambda z: np.empty((0, 2)))
    >>> far = np.full(2, 9.0)
    >>> answer = solve(Program(lambda z: (float(z @ z), 2 * z), line, none, -far, far), np.array([3.0, 0.0]))
    >>> answer.vector.round(6).tolist()
    [1.0, 1.0]
    """
    asked = _Asked(program.objective, clock)
    best = _run(program, start, asked)
    for number in range(TRIES):
        if best.arrived:
            break
        beside = best.vector if np.isfinite(best.vector).all() else start
        best = min(best, _run(program, _moved(beside, number), asked), key=lambda run: run.rank)
    said = f"{best.said.message}{', but a row is passed' if best.said.success and not best.arrived else ''}"
    report = SolverReport(method=METHOD, success=best.arrived, status=int(best.said.status), message=said)
    return Solution(best.vector, report, asked.evaluations)


class _Run(NamedTuple):
    """Where one run over all its rounds ended."""

    vector: Floats
    said: Any
    """scipy's own result of its last round."""
    passed: float
    """By how much a row is passed, up to the tolerance counted as nothing."""

    @property
    def arrived(self) -> bool:
        """Whether scipy says so, with every row kept."""
        return bool(self.said.success) and self.passed == 0

    @property
    def rank(self) -> tuple[bool, float, float]:
        """Runs that arrived first, then those that keep the rows better, then those of less."""
        return not self.arrived, self.passed, float(self.said.fun)


def _run(program: Program, start: Floats, asked: _Asked) -> _Run:
    """Return where the solver ends from one start."""
    vector = np.clip(start, program.low, program.high)
    values = program.least.values(vector)
    near = values < NEARBY
    stopped = False
    for number in range(ROUNDS):
        if number == ROUNDS - 1:
            near = np.ones_like(near)
        result = _minimized(program, vector, np.flatnonzero(near), asked)
        vector = np.clip(np.asarray(result.x, dtype=np.float64), program.low, program.high)
        values = program.least.values(vector)
        passed = ~near & ~(values >= -PASSED)
        if not passed.any() and (result.success or stopped):
            break
        stopped = not result.success
        near |= ~(values >= NEARBY)
    worst = max(float(-values.min(initial=0.0)), float(np.abs(program.equal.values(vector)).max(initial=0.0)))
    return _Run(vector, result, 0.0 if worst <= KEPT else worst if np.isfinite(worst) else inf)


def _moved(vector: Floats, number: int) -> Floats:
    """Return a start beside an answer, every time in another direction and farther off."""
    turns = (np.arange(1, vector.size + 1) * (number + 1) * TURN) % 1.0
    return np.asarray(vector + MOVED * 2.0**number * (2 * turns - 1) * np.maximum(np.abs(vector), 1.0))


def _minimized(program: Program, start: Floats, taken: NDArray[np.intp], asked: _Asked) -> Any:
    """Return scipy's own result for the rows taken; its type differs between versions."""
    rows = program.least
    part = Rows(lambda vector: rows.values(vector)[taken], lambda vector: rows.gradients(vector)[taken])
    return minimize(
        asked,
        start.reshape(start.size),
        jac=True,
        method=METHOD,
        bounds=Bounds(program.low, program.high),
        constraints=[_stated("eq", program.equal), _stated("ineq", part)],
        options={"maxiter": MOST_STEPS, "ftol": FINEST},
    )


def _stated(kind: Literal["eq", "ineq"], rows: Rows) -> Any:
    """Return rows as scipy takes them; the stubs keep this dict's type private."""
    return {"type": kind, "fun": rows.values, "jac": rows.gradients}
