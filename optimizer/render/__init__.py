"""Drawings as files in common formats."""

from optimizer.render.svg import svg_bytes

__all__ = ["svg_bytes"]
