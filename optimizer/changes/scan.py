"""The first tick at which a limit gives a design where letting it out further may lose it again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import log, sqrt

from optimizer.changes.boundary import Place
from optimizer.changes.least import Asked, Moved
from optimizer.changes.limit import Limit
from optimizer.errors import NoDesignError
from optimizer.layouts.problem import problem_for
from optimizer.layouts.targets import targets_of
from optimizer.records.layout import Layout
from optimizer.records.problem import BandTarget, Targets

__all__ = ["covering", "scanned"]

BLOCK = 64
"""Ticks that are asked of together at first."""
SURELY = 1e-9
"""Added to a wider end miss, so that rounding rules nothing out."""


def scanned(asked: Asked, limit: Limit) -> tuple[Moved | None, bool]:
    """Return the first tick with a design, from the present value on, and whether it is proved that there is none.

    Every tick before it is proved to have none in any layout: by itself, or in a block of ticks that a problem with
    targets wide enough for all of them covers. Where a limit was reached on the way, the result is not proved.
    """
    best: Moved | None = None
    known = True
    for layout in asked.layouts:
        last = limit.ticks if best is None else best.steps - 1
        place, certain = _first(asked, limit, layout, last)
        known = known and certain
        if place is not None:
            best = Moved(place.steps, layout, place, True, place.steps - 1)
    return (best._replace(known=known) if best else None), known


def _first(asked: Asked, limit: Limit, layout: Layout, last: int) -> tuple[Place | None, bool]:
    known = True
    for low, high in _blocks(last, 1 if limit.numbered is False else BLOCK):
        if asked.questions.over:
            return None, False
        place, certain = _within(asked, limit, layout, (low, high))
        known = known and certain
        if place is not None:
            return place, known
    return None, known


def _blocks(last: int, size: int) -> Iterator[tuple[int, int]]:
    for low in range(1, last + 1, size):
        yield low, min(low + size - 1, last)


def _within(asked: Asked, limit: Limit, layout: Layout, span: tuple[int, int]) -> tuple[Place | None, bool]:
    """Return the first tick of a span with a design, and whether those before it are proved to have none."""
    low, high = span
    if asked.questions.over:
        return None, False
    if low == high:
        answer = asked.at(limit, layout, low)
        return (Place(low, answer.candidate) if answer.candidate else None), answer.known
    if _ruled_out(asked, limit, layout, span):
        return None, True
    middle = (low + high) // 2
    place, known = _within(asked, limit, layout, (low, middle))
    if place is not None:
        return place, known
    place, certain = _within(asked, limit, layout, (middle + 1, high))
    return place, known and certain


def _ruled_out(asked: Asked, limit: Limit, layout: Layout, span: tuple[int, int]) -> bool:
    """Tell whether not even targets that allow whatever any tick of the span allows have a design."""
    ends = [limit.moved(asked.scenario, steps) for steps in span]
    try:
        problem = problem_for(ends[0], layout)
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
