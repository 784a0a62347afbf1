"""Exact search for the best sizes of one layout."""

from optimizer.search.closing import closing_proof
from optimizer.search.limits import Stop, Watch
from optimizer.search.search import Searched, look, search

__all__ = ["Searched", "Stop", "Watch", "closing_proof", "look", "search"]
