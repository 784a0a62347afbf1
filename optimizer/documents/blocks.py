"""Plain text tables that stay within a width."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap

__all__ = ["WIDTH", "Table", "paragraph", "plain", "short"]


WIDTH = 80
"""Columns of the narrowest terminal that everything must be readable on."""
NO_BREAK = "\N{NO-BREAK SPACE}"
UNIT_AFTER_FIGURE = re.compile(r"(?<=\d) (?=(%|mm|cm|in|rpm|m/s|°)(?![a-z]))")
FIGURE = re.compile(r"[-+]?[\d,]*\.?\d+(e[-+]\d+)?( ?[%°])?|none")


@dataclass(frozen=True)
class Table:
    """Rows of text under headings; a column whose cells are all figures is set to the right."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def text(self, width: int = WIDTH) -> str:
        """Return the table as lines, the last column wrapped where the width asks for it.

        Examples
        --------
        >>> print(Table(("step", "size", "source"), (("1", "60", "turned"), ("2", "104.5", "ready"))).text())
        step   size  source
        ----  -----  ------
           1     60  turned
           2  104.5  ready
        """
        columns = list(zip(self.heads, *self.rows, strict=True))
        widths = [max(map(len, column)) for column in columns]
        used = sum(widths[:-1]) + 2 * (len(widths) - 1)
        widths[-1] = max(min(widths[-1], width - used), min(12, widths[-1]))
        right = [are_figures(column[1:]) for column in columns]
        lines = [_line(self.heads, widths, right), _line(tuple("-" * w for w in widths), widths, right)]
        for row in self.rows:
            *front, last = row
            parts = wrap(last, widths[-1]) or [""]
            lines.append(_line((*front, parts[0]), widths, right))
            lines += [_line((*("" for _ in front), part), widths, right) for part in parts[1:]]
        return "\n".join(lines)

    def markdown(self) -> str:
        """Return the table in the pipe form of Markdown, with characters that would break it escaped.

        Examples
        --------
        >>> print(Table(("step", "source"), (("1", "a|b"),)).markdown())
        | step | source |
        | ---: | :--- |
        | 1 | a\\|b |
        """
        columns = list(zip(self.heads, *self.rows, strict=True))
        right = [are_figures(column[1:]) for column in columns]
        lines = [_pipe(self.heads), _pipe(tuple("---:" if flag else ":---" for flag in right))]
        lines += [_pipe(tuple(map(plain, row))) for row in self.rows]
        return "\n".join(lines)


def paragraph(text: str, *, indent: str = "", width: int = WIDTH) -> str:
    """Return a text wrapped to the width, its further lines indented, no figure parted from its unit.

    Examples
    --------
    >>> print(paragraph("- one two three", indent="  ", width=9))
    - one two
      three
    >>> print(paragraph("by 51.6 %, at most", width=8))
    by
    51.6 %,
    at most
    """
    held = UNIT_AFTER_FIGURE.sub(NO_BREAK, text)
    lines = wrap(held, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)
    return "\n".join(lines).replace(NO_BREAK, " ")


def short(name: str, most: int) -> str:
    """Return a name cut to so many characters, with a mark where something was cut off.

    Examples
    --------
    >>> short("countershaft", 14), short("intermediate countershaft", 14)
    ('countershaft', 'intermediate…')
    """
    return name if len(name) <= most else name[: most - 1].rstrip() + "…"


def plain(text: str) -> str:
    """Return a text on one line, with characters that Markdown would act on escaped.

    Examples
    --------
    >>> print(plain("a|b <i>"))
    a\\|b \\<i>
    """
    line = " ".join(text.split()).replace("](", "]\\(")
    return "".join(f"\\{c}" if c in "`*<|" else c for c in line)


def are_figures(cells: Sequence[str]) -> bool:
    """Tell whether a column holds figures: some cell does, none holds anything else."""
    return any(cells) and all(not cell or FIGURE.fullmatch(cell) for cell in cells)


def _line(cells: tuple[str, ...], widths: Sequence[int], right: Sequence[bool]) -> str:
    set_cells = (
        cell.rjust(width) if flag else cell.ljust(width) for cell, width, flag in zip(cells, widths, right, strict=True)
    )
    return "  ".join(set_cells).rstrip()


def _pipe(cells: tuple[str, ...]) -> str:
    return f"| {' | '.join(cells)} |"
