"""Refinement of a candidate to what can be turned."""

from optimizer.refine.refine import refine
from optimizer.refine.rounding import round_sizes

__all__ = ["refine", "round_sizes"]
