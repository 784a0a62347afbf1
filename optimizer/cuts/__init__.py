"""From a design to what is cut from the timber."""

from optimizer.cuts.rows import CutRow, cut_rows

__all__ = ["CutRow", "cut_rows"]
