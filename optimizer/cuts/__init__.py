"""From a design to what is cut from the timber."""

from optimizer.cuts.cones import CutCone, CutLayer, CutStep, cut_cones

__all__ = ["CutCone", "CutLayer", "CutStep", "cut_cones"]
