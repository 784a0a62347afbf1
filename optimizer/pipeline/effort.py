"""How far a search may go before it ends unproved."""

from __future__ import annotations

from optimizer.search import Stop

__all__ = ["MOST_EXAMINED", "stop_after"]

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
