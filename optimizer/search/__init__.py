"""Exact search for the best sizes of one layout."""

from optimizer.search.closing import closing_proof
from optimizer.search.limits import Stop, Watch
from optimizer.search.search import search

__all__ = ["Stop", "Watch", "closing_proof", "search"]
