"""Exact search for the best sizes of one layout."""

from optimizer.search.closing import closing_proof
from optimizer.search.gripping import GRIP_TICK, Gripping
from optimizer.search.limits import Stop, Watch
from optimizer.search.search import Searched, look, look_all, search, some_design
from optimizer.search.shelf import Shelf

__all__ = [
    "GRIP_TICK",
    "Gripping",
    "Searched",
    "Shelf",
    "Stop",
    "Watch",
    "closing_proof",
    "look",
    "look_all",
    "search",
    "some_design",
]
