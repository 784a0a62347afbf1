"""A smooth problem solved by scipy, and begun anew where scipy could not end."""

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import minimize

from optimizer.refine import program as under_test
from optimizer.refine.program import Program, Rows, solve

Floats = NDArray[np.float64]
NONE = Rows(lambda z: np.empty(0), lambda z: np.empty((0, 2)))
LINE = Rows(lambda z: np.array([z[0] + z[1] - 2]), lambda z: np.array([[1.0, 1.0]]))
"""x + y = 2."""
NEAREST = Program(lambda z: (float(z @ z), 2 * z), LINE, NONE, np.full(2, -9.0), np.full(2, 9.0))
"""The point of the line nearest to the origin, (1, 1)."""
START = np.array([3.0, -1.0])


class _Failing:
    """scipy's solver, which ends its first runs where they began, as it does when no step leads down."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, fails: int) -> None:
        self.fails, self.starts, self.real = fails, list[Floats](), minimize
        monkeypatch.setattr(under_test, "minimize", self)

    def __call__(self, objective: object, start: Floats, **stated: object) -> Any:
        self.starts.append(start.copy())
        if len(self.starts) <= self.fails:
            said = "Positive directional derivative for linesearch"
            return SimpleNamespace(x=start, fun=float(start @ start), success=False, status=8, message=said, nfev=1)
        return self.real(objective, start, **stated)  # type: ignore[call-overload]


@pytest.mark.parametrize("fails", [0, 1, 2, 3, 6])
def test_a_failed_run_is_begun_anew_elsewhere(monkeypatch: pytest.MonkeyPatch, fails: int) -> None:
    """However many of its first runs fail, the solver arrives at the nearest point, and says that it did."""
    solver = _Failing(monkeypatch, fails)
    answer = solve(NEAREST, START)
    assert answer.vector == pytest.approx([1.0, 1.0], abs=1e-6)
    assert answer.report.success
    assert answer.report.status == 0
    assert len(solver.starts) >= fails + 1
    assert len({start.tobytes() for start in solver.starts}) == max(1, (fails + 1) // 2 + (fails + 1) % 2)


def test_where_every_run_fails_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no run arrives, the report says so in scipy's words, and every run began elsewhere, twice each."""
    solver = _Failing(monkeypatch, 1000)
    answer = solve(NEAREST, START)
    assert not answer.report.success
    assert (answer.report.status, answer.report.message) == (8, "Positive directional derivative for linesearch")
    assert len(solver.starts) == 2 * (1 + under_test.TRIES)
    assert len({start.tobytes() for start in solver.starts}) == 1 + under_test.TRIES


def test_rows_that_cannot_be_kept_are_said_not_to_be() -> None:
    """Where the line x + y = 2 lies outside the bounds, no answer is said to have arrived."""
    answer = solve(Program(NEAREST.objective, LINE, NONE, np.full(2, -1.0), np.full(2, 0.5)), START)
    assert not answer.report.success
