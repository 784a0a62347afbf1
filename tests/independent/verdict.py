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

    violations: list[str] = field(default_factory=list)
    deviations: dict[str, float] = field(default_factory=dict)

    def holds(self, good: Any, sentence: str) -> None:
        """Note a sentence unless something holds."""
        if not good:
            self.violations.append(sentence)

    def agrees(self, kind: str, stated: Any, true: Any, most: float) -> None:
        """Note how far a stated figure is from the true one, and that it is wrong where that is too far."""
        if stated is None:
            self.violations.append(f"{kind}: nothing is stated where it is {float(true):.9g}")
            return
        off = abs(float(stated - true))
        self.deviations[kind] = max(self.deviations.get(kind, 0.0), off)
        if not off <= most:
            self.violations.append(f"{kind}: stated {float(stated):.12g}, true {float(true):.12g}")
