"""Independent checks of a machine from its final diameters."""

from optimizer.checks.design import check_design, skipped_checks
from optimizer.checks.travel import Centres, Line, budget, centres_of
from optimizer.checks.verdict import Check, Skipped

__all__ = ["Centres", "Check", "Line", "Skipped", "budget", "centres_of", "check_design", "skipped_checks"]
