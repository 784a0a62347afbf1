"""Documents as pages of HTML, each in one file that asks nothing of any network.

The page is the template `page.html`; Jinja2 escapes whatever stands in it, so that no text can become markup.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from optimizer.documents.blocks import Block, Document, Figure, Output, Rows, Table, are_figures, shown_on
from optimizer.render import svg_element

__all__ = ["html_page", "page_text", "shown", "turned"]

FORBIDDEN = "default-src 'none'; base-uri 'none'; form-action 'none'; img-src data:; style-src 'unsafe-inline'"
"""What every page forbids itself: anything from elsewhere (Content Security Policy, level 3, from memory)."""
UNSEEN = re.compile(
    "[\\x00-\\x08\\x0B-\\x1F\\x7F-\\x9F\\u202A-\\u202E\\u2066-\\u2069\\uD800-\\uDFFF\\uFDD0-\\uFDEF"
    + "".join(f"{chr(plane * 0x10000 + end)}" for plane in range(17) for end in (0xFFFE, 0xFFFF))
    + "]"
)
"""Control characters, marks that turn the order of what follows, halves of pairs, what is no character at all.

HTML holds none of the first and the last (WHATWG HTML, 13.2.3.5, from memory); the marks could make a line read
otherwise than it is.
"""
LOUD = frozenset({"FAILED", "warning", "never"})
"""Cells that must not be overlooked."""
MANY, FEW = 11, 8
"""Columns from which a table is turned, rows up to which it is."""
LONG, WORDS = 24, 40
"""Signs of a word above which it may be broken anywhere, of a cell above which it is a sentence."""


def html_page(document: Document, contents: Mapping[str, str] | None = None, *, script: bool = False) -> bytes:
    """Return a document as a page with its style and, where asked for, its script inside.

    Parameters
    ----------
    document
        Title, which is the window's name too, what stands below it, sections.
    contents
        Names by places of the page, of a list that leads to them.
    script
        Whether speeds are to be chosen on it.
    """
    code = page_text("page.js") if script else ""
    allowed = f"; script-src 'sha256-{base64.b64encode(hashlib.sha256(code.encode()).digest()).decode()}'"
    return (
        _environment()
        .get_template("page.html")
        .render(
            document=document,
            contents=contents or {},
            policy=FORBIDDEN + (allowed if script else ""),
            style=Markup(page_text("page.css")),
            script=Markup(code),
        )
        .encode()
    )


@cache
def page_text(name: str) -> str:
    """Return a file that belongs to every page."""
    return files("optimizer.documents").joinpath(name).read_text("utf-8")


def shown(text: str) -> str:
    """Return a text as a page may hold it: what cannot be shown, or could turn a line round, is replaced.

    Examples
    --------
    >>> shown("a\\x00b\\u202ec") == "a\N{REPLACEMENT CHARACTER}b\N{REPLACEMENT CHARACTER}c"
    True
    """
    return UNSEEN.sub("\N{REPLACEMENT CHARACTER}", text.replace("\r\n", "\n"))


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


@cache
def _environment() -> Environment:
    """Return what fills the template: everything is escaped, whatever is missing in it is an error."""
    made = Environment(
        loader=PackageLoader("optimizer", "documents"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=lambda value: value if isinstance(value, Markup) else shown(str(value)),
    )
    made.filters |= {"kind": lambda block: type(block).__name__, "shown_here": _shown_here, "drawn": _drawn}
    made.filters |= {"laid_out": _laid_out, "look": _look, "loud": LOUD.__contains__}
    return made


def _shown_here(blocks: tuple[Block, ...]) -> list[Block]:
    return list(shown_on(Output.PAGE, blocks))


def _drawn(figure: Figure) -> Markup:
    return Markup(svg_element(figure.sheet, figure.prefix))


def _laid_out(rows: Rows) -> tuple[Table, list[bool], bool]:
    """Return a table as the page has it, which of its columns are figures, whether they stand crowded."""
    table = turned(rows.table) if rows.listed else rows.table
    sides = [are_figures(column) for column in zip(*table.rows, strict=True)] or [False] * len(table.heads)
    return table, sides, len(table.heads) > MANY


def _look(cell: str, figures: bool) -> str:
    """Return the classes of a cell: figures stand right, long words are broken, sentences take room."""
    long = any(len(word) > LONG for word in cell.split())
    return " ".join(n for n, has in (("figure", figures), ("long", long), ("words", len(cell) > WORDS)) if has)
