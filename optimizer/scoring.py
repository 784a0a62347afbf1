"""What "better" means, with the figures it is made of."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import exp, log

from optimizer.quantities.digits import meaningful
from optimizer.records.candidate import StageSizes
from optimizer.records.plate import ADVISED_UNEVENNESS
from optimizer.records.problem import Problem, SideSizes, Targets
from optimizer.records.speeds import HasPositions, counts, log_speeds, log_ways
from optimizer.scenario.base import Model
from optimizer.series import end_miss, unevenness

__all__ = [
    "ADVISED_END_MISS",
    "ADVISED_UNEVENNESS",
    "Score",
    "advised_most",
    "j_of",
    "j_of_sizes",
    "loosest_j",
    "score",
]

ADVISED_END_MISS = 0.03
"""End miss up to which a design is proposed without a warning; common practice, no source."""


class Score(Model):
    """One design's figures; logarithms are natural, and so are end miss, unevenness and gap."""

    logs: tuple[float, ...]
    """Logarithms of the spindle speeds [rpm], slowest first."""
    speeds_rpm: tuple[float, ...]
    end_miss: float
    unevenness: float
    start: float
    """Logarithm of the first speed of the nearest geometric series."""
    log_ratio: float
    """Logarithm of the ratio of that series; 0 for one speed."""
    j: float
    """Weighted sum of end miss and unevenness: what the search makes least."""
    widest_gap: float
    """Greatest difference of neighbouring logarithms; 0 for one speed."""
    band_counts: tuple[int, ...]
    """How many speeds count in each band, in the order of the targets."""
    turned_steps: int
    timber_mm3: float
    """Volume of all discs that steps are turned from."""
    largest_disc_mm: float
    """Diameter of the largest such disc; 0 where nothing is turned."""
    belt_moves: int
    """Belts moved in all on the way from the slowest speed to the fastest."""
    ends_advised: bool
    """Whether the end miss is within what is advised."""
    evenness_advised: bool
    """Whether the unevenness is within what is advised."""

    @property
    def ratio(self) -> float:
        """Ratio φ of the nearest geometric series."""
        return exp(self.log_ratio)

    @property
    def advised(self) -> bool:
        """Whether the design may be proposed without a warning."""
        return self.ends_advised and self.evenness_advised

    @property
    def rank(self) -> tuple[int, int, int, float]:
        """Order in which designs of different layouts are proposed, least first.

        Those within what is advised come first: fewest turned steps, fewest belt moves, least J. The others
        follow by J alone.
        """
        if not self.advised:
            return (1, 0, 0, meaningful(self.j))
        return (0, self.turned_steps, self.belt_moves, meaningful(self.j))


def advised_most(problem: Problem) -> float:
    """Return a J that no design within what is advised passes.

    The ratio φ is at most that of a series over the bands and twice both limits beyond.
    """
    targets, speeds = problem.targets, problem.layout.speeds
    reach = log(targets.hi_rpm / targets.lo_rpm) + 2 * (targets.end_miss_most + targets.unevenness_most)
    ratio = exp(reach / max(1, speeds - 1))
    return targets.end_weight * ADVISED_END_MISS + targets.unevenness_weight * ADVISED_UNEVENNESS * (ratio - 1)


def loosest_j(targets: Targets) -> float:
    """Return the greatest J that the limits on end miss and unevenness allow."""
    return targets.end_weight * targets.end_miss_most + targets.unevenness_weight * targets.unevenness_most


def j_of(targets: Targets, logs: Sequence[float]) -> float:
    """Return the weighted sum of end miss and unevenness of speeds given by their natural logarithms.

    Examples
    --------
    >>> from math import log
    >>> targets = Targets(bands=(), lo_rpm=100, hi_rpm=400)
    >>> j_of(targets, [log(100), log(200), log(400)]) < 1e-12
    True
    >>> round(j_of(targets, [log(101), log(200), log(400)]), 4)   # ln 1.01 of end miss, a quarter of it uneven
    0.0124
    """
    ends = end_miss(logs, targets.lo_rpm, targets.hi_rpm)
    delta = unevenness(logs, targets.ratio_least).delta
    return targets.end_weight * ends + targets.unevenness_weight * delta


def j_of_sizes(problem: Problem, stages: Sequence[HasPositions]) -> float:
    """Return J of the speeds that sizes give, every way of making one counted in the unevenness."""
    targets = problem.targets
    places, every = log_ways(problem, stages)
    ends = end_miss(log_speeds(problem, stages), targets.lo_rpm, targets.hi_rpm)
    return targets.end_weight * ends + targets.unevenness_weight * unevenness(every, targets.ratio_least, places).delta


def score(problem: Problem, stages: Sequence[StageSizes]) -> Score:
    """Return every figure that designs of a problem are compared by.

    The sizes need not keep the hard rules, so that a broken design can be described too.
    """
    targets = problem.targets
    logs = log_speeds(problem, stages)
    ordered = sorted(logs)
    places, every = log_ways(problem, stages)
    even = unevenness(every, targets.ratio_least, places)
    miss = end_miss(logs, targets.lo_rpm, targets.hi_rpm)
    turned = _turned(problem, stages)
    rpm = tuple(exp(value) for value in logs)
    return Score(
        logs=tuple(logs),
        speeds_rpm=rpm,
        end_miss=miss,
        unevenness=even.delta,
        start=even.start,
        log_ratio=even.log_ratio,
        j=targets.end_weight * miss + targets.unevenness_weight * even.delta,
        widest_gap=max((b - a for a, b in pairwise(ordered)), default=0.0),
        band_counts=tuple(sum(counts(band, n) for n in rpm) for band in targets.bands),
        turned_steps=len(turned),
        timber_mm3=sum(side.timber_mm3(size_mm) for side, size_mm in turned),
        largest_disc_mm=max((side.blank_mm(size_mm) for side, size_mm in turned), default=0.0),
        belt_moves=problem.layout.belt_moves,
        ends_advised=meaningful(miss) <= ADVISED_END_MISS,
        evenness_advised=even.delta <= ADVISED_UNEVENNESS * (exp(even.log_ratio) - 1) + 1e-12,
    )


def _turned(problem: Problem, stages: Sequence[StageSizes]) -> list[tuple[SideSizes, float]]:
    """Return every turned step with the side it belongs to."""
    found: list[tuple[SideSizes, float]] = []
    for rules, sizes in zip(problem.stages, stages, strict=True):
        for p in sizes.positions:
            if p.driver_source == "turned":
                found.append((rules.driver, p.driver_mm))
            if p.driven_source == "turned":
                found.append((rules.driven, p.driven_mm))
    return found
