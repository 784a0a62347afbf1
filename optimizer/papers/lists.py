"""Lists for the bench and the shop: as sections of a page, and as pages to print."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from optimizer.papers.html_table import html_table, turned
from optimizer.papers.markup import Markup, inside, listing, tag
from optimizer.papers.page import html_document, part
from optimizer.report.table import Table

__all__ = ["ListSection", "lists_html", "lists_parts"]


Titled = tuple[str, Table, tuple[str, ...]]
"""A title, a table, what is said below it, as the lists come."""


class ListSection(NamedTuple):
    """A table with what is to be said of it."""

    title: str
    table: Table
    notes: tuple[str, ...] = ()


def lists_html(title: str, sections: Iterable[Titled], cautions: Sequence[str]) -> bytes:
    """Return lists as a page of their own, the cautions before them."""
    warned = part("before", "Before you build", [listing(cautions, class_="cautions")])
    parts = [
        part(f"list-{number}", section.title, _content(section))
        for number, section in enumerate(map(ListSection._make, sections), 1)
    ]
    return html_document(title, (), [warned, *parts])


def lists_parts(sections: Iterable[Titled]) -> list[Markup]:
    """Return lists as what stands in a section of a page, each under a heading."""
    told = map(ListSection._make, sections)
    return [piece for section in told for piece in (tag("h3", section.title), *_content(section))]


def _content(section: ListSection) -> list[Markup]:
    """Return the table, whose caption is heard and not seen, as the heading says the same, then the notes."""
    table = html_table(turned(section.table), section.title) if section.table.rows else tag("p", "None.")
    return [inside("div", [table], class_="listed"), listing(section.notes)]
