"""Tables, parts and blocks of Markdown pages that are made."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

__all__ = ["block_names", "joined", "table", "with_blocks"]

_BLOCK = re.compile(r"(<!-- begin (?P<name>[a-z ]+) -->\n).*?(<!-- end (?P=name) -->)", re.DOTALL)


def joined(*parts: str) -> str:
    """Return the parts with a blank line between them, those with nothing in them left out."""
    return "\n\n".join(part.strip("\n") for part in parts if part.strip()) + "\n"


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table; the cells are Markdown already."""
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)


def block_names(text: str) -> list[str]:
    """Return the names of the blocks that are made."""
    return [match["name"] for match in _BLOCK.finditer(text)]


def with_blocks(text: str, blocks: dict[str, str]) -> str:
    """Return the text with every block between its two marks replaced.

    Examples
    --------
    >>> print(with_blocks("a\\n<!-- begin x -->\\nold\\n<!-- end x -->", {"x": "new"}))
    a
    <!-- begin x -->
    new
    <!-- end x -->
    """
    return _BLOCK.sub(lambda match: f"{match[1]}{blocks[match['name']].strip()}\n{match[3]}", text)
