"""Clocks of tests: one that ends after so many questions, and one who hears what a clock is told."""

from __future__ import annotations

from itertools import count

from optimizer.clock import Clock

__all__ = ["Ear", "Ticking"]


class Ticking(Clock):
    """A clock of which every question takes a second, and whose time is over after so many."""

    def __init__(self, questions: int) -> None:
        self.asked = count()
        super().__init__(questions, now_s=lambda: float(next(self.asked)))


class Ear:
    """Keeps what it hears."""

    def __init__(self) -> None:
        self.stages: list[str] = []
        self.heard: list[tuple[float, int]] = []

    def begin(self, stage: str) -> None:
        """Keep the name of a part of the work."""
        self.stages.append(stage)

    def hear(self, threshold: float, examined: int) -> None:
        """Keep a threshold with the combinations looked at."""
        self.heard.append((threshold, examined))
