"""Exact search for the best sizes of one layout."""

from optimizer.search.closing import closing_proof, round_sizes
from optimizer.search.extremes import GRIP_TICK, Gripping
from optimizer.search.index import Shelf
from optimizer.search.search import Searched, look, look_all, search, some_design
from optimizer.search.skimming import Skimmed, least_skimming

__all__ = [
    "GRIP_TICK",
    "Gripping",
    "Searched",
    "Shelf",
    "Skimmed",
    "closing_proof",
    "least_skimming",
    "look",
    "look_all",
    "round_sizes",
    "search",
    "some_design",
]
