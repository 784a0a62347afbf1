"""Designs that their own checks reject: never shown, told as what they fail."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

from optimizer.checks import Check, check_design
from optimizer.errors import NoDesignError
from optimizer.records.built import BuiltMachine
from optimizer.scenario import Scenario

__all__ = ["RejectedError", "refuse_failing"]

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


def refuse_failing(scenario: Scenario, built: BuiltMachine) -> None:
    """Check a built machine anew from its outside diameters.

    Raises
    ------
    RejectedError
        It fails a check of what is impossible, or of a limit.
    """
    failed = [check for check in check_design(scenario, built) if not check.passed and check.kind != "advice"]
    if failed:
        raise RejectedError(built, failed)


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
