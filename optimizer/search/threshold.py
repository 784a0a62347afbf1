"""The rising threshold: all designs with J up to T, for a T that grows until there is one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import chain
from math import inf
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.clock import LimitReachedError
from optimizer.records import Candidate
from optimizer.search.bound import Boxes, SeriesProgram, boxes_at, boxes_by_program
from optimizer.search.chains import Designs
from optimizer.search.limits import AllowanceSpentError, Meter
from optimizer.search.space import Space
from optimizer.search.tuples import Ceiling

__all__ = ["Best", "Wish", "any_below", "greatest_j", "improving", "least", "rise", "why_stopped"]

FIRST_STEP = 5e-4
FIRST_SHARE = 0.02
"""The first step is at least this share of the lower bound, which the first design rarely comes closer to."""
GROWTH = 8.0
"""Factor between thresholds while passes cost little."""
RETREAT = 4.0
"""By what a step is cut after a pass that was given up; half the way to that pass follows, then it is tried again."""
CHEAP = 25_000
"""Combinations looked at in passes that cost next to nothing."""
DEAR = 200_000
"""Combinations after which a pass with boxes in closed form is begun again with narrower ones."""
DEARER = 16.0
"""How much dearer a later pass is meant to be than the one before it."""
VENTURE = 4
"""A pass is given up when it costs so many times all before it."""
NEARER = 0.25
"""A design this share of the way from the threshold to the bound, or nearer to that, makes a pass begin again."""
TRIM = 5_000
"""Combinations that a design counts for which could not be trimmed, by the time it takes."""
SAME = 1e-12
"""Values of J closer than this are a tie."""
Wish = Literal["j", "timber"]


@dataclass(frozen=True)
class Best:
    """The best design of a space, or the bound at which the search stood."""

    candidate: Candidate | None
    j: float
    timber_mm3: float
    bound: float
    """No design of the space has a J below this."""
    stopped: str = ""
    """The limit that ended the search."""

    @classmethod
    def none(cls, bound: float, stopped: str = "") -> Best:
        """Return the state of having found nothing."""
        return cls(None, inf, inf, bound, stopped)


def rise(space: Space, program: SeriesProgram, span: tuple[float, float], meter: Meter) -> Best:
    """Return the best design with J up to the last threshold; where there is none, the bound reached.

    Thresholds grow fast; a pass that turns out dear is given up for one at a smaller step, or, where it has found a
    design, for one up to that design's J.

    Parameters
    ----------
    space
        What to search.
    program
        The linear program whose boxes are used where the lower bound is above 0.
    span
        A lower bound of J, and the last threshold.
    meter
        Counts combinations and may stop the search.
    """
    return _risen(_Passes(space, program, meter, span[0]), span)


def _risen(passes: _Passes, span: tuple[float, float]) -> Best:
    start, most = span
    meter = passes.meter
    growth, bound, dear = GROWTH, start, inf
    threshold = start + max(FIRST_STEP, start * FIRST_SHARE)
    while bound < most:
        threshold = min(threshold, most)
        meter.tell(threshold)
        try:
            with meter.allowance(VENTURE * max(meter.examined, CHEAP)):
                found = passes.best(threshold)
        except (LimitReachedError, MemoryError) as limit:
            return replace(passes.known, bound=bound, stopped=why_stopped(limit))
        except AllowanceSpentError:
            most = min(most, passes.known.j + SAME)
            dear, growth = threshold, _careful_growth(passes.space)
            threshold = bound + (dear - bound) / RETREAT
            continue
        if found:
            return found
        known, bound = bound, threshold
        passes.bound = bound
        if dear == inf:
            threshold = start + (bound - start) * growth
        elif dear - bound > (dear - known) / 2:
            threshold = (bound + dear) / 2
        else:
            threshold, dear = dear, inf
    return Best.none(bound)


def any_below(space: Space, program: SeriesProgram, span: tuple[float, float], meter: Meter) -> Best:
    """Return any design with J up to the last threshold, the first that is found; without one, the bound reached.

    The last threshold is tried at once, for as long as that costs little: where there are designs, one is soon met.
    """
    passes = _Passes(space, program, meter, span[0], any_does=True)
    try:
        with meter.allowance(CHEAP):
            found = passes.best(span[1])
        return found or Best.none(span[1])
    except (LimitReachedError, MemoryError) as limit:
        return replace(passes.known, bound=span[0], stopped=why_stopped(limit))
    except AllowanceSpentError:
        return passes.known if passes.known.candidate else _risen(passes, span)


def why_stopped(limit: Exception) -> str:
    """Return the reason why a search ended that a limit, or the system, ended."""
    return str(limit) if isinstance(limit, LimitReachedError) else "the memory there is ran out"


def _careful_growth(space: Space) -> float:
    """Return a factor that makes the next pass dearer by no more than intended.

    The number of designs below a threshold grows as its power, one for every position that the first of its
    stage ties to the series, one for the end.
    """
    free = sum(len(offsets) - 1 for offsets in space.rules.offsets) + 1
    return float(DEARER ** (1 / free))


@dataclass
class _Passes:
    """Passes over a space at one threshold after another.

    Boxes in closed form do where little is left to look at; once that has turned out dear, the linear program narrows
    them.
    """

    space: Space
    program: SeriesProgram
    meter: Meter
    bound: float
    """No design has a J below this."""
    any_does: bool = False
    """Whether the first design found is enough."""
    narrow: bool = False
    """Whether boxes in closed form have turned out dear."""
    known: Best = field(default_factory=lambda: Best.none(inf))
    """The best design of a pass that was not finished."""

    def best(self, threshold: float) -> Best | None:
        """Return the best design with J up to the threshold, or nothing."""
        if not self.narrow:
            closed = boxes_at(self.space.rules, self.space.spans, threshold)
            spent = self.meter.examined
            try:
                with self.meter.allowance(DEAR):
                    return self._least([closed], threshold)
            except AllowanceSpentError:
                if self.meter.examined - spent < DEAR:
                    raise
                self.narrow = True
        return self._least(boxes_by_program(self.program, self.space.spans, threshold), threshold)

    def _least(self, boxes: list[Boxes], threshold: float) -> Best | None:
        best, before = None, self.meter.examined
        for best in improving(self.space, boxes, self.meter):
            self.known = best if best.j < self.known.j else self.known
            if self.any_does:
                break
            if best.j < threshold - NEARER * (threshold - self.bound):
                # with its J as the threshold all spans are narrower: worth beginning again, if much is left to do
                self.meter.shorten(max(self.meter.examined - before, VENTURE * CHEAP))
        return best


def least(space: Space, boxes: list[Boxes], meter: Meter, timber_most: float = inf, wish: Wish = "j") -> Best | None:
    """Return the design in the boxes that has least of what is wished, and can be trimmed; or nothing.

    Raises
    ------
    LimitReachedError
        If no more designs may be looked at.
    """
    best = None
    for better in improving(space, boxes, meter, timber_most, wish):
        best = better
    return best


def improving(
    space: Space, boxes: list[Boxes], meter: Meter, timber_most: float = inf, wish: Wish = "j"
) -> Iterator[Best]:
    """Yield designs that can be trimmed, each better than the one before, the last the best in the boxes."""
    ceiling = Ceiling()
    best: tuple[float, ...] = (inf,)
    streams = (space.designs(each, meter, timber_most, ceiling) for each in boxes if not each.empty)
    for designs in chain.from_iterable(streams):
        for entry in _in_order(space, designs, wish):
            if entry.merit > best[:2]:
                break
            rank = entry.rank(space)
            if rank >= best:
                continue
            candidate = space.candidate(list(entry.rows))
            if candidate is None:
                meter.spend(TRIM)
            else:
                best = rank
                ceiling.j, ceiling.timber_mm3 = _ceiling(entry, wish)
                yield Best(candidate, entry.j, entry.timber_mm3, entry.j)


def _in_order(space: Space, designs: Designs, wish: Wish) -> Iterator[_Entry]:
    """Yield designs in order of what is wished, to within a tie, then of the other."""
    timber = _timber(space, designs)
    j, volume = np.round(designs.j / SAME) * SAME, np.round(timber, 3)
    columns = (j, volume) if wish == "j" else (volume, j)
    for i in np.lexsort(columns[::-1]):
        merit = (float(columns[0][i]), float(columns[1][i]))
        yield _Entry(merit, float(designs.j[i]), float(timber[i]), tuple(rows[i] for rows in designs.rows))


def _ceiling(entry: _Entry, wish: Wish) -> tuple[float, float]:
    """Return what later designs must not pass: what is wished, with room for a tie."""
    return (entry.j + 2 * SAME, inf) if wish == "j" else (inf, entry.timber_mm3 + 0.01)


def _timber(space: Space, designs: Designs) -> NDArray[np.float64]:
    timber = np.zeros(len(designs))
    for index, rows in zip(space.indexes, designs.rows, strict=True):
        timber += index.pairs.timber_mm3[rows].sum(axis=1)
    return timber


@dataclass(frozen=True)
class _Entry:
    merit: tuple[float, float]
    """What is wished, then the other of J and timber, both rounded so that near figures tie."""
    j: float
    timber_mm3: float
    rows: tuple[NDArray[np.int64], ...]

    def rank(self, space: Space) -> tuple[float, ...]:
        """Return the merit, then the sizes themselves: a total order."""
        sizes = []
        for index, rows in zip(space.indexes, self.rows, strict=True):
            for column in (index.pairs.belt, index.pairs.driver_mm, index.pairs.driven_mm):
                sizes += column[rows].tolist()
        return (*self.merit, *sizes)


def greatest_j(space: Space) -> float:
    """Return a J that no design with finite limits passes."""
    rules = space.rules
    wide = sum(high - low for low, high in space.spans) + abs(rules.base) + abs(rules.low) + abs(rules.high) + 1
    return sum(weight * min(cap, wide) for weight, cap in zip(rules.weights, rules.caps, strict=True))
