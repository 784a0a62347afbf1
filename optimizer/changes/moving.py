"""How far a limit must be let out, or may be tightened, over all layouts, and whether that can be turned."""

from __future__ import annotations

from collections.abc import Sequence
from math import log, sqrt
from typing import NamedTuple

from optimizer.changes.limit import StatedLimit
from optimizer.changes.questions import Boundary, Inquiry, Place, Without, boundary
from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.layouts.free import any_problem
from optimizer.layouts.problem import targets_of
from optimizer.records.candidate import Candidate
from optimizer.records.layout import Layout
from optimizer.records.middle import MiddleCandidate
from optimizer.records.problem import BandTarget, Targets
from optimizer.refine.middle import refine_middle
from optimizer.scoring import loosest_j
from optimizer.search import closing_proof, round_sizes, search
from optimizer.search.middle import round_middle

__all__ = [
    "MOST_FOR_TICKS",
    "MOST_FURTHER",
    "Moved",
    "can_be_turned",
    "covering",
    "least",
    "scanned",
    "tightest",
    "turnable",
]

BLOCK = 64
"""Ticks that are asked of together at first."""
SURELY = 1e-9
"""Added to a wider end miss, so that rounding rules nothing out."""
MOST_FURTHER = 8
"""Ticks beyond the least that are tried where its design cannot be turned."""
MOST_FOR_TICKS = 5_000_000
"""Combinations looked at for the best design with a change, and for one on ticks."""


class Moved(NamedTuple):
    """How far a limit was moved."""

    steps: int
    """The least tick with a design, or the tightest."""
    layout: Layout
    place: Place
    known: bool
    """Whether the tick short of it, or beyond it, is proved to have none in any layout."""
    bad: int | None
    """That tick; nothing where a tightened limit still had a design at its last."""


class Sought(NamedTuple):
    """What came of looking for the least move of a limit."""

    moved: Moved | None
    known: bool
    """Where nothing was found, whether it is proved that there is nothing."""


class _Spot(NamedTuple):
    """The first tick of some with a design, if any."""

    place: Place | None
    known: bool
    """Whether those before it are proved to have none."""


def least(asked: Inquiry, limit: StatedLimit) -> Sought:
    """Return the least tick by which a nested limit must be let out.

    The first layout that has a design at all is halved down; every other is only asked one tick below the best so
    far, and halved on from there where it has a design. In the end every layout is proved to have none a tick short.
    """
    best: Moved | None = None
    known = True
    for layout in asked.layouts:
        for start in _starts(limit) if best is None else [best.steps - 1]:
            if start < 1:
                break
            answer = asked.at(limit, layout, start)
            if answer.candidate is not None:
                best = _halved(asked, limit, layout, Place(start, answer.candidate), Without(0))
                break
            known = known and answer.known
    return Sought(_settled(asked, limit, best, 0), known)


