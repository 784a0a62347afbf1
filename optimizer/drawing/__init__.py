"""Drawings as neutral sheets in millimetres, which any renderer can put into its format."""

from optimizer.drawing.sheet import Sheet
from optimizer.drawing.speed_chart import speed_chart_sheet

__all__ = ["Sheet", "speed_chart_sheet"]
