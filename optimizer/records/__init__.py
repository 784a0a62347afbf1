"""What the stages of the work hand to each other."""

from optimizer.records.candidate import Candidate, PositionSizes, Source, StageSizes
from optimizer.records.layout import Layout
from optimizer.records.problem import BandTarget, BeltChoice, Problem, SideSizes, StageProblem, Targets
from optimizer.records.proof import Closing, Extreme, Found, Proof
from optimizer.records.rules import broken_rules

__all__ = [
    "BandTarget",
    "BeltChoice",
    "Candidate",
    "Closing",
    "Extreme",
    "Found",
    "Layout",
    "PositionSizes",
    "Problem",
    "Proof",
    "SideSizes",
    "Source",
    "StageProblem",
    "StageSizes",
    "Targets",
    "broken_rules",
]
