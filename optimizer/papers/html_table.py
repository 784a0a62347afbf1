"""Tables of the papers as tables of a page."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.papers.markup import Markup, inside, tag
from optimizer.report.table import Table, are_figures

__all__ = ["html_table", "turned"]

LOUD = frozenset({"FAILED", "warning", "never"})
"""Cells that must not be overlooked."""
MANY, FEW = 11, 8
"""Columns from which a table is turned, rows up to which it is."""
LONG, WORDS = 24, 40
"""Signs of a word above which it may be broken anywhere, of a cell above which it is a sentence."""


def html_table(table: Table, caption: str, links: Sequence[str] = ()) -> Markup:
    """Return a table with its caption, in a frame of its own that scrolls where the page is too narrow.

    The first cell heads its row. A column whose cells are all figures is set to the right.

    Parameters
    ----------
    table
        Heads and rows.
    caption
        What the table shows; also the name of the frame, which the keyboard can scroll.
    links
        A place in the page for every row that its first cell leads to; none where empty.

    Examples
    --------
    >>> print(html_table(Table(("step", "size"), (("1", "60"),)), "Steps").html)
    <div class="wide" role="group" aria-label="Steps" tabindex="0">
    <table>
    <caption>Steps</caption>
    <thead><tr><th scope="col" class="figure">step</th><th scope="col" class="figure">size</th></tr></thead>
    <tbody>
    <tr><th scope="row" class="figure">1</th><td class="figure">60</td></tr>
    </tbody>
    </table>
    </div>
    """
    sides = [are_figures(column) for column in zip(*table.rows, strict=True)] or [False] * len(table.heads)
    heads = (
        tag("th", head, scope="col", class_=_look(head, figures=figures))
        for head, figures in zip(table.heads, sides, strict=True)
    )
    rows = [_row(row, sides, links[number] if links else "") for number, row in enumerate(table.rows)]
    whole = [tag("caption", caption), tag("thead", tag("tr", *heads)), inside("tbody", rows)]
    framed = inside("table", whole, class_="crowded" if len(table.heads) > MANY else False)
    return inside("div", [framed], class_="wide", role="group", aria_label=caption, tabindex="0")


def turned(table: Table) -> Table:
    """Return a table with rows for columns, where that is narrower and still short enough to be read across.

    Examples
    --------
    >>> turned(Table(tuple("abcdefghijk"), (tuple("12345678901"),))).rows[:2]
    (('b', '2'), ('c', '3'))
    """
    if len(table.heads) < MANY or not 0 < len(table.rows) <= FEW:
        return table
    heads, *rows = zip(table.heads, *table.rows, strict=True)
    return Table(heads, tuple(rows))


def _row(row: Sequence[str], sides: Sequence[bool], link: str) -> Markup:
    first, *others = row
    head: Markup | str = tag("a", first, href=link) if link else first
    cells = [tag("th", head, scope="row", class_=_look(first, figures=sides[0])) if first else tag("td")]
    cells += [_cell(cell, figures=figures) for cell, figures in zip(others, sides[1:], strict=True)]
    return tag("tr", *cells)


def _cell(cell: str, *, figures: bool) -> Markup:
    return tag("td", tag("strong", cell) if cell in LOUD else cell, class_=_look(cell, figures=figures))


def _look(cell: str, *, figures: bool) -> str | bool:
    """Return the classes of a cell: figures stand right, long words are broken, sentences take room."""
    long = any(len(word) > LONG for word in cell.split())
    looks = (("figure", figures), ("long", long), ("words", len(cell) > WORDS))
    return " ".join(name for name, has in looks if has) or False
