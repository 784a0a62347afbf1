"""Refinement and rounding of a machine with a middle shaft."""

from optimizer.refine.middle.refine import refine_middle

__all__ = ["refine_middle"]
