"""Refinement of a candidate to what can be turned."""

from optimizer.refine.refine import amount, refine
from optimizer.refine.rounding import round_sizes

__all__ = ["amount", "refine", "round_sizes"]
