"""Lengths and lists as a maker reads them at the bench, in sentences, in tables and on drawings."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor
from typing import NamedTuple

from optimizer.quantities.shop import MM_PER, PLACES, shop_length
from optimizer.scenario import Scenario

__all__ = ["BenchWords", "listed"]


class BenchWords(NamedTuple):
    """How lengths are written on one machine's papers."""

    units: str
    division_mm: float
    """Finest division of the maker's rule, for inches."""

    @staticmethod
    def of(scenario: Scenario) -> BenchWords:
        """Return the words in the units of a scenario."""
        return BenchWords(scenario.units, scenario.making.division_mm)

    @property
    def in_units(self) -> str:
        """What the units are called in a sentence."""
        return "inches" if self.units == "in" else self.units

    def bare(self, mm: float | None) -> str:
        """Return a length as on a drawing, or in a table whose head names the unit; empty where there is none.

        Examples
        --------
        >>> BenchWords("mm", 0.4).bare(114.3), BenchWords("in", 25.4 / 64).bare(None)
        ('114.30', '')
        """
        return "" if mm is None else shop_length(mm, self.units, self.division_mm)

    def diameter(self, mm: float) -> str:
        """Return a diameter as on a drawing, with its sign.

        Examples
        --------
        >>> BenchWords("mm", 0.4).diameter(98.5), BenchWords("in", 25.4 / 16).diameter(114.5)
        ('⌀98.50', '⌀4 1/2" (4.508)')
        """
        return f"\N{DIAMETER SIGN}{self.bare(mm)}"

    def size(self, mm: float) -> str:
        """Return a length with its unit.

        Examples
        --------
        >>> BenchWords("mm", 0.4).size(114.3), BenchWords("in", 25.4 / 64).size(114.3)
        ('114.30 mm', '4 1/2" (4.500 in)')
        """
        bare = self.bare(mm)
        return f"{bare[:-1]} in)" if self.units == "in" else f"{bare} {self.units}"

    def decimals(self, mm: float) -> str:
        """Return a length in decimals alone: a rule tells nothing so fine, or the column is narrow.

        Examples
        --------
        >>> BenchWords("mm", 0.4).decimals(-0.001), BenchWords("in", 25.4 / 64).decimals(3.0)
        ('-0.00', '0.118')
        """
        return f"{mm / MM_PER[self.units] + 0.0:.{PLACES[self.units]}f}"

    def most(self, mm: float) -> str:
        """Return what is allowed at the most with its unit, in decimals and never rounded up.

        Examples
        --------
        >>> BenchWords("mm", 0.4).most(0.0866), BenchWords("in", 25.4 / 64).most(0.524)
        ('0.08 mm', '0.020 in')
        """
        size = round(mm / MM_PER[self.units] * 10 ** PLACES[self.units], 6)
        return f"{floor(size) / 10 ** PLACES[self.units]:.{PLACES[self.units]}f} {self.units}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Return words as a sentence lists them.

    Examples
    --------
    >>> listed(["1"]), listed(["1", "2"]), listed(["1", "2", "3"], "or")
    ('1', '1 and 2', '1, 2 or 3')
    """
    *front, back = words
    return f"{', '.join(front)} {last} {back}" if front else back
