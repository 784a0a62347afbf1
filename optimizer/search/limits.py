"""How far a search may go, with who may watch it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from math import inf
from typing import Protocol

__all__ = ["AllowanceSpentError", "LimitReachedError", "Meter", "Stop", "Watch", "refuse_to_hold"]


MOST_HELD = 6_000_000
"""Choices of one stage, or of several joined, that may be held in memory at once: about 500 MB."""


class Stop(Protocol):
    """Decides when a search has gone far enough."""

    def __call__(self, examined: int) -> str | None:
        """Return a reason to stop after so many combinations, or nothing to go on."""


class Watch(Protocol):
    """Hears how a search is getting on."""

    def __call__(self, threshold: float, examined: int) -> None:
        """Take the threshold reached and the combinations looked at."""


class LimitReachedError(Exception):
    """A limit ended the search; the message is the reason."""


class AllowanceSpentError(Exception):
    """A pass has looked at more than it was allowed to."""


def refuse_to_hold(choices: int) -> None:
    """Raise if so many choices are more than may be held in memory.

    Raises
    ------
    LimitReachedError
        With the number that is too many.

    Examples
    --------
    >>> refuse_to_hold(1000)
    """
    if choices > MOST_HELD:
        raise LimitReachedError(f"more than {MOST_HELD:,} choices would have to be held in memory")


class Meter:
    """Counts the combinations looked at and asks whether to go on."""

    def __init__(self, stop: Stop | None = None, watch: Watch | None = None) -> None:
        self.examined = 0
        self.held_bytes = 0
        """Greatest memory that pairs and tabulated choices took at once."""
        self._until = inf
        self._stop = stop
        self._watch = watch

    def spend(self, combinations: int) -> None:
        """Count combinations.

        Raises
        ------
        LimitReachedError
            Where the stopping rule says so.
        AllowanceSpentError
            Where an allowance is spent.
        """
        self.examined += combinations
        if self.examined > self._until:
            raise AllowanceSpentError
        reason = self._stop(self.examined) if self._stop else None
        if reason:
            raise LimitReachedError(reason)

    def hold(self, held_bytes: int) -> None:
        """Note how much memory is held."""
        self.held_bytes = max(self.held_bytes, held_bytes)

    @contextmanager
    def allowance(self, combinations: float) -> Iterator[None]:
        """Allow so many combinations within the block; an allowance within another cannot outlast it."""
        outer = self._until
        self._until = min(outer, self.examined + combinations)
        try:
            yield
        finally:
            self._until = outer

    def shorten(self, combinations: float) -> None:
        """Leave no more than so many combinations to the allowance there is."""
        self._until = min(self._until, self.examined + combinations)

    def tell(self, threshold: float) -> None:
        """Let the watcher know where the search is."""
        if self._watch:
            self._watch(threshold, self.examined)
