"""Markup of a page, made so that no text can become markup."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape
from typing import NamedTuple

__all__ = ["Markup", "inside", "joined", "listing", "paragraphs", "shown", "tag"]

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
