"""Exact search for the best sizes of one layout."""

from optimizer.search.limits import Stop, Watch
from optimizer.search.search import search

__all__ = ["Stop", "Watch", "search"]
