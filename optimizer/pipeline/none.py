"""What is said where no layout has a design."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.changes import Known, changes_for_none
from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.pipeline.choose import Tried
from optimizer.pipeline.rejected import RejectedError
from optimizer.records.changes import LayoutReason, NoDesign
from optimizer.scenario import Scenario

__all__ = ["NoLayoutError", "known_of", "why_none"]


class NoLayoutError(NoDesignError):
    """No layout has a design; `told` says why, with the least changes that give one; `rejected` are designs found."""

    def __init__(self, told: NoDesign, rejected: Sequence[RejectedError] = ()) -> None:
        self.told, self.rejected = told, tuple(rejected)
        super().__init__("\n".join(f"layout {'; '.join(entry.layouts)}: {entry.reason}" for entry in told.reasons))


def why_none(
    scenario: Scenario,
    tried: Sequence[Tried],
    clock: Clock,
    *,
    rejected: Sequence[RejectedError] = (),
) -> NoDesign:
    """Return the reasons of all layouts with the changes that would help.

    None is told after an ended search, or where checks reject what was found, as changes ask the search alone.
    """
    reasons: dict[str, list[str]] = {}
    for entry in tried:
        reasons.setdefault(entry.said, []).append(entry.layout.title)
    ended = any(entry.outcome == "stopped" for entry in tried)
    return NoDesign(
        title=scenario.title,
        units=scenario.units,
        reasons=tuple(LayoutReason(layouts=tuple(titles), reason=reason) for reason, titles in reasons.items()),
        rejected=bool(rejected),
        changes=None if ended or rejected else changes_for_none(scenario, known_of(tried), clock),
    )


def known_of(tried: Sequence[Tried]) -> list[Known]:
    """Return what the searches said, as questions about changes take it."""
    return [Known(entry.layout, entry.found) for entry in tried]
