"""Lettering beside a drawing, with leaders to what it names: it never lies on the drawing or on other lettering."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from typing import NamedTuple

from optimizer.drawing.lettering import broken, text_width_mm
from optimizer.drawing.sheet import Point

__all__ = [
    "LEAD_MM",
    "Named",
    "Slot",
    "below",
    "below_mm",
    "beside",
    "beside_mm",
]

LEAD_MM, GAP_MM = 4.1, 1.8
"""Distance of lines of one label, gap between labels."""
DROP_MM, TAIL_MM = 3.0, 1.5
"""Least distance of two leaders that run down side by side; length of the level end of a leader."""


class Named(NamedTuple):
    """A label for every way the drawing is made, so that it stands at one place in all of them."""

    texts: tuple[str, ...]
    """What it says in each."""
    at: Point
    """What it names, on the page, in the middle over all ways [mm]."""


class Slot(NamedTuple):
    """Where a label stands, on the page [mm]."""

    bends: tuple[Point, ...]
    """The leader from its first bend to the lettering; what it starts at differs from way to way."""
    left_mm: float
    first_mm: float
    """Height of the middle of its first line; the others follow below it."""
    width_mm: float
    """Width within which its lines are broken."""


def beside_mm(labels: Sequence[Named], size: tuple[float, float]) -> float:
    """Return how high a column of labels is [mm]; arguments as in `beside`."""
    return sum(_heights_mm(labels, *size))


def below_mm(labels: Sequence[Named], span: tuple[float, float], capital_mm: float) -> float:
    """Return how high the rows of labels below a drawing are [mm]; arguments as in `below`."""
    return DROP_MM + sum(_heights_mm(labels, _row_mm(labels, span), capital_mm))


def beside(labels: Sequence[Named], left_mm: float, span: tuple[float, float], size: tuple[float, float]) -> list[Slot]:
    """Return a column of labels right of a drawing, each as near to the height of what it names as its neighbours let.

    Parameters
    ----------
    labels
        The labels, in any order; the slots come in the same.
    left_mm
        Where their leaders end, on the page [mm].
    span
        Lowest and highest edge of the column, at least as far apart as all labels need [mm].
    size
        Width of the lettering and height of its capitals [mm].
    """
    heights = _heights_mm(labels, *size)
    order = sorted(range(len(labels)), key=lambda i: (-labels[i].at[1], labels[i].at[0], i))
    tops: list[float] = []
    room = span[1]
    for i in order:
        tops.append(min(labels[i].at[1] + heights[i] / 2, room))
        room = tops[-1] - heights[i]
    floor = span[0]
    for place in range(len(order) - 1, -1, -1):
        tops[place] = max(tops[place], floor + heights[order[place]])
        floor = tops[place]
    slots: dict[int, Slot] = {}
    for i, top in zip(order, tops, strict=True):
        first = top - GAP_MM / 2 - LEAD_MM / 2
        slots[i] = Slot(((left_mm, first),), left_mm + TAIL_MM, first, size[0])
    return [slots[i] for i in range(len(labels))]


def below(labels: Sequence[Named], top_mm: float, span: tuple[float, float], capital_mm: float) -> list[Slot]:
    """Return rows of labels below a drawing, the rightmost first, so that no leader runs through lettering.

    Parameters
    ----------
    labels
        The labels, in any order; the slots come in the same.
    top_mm
        Lower edge of the drawing, on the page [mm].
    span
        Left and right edge of the page's inside [mm].
    capital_mm
        Height of capitals [mm].
    """
    width = _row_mm(labels, span)
    order = sorted(range(len(labels)), key=lambda i: (-labels[i].at[0], -labels[i].at[1], i))
    heights = _heights_mm(labels, width, capital_mm)
    rows = [top_mm - DROP_MM - down for down in accumulate((heights[i] for i in order), initial=0.0)]
    slots: dict[int, Slot] = {}
    right = span[1]
    for place, (i, row) in enumerate(zip(order, rows, strict=False)):
        lines = [line for text in labels[i].texts for line in broken(text, width, capital_mm)]
        wide = max(text_width_mm(line, capital_mm) for line in lines)
        left_behind = span[0] + DROP_MM * (len(order) - 1 - place)
        x = max(min(labels[i].at[0], right, span[1] - TAIL_MM - wide), left_behind)
        right = x - DROP_MM
        first = row - GAP_MM / 2 - LEAD_MM / 2
        slots[i] = Slot(((x, top_mm), (x, first), (x + TAIL_MM * 0.8, first)), x + TAIL_MM, first, width)
    return [slots[i] for i in range(len(labels))]


def _heights_mm(labels: Sequence[Named], width_mm: float, capital_mm: float) -> list[float]:
    """Return the room that every label takes, broken into lines of a width [mm]."""
    return [LEAD_MM * max(len(broken(text, width_mm, capital_mm)) for text in label.texts) + GAP_MM for label in labels]


def _row_mm(labels: Sequence[Named], span: tuple[float, float]) -> float:
    """Return the width within which labels below a drawing are broken, with a leader of every other one beside."""
    return span[1] - span[0] - TAIL_MM - DROP_MM * len(labels)
