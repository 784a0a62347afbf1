"""Documents as text of at most 80 columns, and what a terminal takes of them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from textwrap import wrap

from rich.cells import cell_len

from optimizer.documents.blocks import (
    Block,
    Document,
    Lines,
    Output,
    Rows,
    Section,
    Table,
    Text,
    Verbatim,
    are_figures,
    shown_on,
)

__all__ = ["WIDTH", "broken", "columns", "padded", "paragraph", "screen", "table_text"]

WIDTH = 80
"""Columns of the narrowest terminal that everything must be readable on."""
NO_BREAK = "\N{NO-BREAK SPACE}"
UNIT_AFTER_FIGURE = re.compile(r"(?<=\d) (?=(%|mm|cm|in|rpm|m/s|°)(?![a-z]))")


def screen(document: Document) -> str:
    """Return a document as a person sees it on the terminal: what answers the question, parts an empty line apart."""
    lead = (block for block in shown_on(Output.TERMINAL, document.lead) if isinstance(block, Text))
    parts = [paragraph(document.title), *(paragraph(block.text) for block in lead)]
    parts += (_part(block) for block in shown_on(Output.TERMINAL, document.sections) if isinstance(block, Section))
    return "\n\n".join(parts) + "\n"


def _part(section: Section) -> str:
    blocks = shown_on(Output.TERMINAL, section.blocks)
    return "\n".join((*([paragraph(section.title)] if section.title else []), *_told(blocks)))


def _told(blocks: Iterator[Block]) -> Iterator[str]:
    for block in blocks:
        if isinstance(block, Rows):
            yield table_text(block.table)
        elif isinstance(block, Text):
            yield paragraph(block.text, indent="  ")
        elif isinstance(block, Verbatim):
            yield block.text
        elif isinstance(block, Lines):
            yield from (paragraph(line, indent="  ") for line in block.lines)
        elif isinstance(block, Section):
            yield from ("", _part(block))


def table_text(table: Table, width: int = WIDTH) -> str:
    """Return a table as lines, the last column wrapped where the width asks for it.

    Examples
    --------
    >>> print(table_text(Table(("step", "size", "source"), (("1", "60", "turned"), ("2", "104.5", "ready")))))
    step   size  source
    ----  -----  ------
       1     60  turned
       2  104.5  ready
    """
    cells = list(zip(table.heads, *table.rows, strict=True))
    widths = [max(map(len, column)) for column in cells]
    used = sum(widths[:-1]) + 2 * (len(widths) - 1)
    widths[-1] = max(min(widths[-1], width - used), min(12, widths[-1]))
    right = [are_figures(column[1:]) for column in cells]
    lines = [_line(table.heads, widths, right), _line(tuple("-" * w for w in widths), widths, right)]
    for row in table.rows:
        *front, last = row
        first, *others = wrap(last, widths[-1]) or [""]
        lines.append(_line((*front, first), widths, right))
        lines += [_line((*("" for _ in front), part), widths, right) for part in others]
    return "\n".join(lines)


def paragraph(text: str, *, indent: str = "", width: int = WIDTH) -> str:
    """Return a text wrapped to the width, its further lines indented, no figure parted from its unit.

    Examples
    --------
    >>> print(paragraph("- one two three", indent="  ", width=9))
    - one two
      three
    >>> print(paragraph("by 51.6 %, at most", width=8))
    by
    51.6 %,
    at most
    """
    held = UNIT_AFTER_FIGURE.sub(NO_BREAK, text)
    lines = wrap(held, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)
    return "\n".join(lines).replace(NO_BREAK, " ")


def columns(text: str) -> int:
    """Return the columns that a text takes: two for a wide sign, none for one set on another.

    Examples
    --------
    >>> columns("2x4"), columns("低速"), columns("e\N{COMBINING ACUTE ACCENT}")
    (3, 4, 1)
    """
    return cell_len(text)


def padded(text: str, width: int) -> str:
    """Return a text filled up with blanks to so many columns.

    Examples
    --------
    >>> padded("低速", 6)
    '低速  '
    """
    return text + " " * (width - columns(text))


def broken(text: str, width: int) -> list[str]:
    """Return a text as lines of at most so many columns, broken between words, within a word where it must be.

    Examples
    --------
    >>> broken("coarse stage first", 12), broken("低速低速", 5), broken("", 5)
    (['coarse stage', 'first'], ['低速', '低速'], [''])
    """
    lines: list[str] = []
    for piece in (piece for word in text.split() for piece in _pieces(word, width)):
        if lines and columns(lines[-1]) + 1 + columns(piece) <= width:
            lines[-1] += f" {piece}"
        else:
            lines.append(piece)
    return lines or [""]


def _pieces(word: str, width: int) -> Iterator[str]:
    """Yield a word in parts that are no wider; none of its signs is lost, which not every way of folding holds."""
    part = ""
    for sign in word:
        if part and columns(part + sign) > width:
            yield part
            part = ""
        part += sign
    yield part


def _line(cells: tuple[str, ...], widths: Sequence[int], right: Sequence[bool]) -> str:
    set_cells = (
        cell.rjust(width) if flag else cell.ljust(width) for cell, width, flag in zip(cells, widths, right, strict=True)
    )
    return "  ".join(set_cells).rstrip()
