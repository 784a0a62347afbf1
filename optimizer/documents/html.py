"""Pages of HTML in one file, made so that no text can become markup."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterable, Sequence
from functools import cache
from html import escape
from importlib.resources import files
from typing import NamedTuple

from optimizer.documents.blocks import Table, are_figures
from optimizer.drawing import Sheet
from optimizer.render import svg_element

__all__ = [
    "Markup",
    "drawn",
    "html_document",
    "html_table",
    "inside",
    "joined",
    "listing",
    "page_text",
    "paragraphs",
    "part",
    "shown",
    "tag",
    "turned",
]


UNSEEN = re.compile(
    "[\\x00-\\x08\\x0B-\\x1F\\x7F-\\x9F\\u202A-\\u202E\\u2066-\\u2069\\uD800-\\uDFFF\\uFDD0-\\uFDEF"
    + "".join(f"{chr(plane * 0x10000 + end)}" for plane in range(17) for end in (0xFFFE, 0xFFFF))
    + "]"
)
"""Control characters, marks that turn the order of what follows, halves of pairs, what is no character at all.

HTML holds none of the first and the last (WHATWG HTML, 13.2.3.5, from memory); the marks could make a line read
otherwise than it is.
"""
VOID = frozenset({"br", "hr", "input", "meta"})
"""Elements without an end tag."""


class Markup(NamedTuple):
    """A piece of a page in which all text is escaped already."""

    html: str


def shown(text: str) -> str:
    """Return a text as a page may hold it: what cannot be shown, or could turn a line round, is replaced.

    Examples
    --------
    >>> shown("a\\x00b\\u202ec") == "a\N{REPLACEMENT CHARACTER}b\N{REPLACEMENT CHARACTER}c"
    True
    """
    return UNSEEN.sub("\N{REPLACEMENT CHARACTER}", text.replace("\r\n", "\n"))


def joined(parts: Iterable[Markup | str]) -> Markup:
    """Return pieces one after another, texts among them escaped.

    Examples
    --------
    >>> joined(["a < b", Markup("<br>")]).html
    'a &lt; b<br>'
    """
    return Markup("".join(part.html if isinstance(part, Markup) else escape(shown(part)) for part in parts))


def tag(element: str, *content: Markup | str, **attributes: str | bool) -> Markup:
    """Return an element with its content; texts and values are escaped.

    A name's last underscore is left off, others become hyphens; an attribute of `False` is left out, one of `True` has
    no value.

    Examples
    --------
    >>> tag("p", "<script>", class_="loud", data_speed='"1"', hidden=True, title=False).html
    '<p class="loud" data-speed="&quot;1&quot;" hidden>&lt;script&gt;</p>'
    """
    written = "".join(
        f" {name.rstrip('_').replace('_', '-')}" + ("" if value is True else f'="{escape(shown(value))}"')
        for name, value in attributes.items()
        if value is not False
    )
    if element in VOID:
        return Markup(f"<{element}{written}>")
    return Markup(f"<{element}{written}>{joined(content).html}</{element}>")


def inside(element: str, parts: Iterable[Markup | str], **attributes: str | bool) -> Markup:
    """Return an element around pieces, each on a line of its own."""
    return tag(element, Markup("\n"), *(Markup(f"{joined([part]).html}\n") for part in parts), **attributes)


def listing(lines: Iterable[Markup | str], **attributes: str | bool) -> Markup:
    """Return lines as a list; nothing where there are none.

    Examples
    --------
    >>> listing(["a"]).html, listing([]).html
    ('<ul>\\n<li>a</li>\\n</ul>', '')
    """
    items = [tag("li", line) for line in lines]
    return inside("ul", items, **attributes) if items else Markup("")


def paragraphs(lines: Iterable[str], **attributes: str | bool) -> Markup:
    """Return lines as paragraphs."""
    return Markup("\n".join(tag("p", line, **attributes).html for line in lines))


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


def drawn(sheet: Sheet, prefix: str, name: str, caption: str) -> Markup:
    """Return a sheet as a figure, which is printed at its true size.

    Parameters
    ----------
    sheet
        The drawing.
    prefix
        What all names of places in it begin with.
    name
        Name of its frame, which the keyboard can scroll.
    caption
        What stands below it.
    """
    frame = tag(
        "div",
        Markup(svg_element(sheet, prefix)),
        class_="drawing",
        role="group",
        aria_label=name,
        tabindex="0",
        style=f"--wide: {sheet.width_mm:g}mm",
    )
    return inside("figure", [frame, tag("figcaption", caption)])


FORBIDDEN = "default-src 'none'; base-uri 'none'; form-action 'none'; img-src data:; style-src 'unsafe-inline'"
"""What every page forbids itself: anything from elsewhere (Content Security Policy, level 3, from memory)."""


def part(anchor: str, title: str, content: Iterable[Markup | str], **attributes: str | bool) -> Markup:
    """Return a section with its heading, which names it.

    Examples
    --------
    >>> print(part("speeds", "Speeds", ["none"]).html)
    <section id="speeds" aria-labelledby="speeds-title">
    <h2 id="speeds-title">Speeds</h2>
    none
    </section>
    """
    heading = tag("h2", title, id=f"{anchor}-title")
    return inside("section", [heading, *content], id=anchor, aria_labelledby=f"{anchor}-title", **attributes)


def html_document(title: str, head: Iterable[Markup | str], parts: Iterable[Markup], *, script: bool = False) -> bytes:
    """Return a page with one heading, its style and, where asked for, its script inside.

    Parameters
    ----------
    title
        Heading, and name of the window.
    head
        What stands below the heading.
    parts
        Sections.
    script
        Whether speeds are to be chosen on it.
    """
    code = f"<script>{page_text('page.js')}</script>\n" if script else ""
    allowed = f"; script-src 'sha256-{_digest(page_text('page.js'))}'" if script else ""
    meta = (
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=FORBIDDEN + allowed),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="color-scheme", content="light dark"),
        tag("title", " ".join(title.split())),
        Markup(f"<style>\n{page_text('page.css')}</style>"),
    )
    body = (
        tag("a", "Skip to the sheet", class_="skip", href="#sheet"),
        inside("header", [tag("h1", title), *head]),
        inside("main", parts, id="sheet", tabindex="-1"),
    )
    page = inside("html", [inside("head", meta), inside("body", [*body, Markup(code)])], lang="en")
    return joined([Markup("<!DOCTYPE html>\n"), page, Markup("\n")]).html.encode()


@cache
def page_text(name: str) -> str:
    """Return a file that belongs to every page."""
    return files("optimizer.documents").joinpath(name).read_text("utf-8")


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
