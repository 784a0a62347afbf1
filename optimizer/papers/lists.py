"""Lists for the bench and the shop: as sections of a page, and as pages to print."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from optimizer.papers.html_table import html_table
from optimizer.papers.markup import Markup, listing, tag
from optimizer.papers.page import html_document, part
from optimizer.report.table import Table

__all__ = ["ListSection", "lists_html", "lists_parts"]


class ListSection(NamedTuple):
    """A table with what is to be said of it."""

    title: str
    table: Table
    notes: tuple[str, ...] = ()


def lists_html(title: str, sections: Sequence[ListSection], cautions: Sequence[str]) -> bytes:
    """Return lists as a page of their own, the cautions before them."""
    warned = part("before", "Before you build", [listing(cautions, class_="cautions")])
    parts = [part(f"list-{number}", section.title, _content(section)) for number, section in enumerate(sections, 1)]
    return html_document(title, (), [warned, *parts])


def lists_parts(sections: Iterable[ListSection]) -> list[Markup]:
    """Return lists as what stands in a section of a page, each under a heading."""
    return [piece for section in sections for piece in (tag("h3", section.title), *_content(section))]


def _content(section: ListSection) -> list[Markup]:
    table = html_table(section.table, section.title) if section.table.rows else tag("p", "None.")
    return [table, listing(section.notes, class_="notes")]
