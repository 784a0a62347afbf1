"""What layouts are compared by, and which of them nothing beats."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal, NamedTuple, Protocol

__all__ = ["BLANK", "CRITERIA", "GRIP", "TIMBER", "Criterion", "Figures", "best_at", "criteria_for", "undominated"]


class Figures(Protocol):
    """Figures that a layout's design is compared by."""

    @property
    def speeds_rpm(self) -> Sequence[float]:
        """Spindle speeds."""

    @property
    def end_miss(self) -> float:
        """How far the ends of the series lie from those wanted."""

    @property
    def unevenness(self) -> float:
        """How far the speeds lie from a geometric series."""

    @property
    def widest_gap(self) -> float:
        """Greatest step between neighbouring speeds, as a share of the lower one."""

    @property
    def turned_steps(self) -> int:
        """Number of steps to turn."""

    @property
    def timber_mm3(self) -> float:
        """Volume of all discs that steps are turned from."""

    @property
    def largest_disc_mm(self) -> float:
        """Largest of those discs."""

    @property
    def grip(self) -> float | None:
        """Least of power carried over power that must be carried; nothing where unknown."""

    @property
    def belt_moves(self) -> int:
        """Belts moved from the slowest speed to the fastest."""


class Criterion(NamedTuple):
    """One thing to compare by, with what counts as a difference."""

    name: str
    better: Literal["more", "less"]
    value: Callable[[Figures], float | None]
    """Gives nothing where a row's is not known."""
    unit: str
    step: float
    """Values that round to the same multiple of this are equal: less is not shown, and nobody would notice it."""

    def cost(self, row: Figures) -> int:
        """Return a row's value in whole steps, the less the better; 0 where it is not known."""
        return self.cost_of(self.value(row) or 0.0)

    def cost_of(self, value: float) -> int:
        """Return a value in whole steps, the less the better."""
        steps = round(value / self.step)
        return -steps if self.better == "more" else steps


BLANK = Criterion("largest blank", "less", lambda row: row.largest_disc_mm, "mm", 0.01)
GRIP = Criterion("grip", "more", lambda row: row.grip, "", 0.01)
TIMBER = Criterion("timber", "less", lambda row: row.timber_mm3, "mm³", 1000)
CRITERIA: tuple[Criterion, ...] = (
    Criterion("number of speeds", "more", lambda row: len(row.speeds_rpm), "", 1),
    Criterion("end miss", "less", lambda row: row.end_miss, "share", 1e-3),
    Criterion("unevenness", "less", lambda row: row.unevenness, "share", 1e-3),
    Criterion("widest gap", "less", lambda row: row.widest_gap, "share", 1e-3),
    Criterion("steps to turn", "less", lambda row: row.turned_steps, "", 1),
    BLANK,
    TIMBER,
    GRIP,
    Criterion("belt moves", "less", lambda row: row.belt_moves, "", 1),
)
"""All there are, in the order in which they are shown."""


def criteria_for(rows: Sequence[Figures]) -> tuple[Criterion, ...]:
    """Return the criteria of which some row's value is known."""
    return tuple(c for c in CRITERIA if any(c.value(row) is not None for row in rows))


def best_at(rows: Sequence[Figures]) -> tuple[tuple[str, ...], ...]:
    """Return, for every row, the criteria in which no other row is better; ties count for all of them."""
    costs = _costs(rows)
    least = [min(column) for column in zip(*costs, strict=True)]
    known = criteria_for(rows)
    return tuple(
        tuple(c.name for c, cost, best in zip(CRITERIA, row, least, strict=True) if cost == best and c in known)
        for row in costs
    )


def undominated(rows: Sequence[Figures]) -> tuple[bool, ...]:
    """Tell, for every row, whether no other is at least as good in every criterion and better in one."""
    costs = _costs(rows)
    return tuple(not any(_beats(other, row) for other in costs) for row in costs)


def _costs(rows: Sequence[Figures]) -> list[tuple[int, ...]]:
    return [tuple(criterion.cost(row) for criterion in CRITERIA) for row in rows]


def _beats(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    return one != other and all(a <= b for a, b in zip(one, other, strict=True))
