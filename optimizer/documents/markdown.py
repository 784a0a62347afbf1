"""Documents as Markdown, to print or to keep with the machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.documents.blocks import (
    Block,
    Document,
    Lines,
    Output,
    Picture,
    Rows,
    Section,
    Table,
    Text,
    are_figures,
    shown_on,
)

__all__ = ["markdown", "table_markdown"]


def markdown(document: Document) -> str:
    """Return a whole document as Markdown: titles, paragraphs, lists, tables, an empty line apart."""
    return "\n\n".join((f"# {plain(document.title)}", *_told((*document.lead, *document.sections)))) + "\n"


def _told(blocks: Iterable[Block]) -> Iterator[str]:
    for block in shown_on(Output.MARKDOWN, blocks):
        if isinstance(block, Section):
            if block.title:
                yield f"## {plain(block.title)}"
            yield from _told(block.blocks)
        elif isinstance(block, Rows):
            yield table_markdown(block.table)
        elif isinstance(block, Text):
            loud = "**" if block.look == "loud" else ""
            yield f"{loud}{plain(block.text)}{loud}"
        elif isinstance(block, Picture):
            yield f"![{block.words}]({block.file})"
        elif isinstance(block, Lines):
            loud = "**" if block.look else ""
            yield "\n".join(f"- {loud}{plain(line)}{loud}" for line in block.lines)


def table_markdown(table: Table) -> str:
    """Return a table in the pipe form of Markdown, with characters that would break it escaped.

    Examples
    --------
    >>> print(table_markdown(Table(("step", "source"), (("1", "a|b"),))))
    | step | source |
    | ---: | :--- |
    | 1 | a\\|b |
    """
    right = [are_figures(column[1:]) for column in zip(table.heads, *table.rows, strict=True)]
    lines = [_pipe(table.heads), _pipe(tuple("---:" if flag else ":---" for flag in right))]
    return "\n".join([*lines, *(_pipe(tuple(map(plain, row))) for row in table.rows)])


def plain(text: str) -> str:
    """Return a text on one line, with characters that Markdown would act on escaped.

    Examples
    --------
    >>> print(plain("a|b <i>"))
    a\\|b \\<i>
    """
    line = " ".join(text.split()).replace("](", "]\\(")
    return "".join(f"\\{c}" if c in "`*<|" else c for c in line)


def _pipe(cells: tuple[str, ...]) -> str:
    return f"| {' | '.join(cells)} |"
