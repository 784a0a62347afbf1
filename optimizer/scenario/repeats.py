"""Rules that nothing stands in a list twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.errors import Fault
from optimizer.quantities import as_written, show_length

__all__ = ["SAME_MM", "repeated_names", "repeated_sizes"]

SAME_MM = 1e-6
"""Two sizes closer than this are one [mm]."""


def repeated_names(key: str, names: Sequence[str]) -> Iterator[Fault]:
    """Yield a fault for every table whose name another had before."""
    for index, name in enumerate(names):
        first = names.index(name)
        if first < index:
            what = f"{key}[{first}] has this name already"
            yield Fault(f"{key}[{index}].name", what, as_written(name), "a name of its own")


def repeated_sizes(key: str, sizes_mm: Sequence[float], units: str) -> Iterator[Fault]:
    """Yield a fault for every size of a list that stood there before."""
    for index, size in enumerate(sizes_mm):
        first = next(i for i, other in enumerate(sizes_mm) if abs(other - size) < SAME_MM)
        if first < index:
            what = f"this size stands at {key}[{first}] already"
            yield Fault(f"{key}[{index}]", what, show_length(size, units), "every size once", "leave it out")
