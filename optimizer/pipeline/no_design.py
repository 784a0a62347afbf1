"""What is said where no layout has a design, or none passes its checks."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

from optimizer.changes import Known, changes_for_none
from optimizer.checks import Check, check_design
from optimizer.checks.stated import Machine
from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.pipeline.choose import Tried
from optimizer.records.built import BuiltMachine
from optimizer.records.changes import LayoutReason, NoDesign
from optimizer.scenario import Scenario

__all__ = ["NoLayoutError", "RejectedError", "known_of", "refuse_failing", "why_none"]

MOST_SAID = 3
"""Checks said of one design; whoever mends these may see the rest."""


class RejectedError(NoDesignError):
    """A design was found, `built`, that fails checks of what is impossible, or of a limit; `failed` are these."""

    def __init__(self, built: BuiltMachine, failed: Sequence[Check]) -> None:
        self.built, self.failed = built, tuple(failed)
        more = len(self.failed) - MOST_SAID
        said = [*map(_words, self.failed[:MOST_SAID]), *([f"{more} more checks"] if more > 0 else [])]
        self.words = "; ".join(said)
        super().__init__(f"the design found fails its own checks: {self.words}")


def refuse_failing(machine: Machine) -> Machine:
    """Return a machine that keeps its checks.

    Raises
    ------
    RejectedError
        It fails a check of what is impossible, or of a limit.
    """
    failed = [check for check in check_design(machine) if not check.passed and check.kind != "advice"]
    if failed:
        raise RejectedError(machine.built, failed)
    return machine


def _words(check: Check) -> str:
    """Return what fails, where, by how much."""
    unit = f" {check.unit}" if check.unit else ""
    if isnan(check.value):
        got = "cannot be worked out"
    else:
        bound = "at most" if check.value > check.limit else "at least"
        got = f"is {check.value:.4g}{unit}, must be {bound} {check.limit:.4g}{unit}"
    note = f" ({check.note})" if check.note else ""
    return f"{check.name}, {check.where}: {got}{note}"


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
