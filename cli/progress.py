"""One line on the terminal that says how far the work is."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import Self

__all__ = ["Progress"]

WIDTH = 79


class Progress:
    """A line on stderr that is rewritten in place and wiped at the end; silent unless stderr is a terminal.

    Use as a context: whatever ends the work, an interrupt included, the line is wiped.
    """

    def __init__(self, *, quiet: bool) -> None:
        self._shown = not quiet and sys.stderr.isatty()
        self._stage = ""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._rewrite("")

    def begin(self, stage: str) -> None:
        """Name the part of the work that begins."""
        self._stage = stage
        self._rewrite(stage)

    def hear(self, threshold: float, examined: int) -> None:
        """Take how far a search is: no design below the threshold, so many combinations looked at."""
        self._rewrite(f"{self._stage}: none below J {threshold:.2%}, {examined:,} combinations")

    def _rewrite(self, text: str) -> None:
        if self._shown:
            print(f"\r{text[:WIDTH]:<{WIDTH}}\r", end="", file=sys.stderr, flush=True)
