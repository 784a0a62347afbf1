"""The best listed design of a machine with a middle shaft, with its proof."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field
from math import inf

import numpy as np
from numpy.typing import NDArray

from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.records import Proof
from optimizer.records.middle import MiddleCandidate, MiddleFound, MiddleProblem, largest_gap, middle_logs, plate_of
from optimizer.records.plate import distinct_groups
from optimizer.search.limits import AllowanceSpentError, Meter
from optimizer.search.middle.settle import belts_that_fit, settled
from optimizer.search.middle.space import Space, spaces_of
from optimizer.search.middle.targets import SpeedRules
from optimizer.search.middle.walk import Ceiling, Designs, Walk
from optimizer.search.threshold import why_stopped
from optimizer.series import end_miss

__all__ = ["Best", "Risen", "risen", "search_middle", "sweep"]

Ints = NDArray[np.int64]
TOGETHER = 256
"""Designs whose belts are looked at together."""
TRIM = 5_000
"""Combinations that a design counts for which could not be scaled to fit, by the time it takes."""
DIGITS = 11
"""Values of F that agree to so many digits are a tie."""
Key = tuple[float, ...]


@dataclass
class Best:
    """The best design so far.

    Least F, then most distinct speeds, then least timber at the listed sizes, then the sizes themselves.
    """

    candidate: MiddleCandidate | None = None
    f: float = inf
    key: Key = field(default=(inf,))


def sweep(spaces: list[Space], rules: SpeedRules, ceiling: Ceiling, best: Best, meter: Meter) -> Best:
    """Return the best design with F up to the ceiling, the one known among them; the ceiling comes down with it.

    Raises
    ------
    LimitReachedError, AllowanceSpentError
        From the meter; the best so far is kept in what was given.
    """
    for space in spaces:
        for found in Walk(space, rules, ceiling, meter).designs():
            _consider(space, rules, found, ceiling, best, meter)
    return best


def _consider(space: Space, rules: SpeedRules, found: Designs, ceiling: Ceiling, best: Best, meter: Meter) -> None:
    gap = np.diff(found.speeds, axis=1).max(axis=1)
    f = rules.weights[0] * found.miss + rules.weights[1] * gap
    rows = np.flatnonzero(f <= min(ceiling.most, best.f) + 10.0**-DIGITS)
    good, distinct = rules.judge(found.speeds[rows])
    rows, distinct = rows[good], distinct[good]
    columns = [found.rows[slot][rows] for slot in space.slots]
    tables = [space.tables[slot.table] for slot in space.slots]
    if not rows.size:
        return
    timber = sum(table.timber_mm3[column] for table, column in zip(tables, columns, strict=True))
    sizes = np.concatenate([table.size_mm[column] for table, column in zip(tables, columns, strict=True)], axis=1)
    keys = np.column_stack([np.round(f[rows], DIGITS), -distinct, np.round(timber, 3), sizes])
    order = np.lexsort(keys.T[::-1])
    for start in range(0, order.size, TOGETHER):
        part = order[start : start + TOGETHER]
        if tuple(keys[part[0]]) >= best.key:
            return
        fitting = belts_that_fit(space, {s: c[part] for s, c in zip(space.slots, columns, strict=True)})
        for place in np.flatnonzero(fitting.any(axis=(1, 2))):
            key = tuple(map(float, keys[part[place]]))
            if key >= best.key:
                return
            chosen = {slot: int(column[part[place]]) for slot, column in zip(space.slots, columns, strict=True)}
            candidate = settled(space, chosen, fitting[place])
            if candidate is not None:
                best.candidate, best.f, best.key = candidate, float(f[rows[part[place]]]), key
                ceiling.most = min(ceiling.most, best.f)
                return
            meter.spend(TRIM)


FIRST_SHARE = 0.05
"""The first threshold is so much above the lower bound, or above a thousandth where that is 0."""
GROWTH = 1.6
"""Factor of the thresholds' height above the lower bound."""
THIN_ROWS = (1_500, 12_000)
"""A look round takes every second size, or fewer, so that a level has no more rows than these; more where none do."""
VENTURE = (1_000_000, 5_000_000)
"""Combinations that each look round may take."""


@dataclass(frozen=True)
class Risen:
    """The best design found, with the bound it is known by."""

    best: Best
    bound: float
    """No design has an F below this."""
    stopped: str = ""
    """The limit that ended the search."""


