"""What the gate takes of all that is there to be asked, as long runs are commands of their own.

With ``CONEWRIGHT_TESTS=all python -m pytest tests/search tests/unit`` the tests that take a sample take everything.
"""

from __future__ import annotations

import os
from collections.abc import Iterable

__all__ = ["EVERYTHING", "sampled"]

EVERYTHING = os.environ.get("CONEWRIGHT_TESTS") == "all"


def sampled(everything: Iterable[int], *, every: int = 1, slow: tuple[int, ...] = ()) -> tuple[int, ...]:
    """Return every so many of some seeds, without those that take longest; all of them where everything is asked."""
    seeds = tuple(everything)
    return seeds if EVERYTHING else tuple(seed for seed in seeds[::every] if seed not in slow)
