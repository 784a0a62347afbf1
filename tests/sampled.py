"""What the gate takes of all that is there to be asked, as long runs are commands of their own.

With ``CONEWRIGHT_TESTS=all python -m pytest tests/search tests/unit`` the tests that take a sample take everything.
"""

from __future__ import annotations

import os
from collections.abc import Iterable

import pytest

__all__ = ["EVERYTHING", "examples", "long", "named", "sampled"]

EVERYTHING = os.environ.get("CONEWRIGHT_TESTS") == "all"
long = pytest.mark.skipif(not EVERYTHING, reason="takes long; CONEWRIGHT_TESTS=all runs it")
"""Marks a test that the gate does without."""


def sampled(everything: Iterable[int], *, every: int = 1, slow: tuple[int, ...] = ()) -> tuple[int, ...]:
    """Return every so many of some seeds, without those that take longest; all of them where everything is asked."""
    seeds = tuple(everything)
    return seeds if EVERYTHING else tuple(seed for seed in seeds[::every] if seed not in slow)


def named(everything: Iterable[str], *, slow: Iterable[str]) -> tuple[str, ...]:
    """Return some cases by their names without those that take longest; all of them where everything is asked."""
    names, left_out = tuple(everything), frozenset(slow)
    unknown = left_out.difference(names)
    if unknown:
        raise ValueError(f"no such cases: {', '.join(sorted(unknown))}")
    return names if EVERYTHING else tuple(name for name in names if name not in left_out)


def examples(most: int) -> int:
    """Return how many examples a property is tried on: a third of what it is tried on where everything is asked."""
    return most if EVERYTHING else most // 3