def risen(spaces: list[Space], rules: SpeedRules, meter: Meter, *, any_design: bool = False) -> Risen:
    """Return the best design of some spaces, with its proof or the bound at which a limit ended the search.

    A look round among fewer sizes finds a design to begin with. Thresholds then rise from the lower bound until one of
    them holds the best; the last is that design's own F. Where any design will do the first one ends it.
    """
    climb = _Climb(rules, meter, any_design)
    try:
        for rows, most in zip(THIN_ROWS, VENTURE, strict=True):
            if climb.best.candidate is None:
                climb.look_round([space.thinned(rows) for space in spaces], spaces, most)
        climb.rise(spaces)
    except (LimitReachedError, MemoryError) as limit:
        return Risen(climb.best, min(climb.bound, climb.best.f), why_stopped(limit))
    return Risen(climb.best, min(climb.bound, climb.best.f))


@dataclass
class _Climb:
    """A search under way, so that a limit finds what is known."""

    rules: SpeedRules
    meter: Meter
    any_design: bool = False
    best: Best = field(default_factory=Best)
    bound: float = field(init=False)

    def __post_init__(self) -> None:
        self.bound = self.rules.bound

    def look_round(self, thin: list[Space], spaces: list[Space], most: int) -> None:
        """Find some design among fewer sizes, if that takes no more combinations; it bounds nothing from below."""
        if all(few.combinations == space.combinations for few, space in zip(thin, spaces, strict=True)):
            return
        with suppress(AllowanceSpentError), self.meter.allowance(most):
            self.rise(thin)
        self.bound = self.rules.bound

    def rise(self, spaces: list[Space]) -> None:
        """Raise the threshold until the best design of the spaces is known."""
        greatest = self.rules.greatest + 1e-9
        height = max(self.rules.bound * FIRST_SHARE, 1e-3)
        self.bound = self.rules.bound
        while self.bound < min(self.best.f, greatest) and not (self.any_design and self.best.candidate):
            threshold = min(self.rules.bound + height, self.best.f, greatest)
            self.meter.tell(threshold)
            sweep(spaces, self.rules, Ceiling(threshold), self.best, self.meter)
            self.bound = max(self.bound, min(threshold, self.best.f))
            height *= GROWTH


def search_middle(problem: MiddleProblem, clock: Clock = ENDLESS, *, any_design: bool = False) -> MiddleFound:
    """Return the design of least F over the listed sizes, proved, or the reason why there is none.

    ``F = w_e·ε + w_u·g`` with the weights of end miss and unevenness, ε the end miss and g the largest gap of all
    speeds, near-equal ones and all, as natural logarithms. Ties go to more distinct speeds, then less timber, then
    smaller sizes.

    Parameters
    ----------
    problem
        The machine.
    clock
        Ends the search when it has gone too far; the result then says so, with the gap. Hears of every threshold.
    any_design
        Whether the first design that is found will do; it is then not proved to be the best.
    """
    meter = Meter(clock)
    spaces = spaces_of(problem)
    if not spaces:
        reason = "no sizes fit any belt on every level within the limits"
        return MiddleFound(proof=Proof(status="no design", reason=reason, bound=inf))
    rules = SpeedRules.of(problem, spaces[0].base)
    meter.hold(sum(space.held_bytes for space in spaces))
    found = risen(spaces, rules, meter, any_design=any_design)
    best = found.best
    status, reason = ("not proved", found.stopped) if found.stopped else ("proved", "")
    if any_design and best.candidate is not None:
        status, reason = "not proved", "any design was asked for, not the best"
    if best.candidate is None and not found.stopped:
        status, reason = "no design", "no listed sizes meet the wants, the ends and the limits on both belts"
    proof = Proof.model_validate(
        {
            "status": status,
            "reason": reason,
            "structural": rules.bound,
            "listed": best.f,
            "bound": inf if status == "no design" else found.bound,
            "combinations": sum(space.combinations for space in spaces),
            "examined": meter.examined,
            "pairs": tuple(over.pairs for over in spaces[0].over),
            "held_bytes": meter.held_bytes,
        }
    )
    if best.candidate is None:
        return MiddleFound(proof=proof)
    logs = middle_logs(problem, best.candidate.stages)
    return MiddleFound(
        candidate=best.candidate,
        proof=proof,
        end_miss=end_miss(sorted(logs), problem.targets.lo_rpm, problem.targets.hi_rpm),
        largest_gap=largest_gap(logs),
        distinct=len(distinct_groups(logs, problem.targets.distinct)),
        plate=plate_of(best.candidate),
    )
