"""The spans that a threshold leaves to ratio, ends, places and differences."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

__all__ = ["Boxes", "StageBoxes"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class StageBoxes:
    """Spans for one stage; one row a position, least and most."""

    place: Floats
    """Log ratio of each position."""
    rise: Floats
    """Log ratio of each position less that of the first."""


@dataclass(frozen=True)
class Boxes:
    """What any design with J up to a threshold must keep, in natural logarithms."""

    spread: float
    """Twice the greatest unevenness."""
    ratio: tuple[float, float]
    """ln φ of the fitted series."""
    first: tuple[float, float]
    """ln of the slowest speed."""
    last: tuple[float, float]
    """ln of the fastest speed."""
    stages: tuple[StageBoxes, ...]

    @property
    def empty(self) -> bool:
        """Whether some span has nothing in it, so that no design keeps them all."""
        spans = [self.ratio, self.first, self.last]
        arrays = [a for s in self.stages for a in (s.place, s.rise)]
        return any(low > high for low, high in spans) or any(bool((a[:, 0] > a[:, 1]).any()) for a in arrays)

    @classmethod
    def open(cls, positions: tuple[int, ...]) -> Boxes:
        """Return boxes that exclude nothing."""
        free = tuple(
            StageBoxes(np.tile([-inf, inf], (count, 1)), np.tile([-inf, inf], (count, 1))) for count in positions
        )
        return cls(inf, (0.0, inf), (-inf, inf), (-inf, inf), free)
