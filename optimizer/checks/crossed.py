"""Crossed belts: what the crossing asks of the centre distance, and what it does to the belt."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.stated import Pair
from optimizer.checks.verdict import Check, Rule, Skipped, at_least

__all__ = ["CROSSED_CAUTION", "crossed_checks"]

WIDTHS = 20.0
"""Least centre distance of a crossed flat belt, in widths of the belt; common practice, no source."""
CROSSED_CAUTION = (
    "A crossed belt rubs on itself where its strands meet, and wears there: look at both faces often, keep fingers and "
    "sleeves from the crossing, guard it too. Its driven shaft turns against its driver."
)
"""Stands beside every crossed belt."""


def crossed_checks(pair: Pair) -> Iterator[Check | Skipped]:
    """Yield the check that a crossed flat belt has length enough to turn over between its pulleys."""
    if not pair.crossed:
        return
    name = "centres of a crossed belt"
    if not pair.fits:
        yield Skipped(name=name, where=pair.key, why="the belt does not go round at every position")
    elif pair.section.kind == "flat":
        rule = Rule(name, "advice", WIDTHS * pair.section.top_mm, "mm", "common practice, no source: 20 belt widths")
        least = min(pair.centres_mm)
        note = "nearer, the twisted strands run off and rub hard where they cross"
        yield at_least(rule, pair.place(pair.centres_mm.index(least)), least, note)
