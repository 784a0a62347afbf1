"""The names of all files that results are made of."""

from __future__ import annotations

from optimizer.papers.kinds import is_paper

__all__ = ["DESIGN_FILES", "is_result"]

DESIGN_FILES = frozenset({"cuts.csv", "design.json", "design.md"})
"""Files of a design's folder."""


def is_result(name: str) -> bool:
    """Tell whether a file of this name is part of a design or its papers, and may be replaced by a newer one.

    Examples
    --------
    >>> is_result("design.json"), is_result("speed-plate.svg"), is_result("notes.txt")
    (True, True, False)
    """
    return name in DESIGN_FILES or is_paper(name)
