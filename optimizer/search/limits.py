"""What a search looks at, counted, and what it may hold."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from math import inf

from optimizer.clock import ENDLESS, Clock, LimitReachedError

__all__ = ["AllowanceSpentError", "Meter", "refuse_to_hold"]


MOST_HELD = 6_000_000
"""Choices of one stage, or of several joined, that may be held in memory at once: about 500 MB."""


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
    """Counts the combinations that one search looks at and asks the clock whether to go on."""

    def __init__(self, clock: Clock = ENDLESS) -> None:
        self.examined = 0
        self.held_bytes = 0
        """Greatest memory that pairs and tabulated choices took at once."""
        self._until = inf
        self.clock = clock

    def spend(self, combinations: int) -> None:
        """Count combinations.

        Raises
        ------
        LimitReachedError
            Where the clock says so.
        AllowanceSpentError
            Where an allowance is spent.
        """
        self.examined += combinations
        if self.examined > self._until:
            raise AllowanceSpentError
        self.clock.ask_after(self.examined)

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
        self.clock.hear(threshold, self.examined)
