"""One limit that the maker stated, with the way to move it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import isfinite

from optimizer.changes.keys import changed, value_at_key
from optimizer.changes.line import Line
from optimizer.records.candidate import Candidate
from optimizer.records.changes import LimitKind, Setting, Value
from optimizer.scenario import Scenario

__all__ = ["Limit", "settings"]

Keys = Callable[[float], Mapping[str, Value]]
Needs = Callable[[Candidate, float], float]


@dataclass(frozen=True)
class Limit:
    """A limit that may be moved by whole ticks, either let out or tightened."""

    kind: LimitKind
    unit: str
    """Unit of the keys' values."""
    line: Line
    ticks: int
    """How many ticks it is moved by at most."""
    keys: Keys
    """The keys to set for a value of the limit; none where the present ones allow it."""
    needs: Needs
    """The value that a design found with the limit at a value really uses."""
    unit_ticks: float = 0.0
    """Ticks in one unit where it is let out together with another; 0 where it is not."""
    nested: bool = True
    """Whether what has a design keeps one when the limit is let out further."""
    strictly: bool = True
    """Whether that holds without exception; otherwise parts of the way are asked where the whole of it gives none."""
    unstated: Mapping[str, Value] = field(default_factory=dict)
    """What stands for keys that the maker did not state."""
    numbered: bool = True
    """Whether a tick short of a value is another value to be told."""

    def values(self, steps: int) -> Mapping[str, Value]:
        """Return the keys to set so many ticks on."""
        return self.keys(self.line.at(steps)) if steps else {}

    def moved(self, scenario: Scenario, steps: int) -> Scenario:
        """Return the scenario with the limit moved by so many ticks."""
        return changed(scenario, self.values(steps))

    def own(self, candidate: Candidate, steps: int) -> int:
        """Return the ticks that a design found so many ticks on really uses, within what was asked."""
        return min(self.ticks, self.line.to(self.needs(candidate, self.line.at(steps))))

    def ticks_of(self, units: int) -> int:
        """Return the ticks of so many units, as far as the limit is moved."""
        return min(self.ticks, max(1, round(units * self.unit_ticks)))


def settings(
    scenario: Scenario, limit: Limit, steps: int, short: int | None = None, only: frozenset[str] | None = None
) -> tuple[Setting, ...]:
    """Return the keys of a moved limit with their values now, then, and at `short` ticks.

    A key that need not be set at `short` ticks has its present value there.
    """
    then, less = limit.values(steps), limit.values(short) if short is not None else {}
    told = short is not None and limit.numbered
    return tuple(
        Setting(
            key=key,
            unit=limit.unit if isinstance(value, float | tuple) else "",
            now=(now := _now(scenario, limit, key)),
            value=value,
            short=less.get(key, now) if told else None,
        )
        for key, value in then.items()
        if only is None or key in only
    )


def _now(scenario: Scenario, limit: Limit, key: str) -> Value:
    value = value_at_key(scenario, key)
    if value is None or (isinstance(value, float) and not isfinite(value)):
        return limit.unstated.get(key)
    return value if isinstance(value, float | int | str | tuple) else None
