"""Rules of the smooth problem as rows, gathered so that all are worked out at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import belt_length_mm, length_gradient
from optimizer.refine.program import Rows
from optimizer.refine.variables import Variables

__all__ = ["LENGTH_SCALE_MM", "Belts", "Gathered", "Limit", "Measured", "Rim", "Row", "joined"]

Floats = NDArray[np.float64]
LENGTH_SCALE_MM = 20.0
"""An error of the belt's length counts as a multiple of this."""


class Measured(Protocol):
    """Variables with the measures that they stand for."""

    @property
    def size(self) -> int:
        """How many variables there are."""

    @property
    def measured(self) -> int:
        """How many measures there are."""

    def measures_mm(self, vector: Floats, /) -> Floats:
        """Return the measures of a vector."""

    def per_variable_mm(self, measures_mm: Floats, /) -> Floats:
        """Return how every measure changes with every variable, shape (measures, variables)."""


class Limit(NamedTuple):
    """What a row is there for."""

    name: str
    """The limit, such as ``stage[0].driver: the largest diameter``."""
    place: str = ""
    """Which of several it holds here, such as ``step 4``."""
    unit: str = "mm"
    per: float = 0.0
    """How much the row's value grows with the limit let out by one unit; 0 where it is not a limit to let out."""


class Rim(NamedTuple):
    """A diameter [mm] that stands in a row with the logarithm of itself and a shift."""

    place: int
    shift_mm: float


@dataclass(frozen=True)
class Row:
    """A function that must be 0 (`equal`) or not below 0: ``line·z + constant``, less ``ln(diameter + shift)``.

    `z` are the variables, or the measures in millimetres that they stand for.
    """

    line: Floats
    constant: float
    limit: Limit | None = None
    """Nothing where the row only ties the measure of evenness to the speeds, and so limits no size."""
    of: Literal["variables", "measures"] = "variables"
    rim: Rim | None = None
    equal: bool = False


@dataclass(frozen=True)
class Gathered:
    """Rows of variables first, rows of measures behind them."""

    variables: Measured
    rows: tuple[Row, ...]

    @classmethod
    def of(cls, variables: Measured, rows: Sequence[Row]) -> Gathered:
        """Put the rows in order."""
        straight = [row for row in rows if row.of == "variables"]
        return cls(variables, (*straight, *(row for row in rows if row.of == "measures")))

    @cached_property
    def count(self) -> int:
        """How many rows are of variables."""
        return sum(row.of == "variables" for row in self.rows)

    @cached_property
    def lines(self) -> Floats:
        """The lines of the rows of variables."""
        return np.array([row.line for row in self.rows[: self.count]]).reshape(self.count, self.variables.size)

    @cached_property
    def measured(self) -> Floats:
        """The lines of the rows of measures."""
        rows = self.rows[self.count :]
        return np.array([row.line for row in rows]).reshape(len(rows), self.variables.measured)

    @cached_property
    def constants(self) -> Floats:
        """The rows' constants."""
        return np.array([row.constant for row in self.rows])

    @cached_property
    def rims(self) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
        """Which rows have a rim, where its diameter stands, its shift."""
        found = [(number, row.rim) for number, row in enumerate(self.rows) if row.rim]
        return (
            np.array([number for number, _ in found], dtype=np.intp),
            np.array([rim.place for _, rim in found], dtype=np.intp),
            np.array([rim.shift_mm for _, rim in found]),
        )

    def values(self, vector: Floats) -> Floats:
        """Return the rows' values."""
        measures = self.variables.measures_mm(vector)
        places, indices, shifts = self.rims
        out = np.concatenate([self.lines @ vector, self.measured @ measures]) + self.constants
        out[places] -= np.log(measures[indices] + shifts)
        return out

    def gradients(self, vector: Floats) -> Floats:
        """Return the rows' gradients."""
        measures = self.variables.measures_mm(vector)
        places, indices, shifts = self.rims
        out = np.vstack([self.lines, self.measured @ self.variables.per_variable_mm(measures)])
        out[places, indices] -= measures[indices] / (measures[indices] + shifts)
        return out


class Belts:
    """The length of the belt at every position of a stage with one centre distance, less what it must be."""

    def __init__(self, variables: Variables) -> None:
        """Take note of where sizes and centre distances stand."""
        self.variables = variables
        self.stages = []
        for rules, stage, spots in zip(
            variables.problem.stages, variables.candidate.stages, variables.by_stage, strict=True
        ):
            if 0 <= spots[0].centre < variables.size:
                places = np.array([(s.driver, s.driven, s.centre) for s in spots]).T
                known = np.array([(s.sizes.driver_mm, s.sizes.driven_mm) for s in spots]).T
                self.stages.append((places, known, stage.belt.length_mm, rules.crossed))

    def values(self, vector: Floats) -> Floats:
        """Return every belt's error, as a multiple of the scale."""
        out = [np.empty(0)]
        if self.stages:
            measures = self.variables.measures_mm(vector)
            for places, known, length, crossed in self.stages:
                sizes = _sizes(measures, places, known, crossed)
                out.append((belt_length_mm(*sizes, crossed=crossed) - length) / LENGTH_SCALE_MM)
        return np.concatenate(out)

    def gradients(self, vector: Floats) -> Floats:
        """Return the errors' gradients."""
        out = [np.empty((0, self.variables.size))]
        if self.stages:
            measures = self.variables.measures_mm(vector)
            per_variable = self.variables.per_variable_mm(measures) / LENGTH_SCALE_MM
            for places, known, _length, crossed in self.stages:
                parts = length_gradient(*_sizes(measures, places, known, crossed), crossed=crossed)
                block = np.zeros((places.shape[1], self.variables.measured))
                for place, part in zip(places, parts, strict=True):
                    turned = np.flatnonzero(place >= 0)
                    block[turned, place[turned]] = part[turned]
                out.append(block @ per_variable)
        return np.vstack(out)


def joined(parts: Sequence[Rows]) -> Rows:
    """Return rows of several kinds as one."""
    return Rows(
        lambda vector: np.concatenate([part.values(vector) for part in parts]),
        lambda vector: np.vstack([part.gradients(vector) for part in parts]),
    )


def _sizes(measures: Floats, places: NDArray[np.int64], known: Floats, crossed: bool) -> tuple[Floats, Floats, Floats]:
    """Return diameters and centre distances, the latter never so short that no belt goes round."""
    a, b = (np.where(place >= 0, measures[place], size) for place, size in zip(places[:2], known, strict=True))
    reach = (a + b) / 2 if crossed else np.abs(a - b) / 2
    return a, b, np.maximum(measures[places[2]], reach + 1e-6)
