"""What belts must carry at least, by the links of the chain: a speed's power, whatever the sizes."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log
from typing import NamedTuple

from optimizer.records import Problem
from optimizer.records.speeds import least_power_kw, limits_grip
from optimizer.search.fit import SeriesRules

__all__ = ["Demand", "Link", "demand_of"]


class Link(NamedTuple):
    """A belt stage among the links of the chain, switches first."""

    number: int
    before: tuple[int, ...]
    """Links that come before it in the chain."""
    late: float
    """ln of what the slowest settings of all switches behind it make of a speed."""

    @classmethod
    def of(cls, problem: Problem, stage: int) -> Link:
        """Return a belt stage by its number from 0."""
        switches = len(problem.switches)
        ahead = [number for number, switch in enumerate(problem.switches) if switch.before <= stage]
        late = sum(log(switch.shares[0]) for switch in problem.switches if switch.before > stage)
        return cls(switches + stage, (*ahead, *range(switches, switches + stage)), late)


@dataclass(frozen=True)
class Demand:
    """What the belts must carry [kW] at least, whatever the sizes; one row a speed of the series."""

    powers_kw: tuple[float, ...]

    def of(self, rules: SeriesRules, link: Link, position: int, others: int | None) -> float:
        """Return the greatest power of the speeds at one position of a stage.

        `others` tells where the belts of the stages before it lie, and what switches are set to: 0 for the slowest,
        −1 for the fastest, nothing for any of them.
        """
        found = 0.0
        for power, place in zip(self.powers_kw, rules.places.tolist(), strict=True):
            before = [place[t] if others == 0 else place[t] - (len(rules.offsets[t]) - 1) for t in link.before]
            if place[link.number] == position and (others is None or not any(before)):
                found = max(found, power)
        return found


def demand_of(problem: Problem, rules: SeriesRules) -> Demand | None:
    """Return what the belts must carry at every speed; nothing where grip is no limit.

    A speed's power depends on the bands it counts in, so each is given the least power of all places it can have
    within the limits on end miss and unevenness.
    """
    targets = problem.targets
    if not limits_grip(targets):
        return None
    step = (rules.high - rules.low) / max(1, rules.speeds - 1)
    away = min(rules.caps[0] + 2 * rules.caps[1], 50.0)
    powers = []
    for k in range(rules.speeds):
        middle = rules.low + k * step if rules.speeds > 1 else (rules.low + rules.high) / 2
        low, high = middle - away, middle + away
        edges = [log(edge) + side for b in targets.bands for edge in (b.low_rpm, b.high_rpm) for side in (-1e-7, 1e-7)]
        tried = [low, high, *(edge for edge in edges if low < edge < high)]
        powers.append(min(least_power_kw(targets, exp(place)) for place in tried))
    return Demand(tuple(powers))
