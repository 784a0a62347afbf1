"""Values of a scenario read and set by the keys a maker writes."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from optimizer.scenario import Scenario
from optimizer.scenario.free import with_shared_cone
from optimizer.scenario.stated import Stated

__all__ = ["changed", "value_at_key"]

Step = str | int


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


def _steps(key: str) -> list[Step]:
    """Split a key into names and places.

    Examples
    --------
    >>> _steps("stage[0].driver.free[1]")
    ['stage', 0, 'driver', 'free', 1]
    """
    return [int(number) if number else name for name, number in re.findall(r"(\w*[a-z_]\w*)|\[(\d+)\]", key)]


def _set(target: Any, steps: Sequence[Step], value: Any) -> Any:
    if not steps:
        return value
    step, rest = steps[0], steps[1:]
    if isinstance(step, int):
        return (*target[:step], _set(target[step], rest, value), *target[step + 1 :])
    assert isinstance(target, Stated)
    field = type(target).known_keys()[step]
    return target.model_copy(update={field: _set(getattr(target, field), rest, value)})
