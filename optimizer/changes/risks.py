"""Which changes pass what a maker or safety allows, and what they risk."""

from __future__ import annotations

from collections.abc import Iterable

from optimizer.records.changes import Change

__all__ = ["usual_first", "with_risk"]

RISKS = {
    "rim_speed": "a rim that runs too fast bursts and throws its pieces; no published limit for timber rims was found",
    "smallest": "a belt bent tighter than its maker allows cracks, slips and wears out early",
    "belt_speed": "a belt that runs faster than its maker allows lifts off, flaps and may break",
    "wrap": "with so little wrap the belt slips under load and gets hot",
    "least_grip": "a belt that carries less than it must slips under load and gets hot",
    "carry": "a belt that carries less than it must slips under load and gets hot",
}
"""What is risked by the keys that a maker of belts or pulleys, or safety, limits; common practice, no source."""


def with_risk(change: Change) -> Change:
    """Return a change with its class: risky where one of its keys lets out a limit of a maker or of safety."""
    last = (setting.key.rpartition(".")[2] for setting in change.settings)
    risk = next((RISKS[key] for key in last if key in RISKS), "")
    return change.model_copy(update={"remedy": "risky", "risk": risk}) if risk else change


def usual_first(changes: Iterable[Change]) -> tuple[Change, ...]:
    """Return changes with their classes, the usual ones first, else in their order."""
    return tuple(sorted(map(with_risk, changes), key=lambda change: change.remedy != "usual"))
