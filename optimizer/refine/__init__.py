"""Refinement of a candidate to what can be turned."""

from optimizer.refine.refine import amount, refine

__all__ = ["amount", "refine"]
