"""Refinement and rounding of a machine with a middle shaft."""

from optimizer.refine.middle.refine import refine_middle
from optimizer.refine.middle.rounding import round_middle

__all__ = ["refine_middle", "round_middle"]
