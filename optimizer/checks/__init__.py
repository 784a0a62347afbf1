"""Independent checks of a machine from its final diameters."""

from optimizer.checks.design import asked_once_made, check_design, limits_of, near_limits, skipped_checks
from optimizer.checks.travel import Centres, Line, budget, centres_of
from optimizer.checks.verdict import Check, Skipped

__all__ = [
    "Centres",
    "Check",
    "Line",
    "Skipped",
    "asked_once_made",
    "budget",
    "centres_of",
    "check_design",
    "limits_of",
    "near_limits",
    "skipped_checks",
]
