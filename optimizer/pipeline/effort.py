"""How far a search may go before it ends unproved."""

from __future__ import annotations

from collections.abc import Callable

from optimizer.search import Stop

__all__ = ["MOST_EXAMINED", "stop_after", "stop_at_memory", "stop_at_time", "stop_when_any"]

MOST_EXAMINED = 20_000_000
"""Combinations looked at in one search before it ends unproved; a count, not a time, so that results repeat."""


def stop_after(most: int) -> Stop:
    """Return a rule that ends a search after so many combinations.

    Examples
    --------
    >>> stop_after(1_000_000)(1_000_001)
    '1,000,000 combinations were looked at'
    """

    def rule(examined: int) -> str | None:
        return f"{most:,} combinations were looked at" if examined > most else None

    return rule


def stop_at_time(most_s: float, clock_s: Callable[[], float]) -> Stop:
    """Return a rule that ends every search once so much time [s] has gone by since now.

    The clock is the caller's: where it ends nothing, it decides nothing, and results repeat.

    Examples
    --------
    >>> now = iter([100.0, 159.0, 161.0])
    >>> rule = stop_at_time(60.0, lambda: next(now))
    >>> rule(1_000), rule(2_000)
    (None, 'the 60 s it was given were over')
    """
    end_s = clock_s() + most_s
    reason = f"the {most_s:g} s it was given were over"
    return lambda _: reason if clock_s() > end_s else None


def stop_at_memory(most_mb: float, held_mb: Callable[[], float | None]) -> Stop:
    """Return a rule that ends a search while the process holds more memory [MB] than it was given.

    Examples
    --------
    >>> stop_at_memory(2000, lambda: 2100.0)(1_000), stop_at_memory(2000, lambda: None)(1_000)
    ('the 2,000 MB of memory it was given were held', None)
    """
    reason = f"the {most_mb:,.0f} MB of memory it was given were held"
    return lambda _: reason if (held_mb() or 0.0) > most_mb else None


def stop_when_any(*rules: Stop) -> Stop:
    """Return a rule that ends a search for the first reason that any of some rules has.

    Examples
    --------
    >>> stop_when_any(stop_after(10), stop_after(5))(7)
    '5 combinations were looked at'
    """

    def rule(examined: int) -> str | None:
        return next((reason for each in rules if (reason := each(examined))), None)

    return rule
