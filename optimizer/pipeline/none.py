"""What is said where no layout has a design."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.changes import Known, changes_for_none
from optimizer.errors import NoDesignError
from optimizer.pipeline.choose import Tried
from optimizer.pipeline.listener import Listener
from optimizer.records.changes import LayoutReason, NoDesign
from optimizer.scenario import Scenario
from optimizer.search import Stop

__all__ = ["NoLayoutError", "known_of", "why_none"]


class NoLayoutError(NoDesignError):
    """No layout has a design; `told` says why, with the least changes that give one."""

    def __init__(self, told: NoDesign) -> None:
        self.told = told
        super().__init__("\n".join(f"layout {'; '.join(entry.layouts)}: {entry.reason}" for entry in told.reasons))


def why_none(scenario: Scenario, tried: Sequence[Tried], listener: Listener, *, stop: Stop | None = None) -> NoDesign:
    """Return the reasons of all layouts with the changes that would help; none is told after an ended search."""
    reasons: dict[str, list[str]] = {}
    for entry in tried:
        reasons.setdefault(entry.said, []).append(entry.layout.title)
    ended = any(entry.outcome == "stopped" for entry in tried)
    return NoDesign(
        title=scenario.title,
        units=scenario.units,
        reasons=tuple(LayoutReason(layouts=tuple(titles), reason=reason) for reason, titles in reasons.items()),
        changes=None if ended else changes_for_none(scenario, known_of(tried), listener.begin, stop=stop),
    )


def known_of(tried: Sequence[Tried]) -> list[Known]:
    """Return what the searches said, as questions about changes take it."""
    return [Known(entry.layout, entry.found) for entry in tried]
