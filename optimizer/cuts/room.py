"""What squares leave of a sheet, and whether straight cuts can part them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

__all__ = ["Box", "are_parted_by_straight_cuts", "largest_free"]


class Box(NamedTuple):
    """A rectangle in whole ticks; of a square, with the kerf to its right and above it."""

    left: int
    low: int
    right: int
    high: int


def largest_free(boxes: Sequence[Box], wide: int, high: int, kerf: int) -> Box | None:
    """Return the largest rectangle of a sheet that no box reaches into; nothing where all is taken.

    The sheet lies between 0 and `wide`, 0 and `high`. The rectangle carries a kerf to its right and above it like every
    box, so the largest is that of the greatest `(width - kerf) · (height - kerf)`. It touches something on all four
    sides: its left edge is 0 or the right edge of a box, and from there the gaps between boxes are followed to the
    right; each box that stands in a gap ends a rectangle and leaves two lower gaps. Of equals it is the leftmost.

    Examples
    --------
    >>> largest_free([Box(0, 0, 60, 60), Box(60, 0, 90, 30)], 100, 100, 2)
    Box(left=0, low=60, right=100, high=100)
    >>> largest_free([Box(0, 0, 100, 100)], 100, 100, 2) is None
    True
    """
    best, most = None, 0
    ordered = sorted(boxes)
    for left in sorted({0, *(box.right for box in boxes)}):
        gaps = [(0, high)]
        for box in (*(box for box in ordered if box.right > left), Box(wide, 0, wide, high)):
            kept = []
            for low, top in gaps:
                if box.high <= low or top <= box.low:
                    kept.append((low, top))
                    continue
                size = (box.left - left - kerf) * (top - low - kerf)
                if box.left - left > kerf and size > most:
                    best, most = Box(left, low, box.left, top), size
                kept += [(low, box.low), (box.high, top)]
            gaps = [(low, top) for low, top in kept if (wide - left - kerf) * (top - low - kerf) > most]
    return best


def are_parted_by_straight_cuts(boxes: Sequence[Box]) -> bool:
    """Tell whether cuts from edge to edge of the piece in hand part all boxes.

    A cut may run where no box lies on both sides of it; what it leaves on either side is a piece in hand again. Which
    cut comes first does not matter: a cut that can be made in the whole can be made in every part of it.

    Examples
    --------
    Four around a fifth, each passing its neighbour's end, let no cut through:

    >>> wheel = [Box(0, 0, 2, 1), Box(2, 0, 3, 2), Box(1, 2, 3, 3), Box(0, 1, 1, 3), Box(1, 1, 2, 2)]
    >>> are_parted_by_straight_cuts(wheel), are_parted_by_straight_cuts(wheel[:3])
    (False, True)
    """
    pieces = [list(boxes)]
    while pieces:
        piece = pieces.pop()
        if len(piece) < 2:
            continue
        parts = _strips(piece, 0) if len(_strips(piece, 0)) > 1 else _strips(piece, 1)
        if len(parts) < 2:
            return False
        pieces.extend(parts)
    return True


def _strips(boxes: Sequence[Box], way: int) -> list[list[Box]]:
    """Return the boxes as groups between all straight cuts across one way: 0 from left to right, 1 upward."""
    ordered = sorted(boxes, key=lambda box: box[way])
    strips, reach = [[ordered[0]]], ordered[0][way + 2]
    for _, box in pairwise(ordered):
        if box[way] >= reach:
            strips.append([])
        strips[-1].append(box)
        reach = max(reach, box[way + 2])
    return strips
