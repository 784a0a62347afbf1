"""Exact search for three shafts, the middle one with a cone that both belts share, or with a cone for each."""

from optimizer.search.middle.plate import plate_of
from optimizer.search.middle.search import search_middle

__all__ = ["plate_of", "search_middle"]
