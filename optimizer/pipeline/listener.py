"""Who may hear how far the work is."""

from __future__ import annotations

from typing import Protocol

__all__ = ["Listener", "Silent"]


class Listener(Protocol):
    """Hears what is being done."""

    def begin(self, stage: str) -> None:
        """Take the name of the part of the work that begins."""

    def hear(self, threshold: float, examined: int) -> None:
        """Take how far a search is: no design below the threshold, so many combinations looked at."""


class Silent:
    """A listener that does nothing with what it hears."""

    def begin(self, stage: str) -> None:
        """Do nothing."""

    def hear(self, threshold: float, examined: int) -> None:
        """Do nothing."""