def _starts(limit: StatedLimit) -> list[int]:
    """Return the ticks from which a limit is halved down: the last, or where that may give less, parts of it too."""
    starts = [limit.ticks]
    while not limit.strictly and starts[-1] > 1:
        starts.append(starts[-1] // 2)
    return starts


def tightest(asked: Inquiry, limit: StatedLimit, now: Place, layout: Layout) -> Moved:
    """Return how far a nested limit may be tightened before the last design is lost."""
    best = _tightened(asked, limit, layout, now)
    for other in asked.layouts:
        if other == layout or best.bad is None:
            continue
        answer = asked.at(limit, other, best.bad)
        if answer.candidate is not None:
            best = _tightened(asked, limit, other, Place(best.bad, answer.candidate))
    return best if best.bad is None else _settled(asked, limit, best, limit.ticks + 1) or best


def _tightened(asked: Inquiry, limit: StatedLimit, layout: Layout, good: Place) -> Moved:
    end = asked.at(limit, layout, limit.ticks)
    if end.candidate is not None:
        return Moved(limit.ticks, layout, Place(limit.ticks, end.candidate), True, None)
    return _halved(asked, limit, layout, good, Without(limit.ticks, end.known))


def _halved(asked: Inquiry, limit: StatedLimit, layout: Layout, good: Place, bad: Without) -> Moved:
    found: Boundary = boundary(lambda steps: asked.at(limit, layout, steps), limit.own, good, bad)
    return Moved(found.good.steps, layout, found.good, found.bad.known, found.bad.steps)


def _settled(asked: Inquiry, limit: StatedLimit, best: Moved | None, end: int) -> Moved | None:
    """Ask every layout at the tick without a design, and go on from any that has one there after all."""
    while best is not None and best.bad is not None and best.bad != end:
        known = True
        for layout in asked.layouts:
            answer = asked.at(limit, layout, best.bad)
            if answer.candidate is not None:
                best = _halved(asked, limit, layout, Place(best.bad, answer.candidate), Without(end))
                break
            known = known and answer.known
        else:
            return best._replace(known=known)
    return best


def scanned(asked: Inquiry, limit: StatedLimit) -> Sought:
    """Return the first tick with a design, from the present value on.

    So it is asked where letting a limit out further may lose a design again. Every tick before the first is proved to
    have none in any layout: by itself, or in a block of ticks that a problem with targets wide enough for all of them
    covers. Where a limit was reached on the way, the result is not proved.
    """
    best: Moved | None = None
    known = True
    for layout in asked.layouts:
        last = limit.ticks if best is None else best.steps - 1
        place, certain = _first(asked, limit, layout, last)
        known = known and certain
        if place is not None:
            best = Moved(place.steps, layout, place, True, place.steps - 1)
    return Sought(best._replace(known=known) if best else None, known)


def _first(asked: Inquiry, limit: StatedLimit, layout: Layout, last: int) -> _Spot:
    size = BLOCK if limit.numbered else 1
    known = True
    for low in range(1, last + 1, size):
        place, certain = _within(asked, limit, layout, (low, min(low + size - 1, last)))
        known = known and certain
        if place is not None or asked.questions.over:
            return _Spot(place, known)
    return _Spot(None, known)


def _within(asked: Inquiry, limit: StatedLimit, layout: Layout, span: tuple[int, int]) -> _Spot:
    """Return the first tick of a span with a design."""
    low, high = span
    if asked.questions.over:
        return _Spot(None, False)
    if low == high:
        answer = asked.at(limit, layout, low)
        return _Spot(Place(low, answer.candidate) if answer.candidate else None, answer.known)
    if _ruled_out(asked, limit, layout, span):
        return _Spot(None, True)
    middle = (low + high) // 2
    place, known = _within(asked, limit, layout, (low, middle))
    if place is not None:
        return _Spot(place, known)
    place, certain = _within(asked, limit, layout, (middle + 1, high))
    return _Spot(place, known and certain)


def _ruled_out(asked: Inquiry, limit: StatedLimit, layout: Layout, span: tuple[int, int]) -> bool:
    """Tell whether not even targets that allow whatever any tick of the span allows have a design."""
    ends = [limit.moved(asked.scenario, steps) for steps in span]
    try:
        problem = any_problem(ends[0], layout)
    except NoDesignError:
        return True  # whatever the bands, as they have no part in the sizes
    targets = covering([targets_of(end) for end in ends])
    return asked.questions.rule_out(problem.model_copy(update={"targets": targets}))


def covering(targets: Sequence[Targets]) -> Targets:
    """Return targets that every design keeps which keeps any of those given, or any between or made up of them.

    They may differ in the edges of bands and in wants. The ends are wanted half way between the outer ones, with an
    end miss that may be larger by the half.

    Examples
    --------
    >>> a = Targets(bands=(BandTarget(name="b", low_rpm=100, high_rpm=400, want=3),), lo_rpm=100, hi_rpm=400)
    >>> b = Targets(bands=(BandTarget(name="b", low_rpm=121, high_rpm=400, want=2),), lo_rpm=121, hi_rpm=400)
    >>> both = covering([a, b])
    >>> both.bands[0].low_rpm, both.bands[0].want, round(both.lo_rpm, 6), round(both.end_miss_most, 6)
    (100.0, 2, 110.0, 0.19531)
    """
    ends = [(min(rpm), max(rpm)) for rpm in ([t.lo_rpm for t in targets], [t.hi_rpm for t in targets])]
    wider = max(log(most / least) for least, most in ends) / 2
    return targets[0].model_copy(
        update={
            "bands": tuple(_hull(bands) for bands in zip(*(t.bands for t in targets), strict=True)),
            "lo_rpm": sqrt(ends[0][0] * ends[0][1]),
            "hi_rpm": sqrt(ends[1][0] * ends[1][1]),
            "end_miss_most": max(t.end_miss_most for t in targets) + (wider + SURELY if wider else 0.0),
        }
    )


def _hull(bands: Sequence[BandTarget]) -> BandTarget:
    return bands[0].model_copy(
        update={
            "low_rpm": min(band.low_rpm for band in bands),
            "high_rpm": max(band.high_rpm for band in bands),
            "top": any(band.top for band in bands),
            "want": min(band.want for band in bands),
        }
    )


def turnable(asked: Inquiry, limit: StatedLimit, moved: Moved) -> tuple[Moved, bool]:
    """Return the first tick from the least on whose design can be turned, and whether there is one.

    Listed sizes need not lie on ticks, and a design that only just fits may fit on no ticks at all. A tick further
    out is no longer proved to be the least.
    """
    for steps in range(moved.steps, min(limit.ticks, moved.steps + MOST_FURTHER) + 1):
        answer = asked.at(limit, moved.layout, steps)
        if answer.candidate is None or not can_be_turned(answer.candidate, asked.questions.clock):
            continue
        if steps == moved.steps:
            return moved, True
        return moved._replace(steps=steps, place=Place(steps, answer.candidate), known=False, bad=steps - 1), True
    return moved, False


def can_be_turned(candidate: Candidate | MiddleCandidate, clock: Clock) -> bool:
    """Tell whether the best design of a problem that has one can be brought to ticks, by rounding or by search.

    Where the search ends at its limit that is not ruled out, and taken for a yes. Designs with free speeds are
    brought to ticks by rounding alone.
    """
    if isinstance(candidate, MiddleCandidate):
        return refine_middle(candidate, 0.0, round_middle, clock).rounded is not None
    clock = clock.counting(MOST_FOR_TICKS)
    found = search(candidate.problem, clock)
    if found.proof.status == "no design":
        return False
    best = found.candidate or candidate
    if round_sizes(best.problem, best.stages, clock=clock).stages is not None:
        return True
    return closing_proof(best, loosest_j(best.problem.targets), clock).status != "none better"
