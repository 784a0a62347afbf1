"""What documents are made of: sections of blocks, each with its rank and, where it is not for all, its outputs.

A topic makes blocks once; `terminal`, `markdown` and `html` turn them into what is read.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import Enum, IntEnum
from typing import TypeVar

from optimizer.drawing.sheet import Sheet

__all__ = [
    "MARKDOWN",
    "PAGE",
    "TERMINAL",
    "Article",
    "Block",
    "Choice",
    "Column",
    "Document",
    "Facts",
    "Figure",
    "Lines",
    "Output",
    "Picture",
    "Rank",
    "Rows",
    "Section",
    "Table",
    "Text",
    "Verbatim",
    "are_figures",
    "listed_section",
    "shown_on",
    "table_of",
]

FIGURE = re.compile(r"[-+]?[\d,]*\.?\d+(e[-+]\d+)?( ?[%°])?|none")
T = TypeVar("T")
Column = tuple[str, Callable[[T], str | None]]
"""The head of a column, and what stands in it of each thing; nothing where there is nothing to say."""


class Output(Enum):
    """What a document is turned into."""

    TERMINAL = "terminal"
    MARKDOWN = "markdown"
    PAGE = "page"


class Rank(IntEnum):
    """How soon a reader needs a block; the terminal shows answers, papers everything."""

    ANSWER = 1
    DETAIL = 2
    PROOF = 3


TERMINAL, MARKDOWN, PAGE = ((output,) for output in Output)
"""What a block is only for."""


@dataclass(frozen=True, kw_only=True)
class Block:
    """Anything that stands in a section."""

    rank: Rank = Rank.DETAIL
    only: tuple[Output, ...] = tuple(Output)
    """Outputs that it is for, as far as its rank lets it appear there."""


@dataclass(frozen=True)
class Text(Block):
    """A paragraph."""

    text: str
    look: str = field(default="", kw_only=True)
    """Its look on a page, such as `caution`."""
    anchor: str = field(default="", kw_only=True)
    """Its name as a place of a page."""
    marked: str = field(default="", kw_only=True)
    """Words in it that a page sets apart."""
    href: str = field(default="", kw_only=True)
    """Where these words lead to; nowhere where they are code."""


@dataclass(frozen=True)
class Verbatim(Block):
    """A text as it is."""

    name: str
    text: str


@dataclass(frozen=True)
class Lines(Block):
    """Sentences one below the other, a list on paper."""

    lines: Sequence[str]
    look: str = field(default="", kw_only=True)
    """`cautions` or `loud` where they must not be overlooked."""


@dataclass(frozen=True)
class Table:
    """Rows of text under headings; a column whose cells are all figures is set to the right."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Rows(Block):
    """A table with the caption that it has on a page."""

    table: Table
    caption: str = ""
    links: Sequence[str] = field(default=(), kw_only=True)
    """A place in the page for every row that its first cell leads to; none where empty."""
    listed: bool = field(default=False, kw_only=True)
    """Whether it is a list of its own: turned where it is too wide, its caption heard and not seen."""


@dataclass(frozen=True)
class Figure(Block):
    """A drawing with the words below it."""

    sheet: Sheet
    prefix: str
    """What all names of places in it begin with."""
    name: str
    """Name of its frame, which the keyboard can scroll."""
    caption: str


@dataclass(frozen=True)
class Picture(Block):
    """A picture in a file of its own beside the document."""

    file: str
    words: str


@dataclass(frozen=True)
class Facts(Block):
    """Names with their values."""

    pairs: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Choice(Block):
    """Things on a page one of which is chosen, each by its number, name and a note; the first is chosen at first."""

    legend: str
    options: Sequence[tuple[int, str, str]]


@dataclass(frozen=True)
class Article(Block):
    """What a page shows of one thing that is chosen."""

    anchor: str
    title: str
    blocks: Sequence[Block]


@dataclass(frozen=True)
class Section(Block):
    """Blocks under a title; without one where it is empty. One within another has a smaller heading on a page."""

    title: str
    blocks: Sequence[Block] = ()
    anchor: str = field(default="", kw_only=True)
    """Its name as a place of a page."""


@dataclass(frozen=True)
class Document:
    """A whole document: its title, what stands below it, its sections."""

    title: str
    lead: Sequence[Block]
    sections: Sequence[Section]


def shown_on(output: Output, blocks: Iterable[Block]) -> Iterator[Block]:
    """Yield the blocks that an output shows; a section is as important as what stands in it, and goes where that goes.

    Examples
    --------
    >>> [len(list(shown_on(o, [Text("a", rank=Rank.ANSWER), Text("b"), Text("c", only=PAGE)]))) for o in Output]
    [1, 2, 3]
    """
    for block in blocks:
        if output not in block.only:
            continue
        if isinstance(block, Section):
            if not block.blocks or any(shown_on(output, block.blocks)):
                yield block
        elif output is not Output.TERMINAL or block.rank is Rank.ANSWER:
            yield block


def table_of(things: Iterable[T], *columns: Column[T] | None) -> Table:
    """Return a table with a row a thing, of the columns that are there.

    Examples
    --------
    >>> table_of([3, 4], ("side", str), ("square", lambda side: f"{side**2}"), None).rows
    (('3', '9'), ('4', '16'))
    """
    there = [column for column in columns if column is not None]
    rows = (tuple(cell(thing) or "" for _, cell in there) for thing in things)
    return Table(tuple(head for head, _ in there), tuple(rows))


def listed_section(title: str, table: Table, *notes: str) -> Section:
    """Return a table of a list for bench or shop under its title, with what is said below it."""
    return Section(title, (Rows(table, title, listed=True), Lines(notes)))


def are_figures(cells: Sequence[str]) -> bool:
    """Tell whether a column holds figures: some cell does, none holds anything else."""
    return any(cells) and all(not cell or FIGURE.fullmatch(cell) for cell in cells)
