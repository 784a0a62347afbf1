"""The hand-written pages of docs/, with their tables."""

from __future__ import annotations

from pathlib import Path

__all__ = ["ROOT", "page", "rows_of"]

ROOT = Path(__file__).resolve().parents[2]


def page(name: str) -> str:
    """Return the text of a page."""
    return (ROOT / "docs" / name).read_text(encoding="utf-8")


def rows_of(name: str, head: str) -> list[list[str]]:
    """Return the cells of every row of the page's tables whose first column has the head given."""
    rows: list[list[str]] = []
    inside = False
    for line in page(name).splitlines():
        cells = [cell.strip() for cell in line.strip("|").split(" | ")] if line.startswith("|") else []
        if not cells:
            inside = False
        elif cells[0] == head:
            inside = True
        elif inside and not line.startswith("|---"):
            rows.append(cells)
    return rows
