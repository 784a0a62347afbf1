"""What sections say, as tests ask for it."""

from __future__ import annotations

from collections.abc import Iterable

from optimizer.documents.blocks import Document, Lines, Rows, Section, Table
from optimizer.documents.html import html_page
from optimizer.documents.markdown import markdown

__all__ = ["listed", "on_page", "on_paper"]


def listed(sections: Iterable[Section]) -> list[tuple[str, Table, tuple[str, ...]]]:
    """Return the title of every section of a list, its table, what is said below it."""
    found = []
    for section in sections:
        rows, notes = section.blocks
        assert isinstance(rows, Rows) and isinstance(notes, Lines)
        found.append((section.title, rows.table, tuple(notes.lines)))
    return found


def on_paper(*sections: Section) -> str:
    """Return sections as Markdown."""
    return markdown(Document("Title", (), sections))


def on_page(*sections: Section) -> bytes:
    """Return sections as a page of HTML."""
    return html_page(Document("Title", (), sections))
