"""The values a limit may take, counted in ticks from the present one."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log10

__all__ = ["Line", "speed_tick_rpm"]

EPSILON = 1e-6
"""Share of a tick by which a value counts as on it."""
DECIMALS = 6


@dataclass(frozen=True)
class Line:
    """Values on whole ticks, from the present value on in one direction.

    Examples
    --------
    A smallest diameter of 75.3 mm let out, that is, made smaller, in ticks of 0.5 mm:

    >>> line = Line(75.3, 0.5, -1)
    >>> line.at(0), line.at(1), line.at(2)
    (75.3, 75.0, 74.5)

    A design that needs 74.2 mm is allowed from the third tick on:

    >>> line.to(74.2), line.to(80.0)
    (3, 0)
    """

    now: float
    tick: float
    way: int
    """1 where values grow, -1 where they fall."""
    loosens: bool = True
    """Whether the limit allows more the further it goes along the line."""

    def at(self, steps: int) -> float:
        """Return the value so many ticks on; 0 is the present value, whether it lies on a tick or not."""
        if steps == 0:
            return self.now
        return round((floor(self.now * self.way / self.tick + EPSILON) + steps) * self.tick * self.way, DECIMALS) + 0.0

    def to(self, needed: float) -> int:
        """Return the number of ticks, none below 0, that is on the edge of what a design needs.

        Where the limit loosens it is the fewest that allow the value needed, where it tightens the most that do.
        """
        base = floor(self.now * self.way / self.tick + EPSILON)
        wanted = needed * self.way / self.tick
        steps = ceil(wanted - EPSILON) if self.loosens else floor(wanted + EPSILON)
        return max(0, steps - base)

    def ticks_to(self, last: float) -> int:
        """Return how many ticks there are up to a last value."""
        return max(0, floor(last * self.way / self.tick + EPSILON) - floor(self.now * self.way / self.tick + EPSILON))


def speed_tick_rpm(speed_rpm: float) -> float:
    """Return the largest of 1, 2, 5 times a power of ten that is at most a hundredth of a speed [rpm].

    Examples
    --------
    >>> speed_tick_rpm(200), speed_tick_rpm(450), speed_tick_rpm(1600), speed_tick_rpm(60)
    (2.0, 2.0, 10.0, 0.5)
    """
    power = 10.0 ** floor(log10(speed_rpm / 100) + EPSILON)
    return round(next(k for k in (5, 2, 1) if k * power <= speed_rpm / 100 * (1 + EPSILON)) * power, DECIMALS)
