"""Drawings as files in common formats."""

from optimizer.render.dxf import dxf_bytes
from optimizer.render.pdf import pdf_bytes
from optimizer.render.svg import svg_bytes, svg_element

__all__ = ["dxf_bytes", "pdf_bytes", "svg_bytes", "svg_element"]
