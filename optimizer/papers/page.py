"""A whole page in one file that asks nothing of any network."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files

from optimizer.papers.markup import Markup, inside, joined, tag

__all__ = ["html_document", "page_text", "part"]

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
    return files("optimizer.papers").joinpath(name).read_text("utf-8")


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
