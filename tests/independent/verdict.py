"""What a verification has found."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

__all__ = ["HAIR_MM", "Verdict"]

HAIR_MM = Fraction("1e-6")
"""How far lengths may be off, which is far below what can be turned or measured."""


@dataclass
class Verdict:
    """What was found: sentences on what is wrong, and the greatest deviation from every kind of stated figure."""

    broken: list[str] = field(default_factory=list)
    """Rules that the machine breaks."""
    false: list[str] = field(default_factory=list)
    """Figures that are stated wrong."""
    deviations: dict[str, float] = field(default_factory=dict)

    @property
    def violations(self) -> list[str]:
        """All that may not be in a design."""
        return self.broken + self.false

    def holds(self, good: Any, sentence: str) -> None:
        """Note a broken rule unless something holds."""
        if not good:
            self.broken.append(sentence)

    def agrees(self, kind: str, stated: Any, true: Any, most: float) -> None:
        """Note how far a stated figure is from the true one, and that it is wrong where that is too far."""
        if stated is None:
            self.false.append(f"{kind}: nothing is stated where it is {float(true):.9g}")
            return
        off = abs(float(stated - true))
        self.deviations[kind] = max(self.deviations.get(kind, 0.0), off)
        if not off <= most:
            self.false.append(f"{kind}: stated {float(stated):.12g}, true {float(true):.12g}")
