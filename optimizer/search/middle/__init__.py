"""Exact search for three shafts, the middle one with a cone that both belts share, or with a cone for each."""

from optimizer.search.middle.rounding import round_middle
from optimizer.search.middle.search import search_middle

__all__ = ["round_middle", "search_middle"]
