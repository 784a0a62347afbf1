"""Words that several parts of the page use."""

from __future__ import annotations

from math import inf

from tests.bench.store import Row

__all__ = ["goal_words", "j_words"]


def j_words(answer: Row) -> str:
    """Return what an answer says of J.

    Examples
    --------
    >>> j_words({"status": "proved", "j": 0.0123456789}), j_words({"status": "time", "j": inf})
    ('0.01234568, proved', 'none found')
    """
    if answer["status"] == "no design":
        return "no design, proved"
    if answer["j"] == inf:
        return "none found"
    return f"{answer['j']:.8f}{', proved' if answer['status'] == 'proved' else ''}"


def goal_words(reached: bool) -> str:
    """Return whether a goal is reached."""
    return "yes" if reached else "no"
