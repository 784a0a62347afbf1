"""Lines of lettering set one below another in columns, on as many pages as they take."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from optimizer.drawing.placing import moved
from optimizer.drawing.sheet import Entity

__all__ = ["Block", "Column", "flowed"]


@dataclass(frozen=True, slots=True)
class Block:
    """What stays together, drawn from (0, 0), its upper left corner, downward."""

    entities: tuple[Entity, ...]
    height_mm: float
    falls_away: bool = False
    """Whether it is left out at the top of a column, as a gap is."""
    headed: Block | None = None
    """What stands in its place at the top of a column that has the head already."""


class Column(NamedTuple):
    """Where blocks may stand, on the page [mm]."""

    left_mm: float
    top_mm: float
    low_mm: float


def flowed(
    blocks: Iterable[Block], first: Sequence[Column], others: Sequence[Column], head: Block | None = None
) -> tuple[tuple[Entity, ...], ...]:
    """Return the entities of each page: as much as the columns of the first hold, the rest on pages of other columns.

    Parameters
    ----------
    blocks
        In reading order; one that is higher than any column stands in a column alone.
    first
        Columns of the first page, which may be none.
    others
        Columns of every further page, at least one.
    head
        What stands at the top of every column of further pages.

    Examples
    --------
    >>> from optimizer.drawing.sheet import Text
    >>> line = Block((Text("words", (0, -2), "line", 2),), 5)
    >>> pages = flowed([line] * 4, [Column(10, 30, 20)], [Column(10, 100, 20)])
    >>> [[text.at for text in page] for page in pages]
    [[(10, 28), (10, 23)], [(10, 98), (10, 93)]]
    """
    pages: list[list[Entity]] = [[]]
    columns = list(first)
    top_mm, fresh = columns[0].top_mm if columns else 0.0, True
    for block in blocks:
        while not columns or (not fresh and top_mm - block.height_mm < columns[0].low_mm):
            columns = columns[1:]
            if not columns:
                columns = list(others)
                pages.append([])
            top_mm, fresh = columns[0].top_mm, True
            if head and len(pages) > 1:
                pages[-1] += _at(head, columns[0].left_mm, top_mm)
                top_mm -= head.height_mm
                block = block.headed or block
        if fresh and block.falls_away:
            continue
        pages[-1] += _at(block, columns[0].left_mm, top_mm)
        top_mm, fresh = top_mm - block.height_mm, False
    return tuple(map(tuple, pages))


def _at(block: Block, left_mm: float, top_mm: float) -> list[Entity]:
    return [moved(entity, (left_mm, top_mm)) for entity in block.entities]
