"""One limit that the maker stated: the values that it may take, counted in ticks, and the keys that set them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, floor, isfinite
from typing import Any

from optimizer.records.candidate import Candidate
from optimizer.records.changes import LimitKind, Setting, Value
from optimizer.records.middle import MiddleCandidate
from optimizer.scenario import Scenario
from optimizer.scenario.free import with_shared_cone
from optimizer.scenario.stated import Stated

__all__ = [
    "DECIMALS",
    "EPSILON",
    "Keys",
    "Needs",
    "StatedLimit",
    "TickLine",
    "as_given",
    "changed",
    "settings",
    "value_at_key",
]

EPSILON = 1e-6
"""Share of a tick by which a value counts as on it."""
DECIMALS = 6
Keys = Callable[[float], Mapping[str, Value]]
Needs = Callable[[Candidate, float], float]


def value_at_key(scenario: Scenario, key: str) -> Any:
    """Return the value at a key, the default where the maker stated none.

    Raises
    ------
    KeyError
        No table has such a key.
    """
    found: Any = scenario
    for step in _steps(key):
        found = found[step] if isinstance(step, int) else getattr(found, type(found).known_keys()[step])
    return found


def changed(scenario: Scenario, values: Mapping[str, Any]) -> Scenario:
    """Return the scenario with values set at keys, as if the maker had written them.

    Rules across keys are not looked at; whoever sets values keeps them legal. A shared cone is changed for both belts.

    Raises
    ------
    KeyError
        No table has such a key.
    """
    for key, value in values.items():
        scenario = _set(scenario, _steps(key), value)
    if values and scenario.shared_cone:
        return scenario.model_copy(update={"stages": with_shared_cone(scenario.stages)})
    return scenario


def _steps(key: str) -> list[str | int]:
    """Split a key into names and places.

    Examples
    --------
    >>> _steps("stage[0].driver.free[1]")
    ['stage', 0, 'driver', 'free', 1]
    """
    return [int(number) if number else name for name, number in re.findall(r"(\w*[a-z_]\w*)|\[(\d+)\]", key)]


def _set(target: Any, steps: Sequence[str | int], value: Any) -> Any:
    if not steps:
        return value
    step, rest = steps[0], steps[1:]
    if isinstance(step, int):
        return (*target[:step], _set(target[step], rest, value), *target[step + 1 :])
    assert isinstance(target, Stated)
    name = type(target).known_keys()[step]
    return target.model_copy(update={name: _set(getattr(target, name), rest, value)})


@dataclass(frozen=True)
class TickLine:
    """Values on whole ticks, from the present value on in one direction.

    Examples
    --------
    A smallest diameter of 75.3 mm let out, that is, made smaller, in ticks of 0.5 mm:

    >>> line = TickLine(75.3, 0.5, -1)
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

    @property
    def _base(self) -> int:
        return floor(self.now * self.way / self.tick + EPSILON)

    def at(self, steps: int) -> float:
        """Return the value so many ticks on; 0 is the present value, whether it lies on a tick or not."""
        if steps == 0:
            return self.now
        return round((self._base + steps) * self.tick * self.way, DECIMALS) + 0.0

    def to(self, needed: float) -> int:
        """Return the number of ticks, none below 0, that is on the edge of what a design needs.

        Where the limit loosens it is the fewest that allow the value needed, where it tightens the most that do.
        """
        wanted = needed * self.way / self.tick
        return max(0, (ceil(wanted - EPSILON) if self.loosens else floor(wanted + EPSILON)) - self._base)

    def ticks_to(self, last: float) -> int:
        """Return how many ticks there are up to a last value."""
        return max(0, floor(last * self.way / self.tick + EPSILON) - self._base)


def as_given(_: Candidate, value: float) -> float:
    """Return the value that a design was found with, where no more can be told of what it needs."""
    return value


@dataclass(frozen=True)
class StatedLimit:
    """A limit that may be moved by whole ticks, either let out or tightened."""

    kind: LimitKind
    unit: str
    """Unit of the keys' values."""
    line: TickLine
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

    def own(self, candidate: Candidate | MiddleCandidate, steps: int) -> int:
        """Return the ticks that a design found so many ticks on really uses, within what was asked.

        Of a design whose speeds are free that is not worked out: it uses what it was given.
        """
        if isinstance(candidate, MiddleCandidate):
            return steps
        return min(self.ticks, self.line.to(self.needs(candidate, self.line.at(steps))))

    def ticks_of(self, units: int) -> int:
        """Return the ticks of so many units, as far as the limit is moved."""
        return min(self.ticks, max(1, round(units * self.unit_ticks)))


def settings(scenario: Scenario, limit: StatedLimit, steps: int, short: int | None = None) -> tuple[Setting, ...]:
    """Return the keys of a moved limit with their values now, then, and at `short` ticks.

    A key that need not be set at `short` ticks has its present value there.
    """
    less = limit.values(short) if short is not None else {}
    told = short is not None and limit.numbered
    return tuple(
        Setting(
            key=key,
            unit=limit.unit if isinstance(value, float | tuple) else "",
            now=(now := _now(scenario, limit, key)),
            value=value,
            short=less.get(key, now) if told else None,
        )
        for key, value in limit.values(steps).items()
    )


def _now(scenario: Scenario, limit: StatedLimit, key: str) -> Value:
    value = value_at_key(scenario, key)
    if value is None or (isinstance(value, float) and not isfinite(value)):
        return limit.unstated.get(key)
    return value if isinstance(value, float | int | str | tuple) else None
