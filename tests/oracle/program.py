"""A mixed-integer linear program in the making, handed to each general solver in the units that suit it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

__all__ = ["LOG_SCALE", "Matrix", "Program", "Row", "Terms", "Unit"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Terms = dict[int, float]
"""A sum, as the multiple of each of its variables."""
LOG_SCALE = 1000.0
"""Logarithms go in thousandths, so that the solver's tolerances of 1e-6 and 1e-7 are 1e-9 and 1e-10 of a logarithm."""
INFEASIBLE = 2
"""What scipy's milp gives as status where the rows cannot be met."""


class Unit(Enum):
    """What a variable or a row is measured in."""

    COUNT = "count"
    LOG = "log"
    MM = "mm"


class Row(NamedTuple):
    """A sum of multiples of variables between two values."""

    columns: Ints
    values: Floats
    low: float
    high: float
    unit: Unit


@dataclass(frozen=True)
class Matrix:
    """A program as arrays, every variable and row in the units asked for."""

    cost: Floats
    low: Floats
    high: Floats
    whole: NDArray[np.bool_]
    rows: csr_array
    row_low: Floats
    row_high: Floats


class Program:
    """Variables and rows of a mixed-integer program.

    Examples
    --------
    >>> program = Program()
    >>> x, y = program.binaries(2)
    >>> j = program.variable(0, 5, unit=Unit.LOG, cost=1.0)
    >>> program.row([x, y], [1, 1], 1, 1)
    >>> program.row([x, y, j], [-0.5, -0.25, 1], low=0, unit=Unit.LOG)
    >>> program.matrix({Unit.LOG: 1000.0}).rows.toarray().tolist()
    [[1.0, 1.0, 0.0], [-500.0, -250.0, 1.0]]
    """

    def __init__(self) -> None:
        self.cost: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []
        self.whole: list[bool] = []
        self.units: list[Unit] = []
        self.rows: list[Row] = []

    def variable(self, low: float, high: float, *, unit: Unit, cost: float = 0.0) -> int:
        """Add a continuous variable; return its number."""
        return self._add(low, high, cost, whole=False, unit=unit)

    def binaries(self, number: int) -> Ints:
        """Add variables that are 0 or 1; return their numbers."""
        return np.array([self._add(0, 1, 0.0, whole=True, unit=Unit.COUNT) for _ in range(number)], dtype=np.int64)

    def row(
        self,
        columns: Sequence[int] | Ints,
        values: Sequence[float] | Floats,
        low: float = -inf,
        high: float = inf,
        *,
        unit: Unit = Unit.COUNT,
    ) -> None:
        """Ask that a sum lies between two values."""
        self.rows.append(
            Row(np.asarray(columns, dtype=np.int64), np.asarray(values, dtype=np.float64), low, high, unit)
        )

    def sum_row(self, terms: Terms, low: float = -inf, high: float = inf, *, unit: Unit = Unit.COUNT) -> None:
        """Ask that a sum, written as the multiple of each variable, lies between two values."""
        self.row(list(terms), list(terms.values()), low, high, unit=unit)

    def solve(self) -> Floats | None:
        """Return the values of an optimum, found by HiGHS with no gap allowed; nothing where the rows cannot be met.

        Raises
        ------
        RuntimeError
            If the solver fails.
        """
        matrix = self.matrix({Unit.LOG: LOG_SCALE})
        for presolve in (True, False):
            said = milp(
                matrix.cost,
                integrality=matrix.whole.astype(np.int64),
                bounds=Bounds(matrix.low, matrix.high),
                constraints=LinearConstraint(matrix.rows, matrix.row_low, matrix.row_high),
                options={"mip_rel_gap": 0.0, "presolve": presolve},
            )
            if said.status in (0, INFEASIBLE):
                break
        if said.status == INFEASIBLE:
            return None
        if said.status != 0:
            raise RuntimeError(f"the solver says: {said.message}")
        scales = np.array([LOG_SCALE if unit is Unit.LOG else 1.0 for unit in self.units])
        return np.asarray(np.array(said.x, dtype=np.float64) / scales)

    def matrix(self, scales: dict[Unit, float]) -> Matrix:
        """Return the program with every unit multiplied by its scale, where it has one."""
        of_variable = np.array([scales.get(unit, 1.0) for unit in self.units])
        of_row = np.array([scales.get(row.unit, 1.0) for row in self.rows])
        sizes = [row.columns.size for row in self.rows]
        columns = np.concatenate([row.columns for row in self.rows])
        values = np.concatenate([row.values for row in self.rows])
        values = values * np.repeat(of_row, sizes) / of_variable[columns]
        starts = np.concatenate([[0], np.cumsum(sizes)])
        return Matrix(
            cost=np.array(self.cost),
            low=np.array(self.low) * of_variable,
            high=np.array(self.high) * of_variable,
            whole=np.array(self.whole),
            rows=csr_array((values, columns, starts), shape=(len(self.rows), len(self.cost))),
            row_low=np.array([row.low for row in self.rows]) * of_row,
            row_high=np.array([row.high for row in self.rows]) * of_row,
        )

    def _add(self, low: float, high: float, cost: float, *, whole: bool, unit: Unit) -> int:
        self.cost.append(cost)
        self.low.append(low)
        self.high.append(high)
        self.whole.append(whole)
        self.units.append(unit)
        return len(self.cost) - 1
