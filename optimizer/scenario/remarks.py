"""What is legal in a scenario but costs something."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from optimizer.scenario.scenario import Scenario

__all__ = ["remarks_on"]


def remarks_on(scenario: Scenario) -> tuple[str, ...]:
    """Return one sentence for everything that is legal but costly."""
    return tuple(_no_bands(scenario))


def _no_bands(scenario: Scenario) -> Iterator[str]:
    if not scenario.bands:
        yield "No band is stated: the speeds can be told, but a design needs at least one [[band]]."
