"""Lower bounds of J for choices that are not complete."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.search.fit import SeriesRules

__all__ = ["Prospect"]

Floats = NDArray[np.float64]
Span = tuple[float, float]


@dataclass(frozen=True)
class Prospect:
    """What the choices of the other stages leave J to be, whatever is added to some positions of one stage.

    The end miss follows from the outermost positions. At a common f = ln φ the spread of a stage is at least what
    its outermost positions are apart less what f asks for, and what a position between two others is off their
    chord.
    """

    series: SeriesRules
    first: Span
    """Sum of the log ratios of the first positions of the other stages."""
    last: Span
    rise: Span
    """The second less the first, for one choice."""
    places: float
    """How many places the other stages climb."""

    def least_j(self, offsets: tuple[int, ...], logs: Floats) -> Floats:
        """Return a lower bound of J.

        Parameters
        ----------
        offsets
            Places of the chosen positions, the first and last of the stage among them, in any order.
        logs
            Their log ratios, (choices, positions).
        """
        order = np.argsort(offsets)
        places, level = np.array(offsets, dtype=float)[order], logs[:, order]
        low, high = level[:, 0], level[:, -1]
        spread = np.zeros(low.size)
        if places[-1] > 0:
            if self.places > 0:
                pace = (high - low) / places[-1]
                spread = min(self.places, places[-1]) * _outside(pace, self.rise, self.places)
            for column in range(1, places.size - 1):
                share = places[column] / places[-1]
                spread = np.maximum(spread, np.abs(level[:, column] - low * (1 - share) - high * share))
        return np.asarray(self.series.weights[0] * self._miss(low, high) + self.series.weights[1] * spread / 2)

    def _miss(self, low: Floats, high: Floats) -> Floats:
        series = self.series
        if series.speeds == 1:
            return _outside((series.low + series.high) / 2 - series.base - low, self.first)
        at_first = _outside(series.low - series.base - low, self.first)
        return np.maximum(at_first, _outside(series.high - series.base - high, self.last))


def _outside(value: Floats, span: Span, divisor: float = 1.0) -> Floats:
    """Return how far values lie outside a span, the span divided first."""
    return np.maximum(0.0, np.maximum(span[0] / divisor - value, value - span[1] / divisor))
