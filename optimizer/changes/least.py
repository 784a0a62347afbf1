"""How far one limit must be let out, or may be tightened, over all layouts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from optimizer.changes.boundary import Boundary, Place, boundary
from optimizer.changes.limit import Limit
from optimizer.changes.questions import Answer, Questions
from optimizer.records.layout import Layout
from optimizer.scenario import Scenario

__all__ = ["Moved", "least", "tightest"]


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


class Asked(NamedTuple):
    """Of what the questions are asked."""

    scenario: Scenario
    layouts: Sequence[Layout]
    questions: Questions

    def at(self, limit: Limit, layout: Layout, steps: int) -> Answer:
        """Return whether a layout has a design with a limit moved."""
        return self.questions.ask(limit.moved(self.scenario, steps), layout)


def least(asked: Asked, limit: Limit) -> tuple[Moved | None, bool]:
    """Return the least tick by which a nested limit must be let out, and whether it is proved where there is none.

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
                best = _moved(layout, _halved(asked, limit, layout, (Place(start, answer.candidate), (0, True))))
                break
            known = known and answer.known
    return _settled(asked, limit, best, 0), known


def _starts(limit: Limit) -> list[int]:
    """Return the ticks from which a limit is halved down: the last, or where that may give less, parts of it too."""
    starts = [limit.ticks]
    while not limit.strictly and starts[-1] > 1:
        starts.append(starts[-1] // 2)
    return starts


def tightest(asked: Asked, limit: Limit, now: Place, layout: Layout) -> Moved:
    """Return how far a nested limit may be tightened before the last design is lost."""
    best = _tightened(asked, limit, layout, now)
    for other in asked.layouts:
        if other == layout or best.bad is None:
            continue
        answer = asked.at(limit, other, best.bad)
        if answer.candidate is not None:
            best = _tightened(asked, limit, other, Place(best.bad, answer.candidate))
    return best if best.bad is None else _settled(asked, limit, best, limit.ticks + 1) or best


def _tightened(asked: Asked, limit: Limit, layout: Layout, good: Place) -> Moved:
    end = asked.at(limit, layout, limit.ticks)
    if end.candidate is not None:
        return Moved(limit.ticks, layout, Place(limit.ticks, end.candidate), True, None)
    return _moved(layout, _halved(asked, limit, layout, (good, (limit.ticks, end.known))))


def _halved(asked: Asked, limit: Limit, layout: Layout, ends: tuple[Place, tuple[int, bool]]) -> Boundary:
    return boundary(lambda steps: asked.at(limit, layout, steps), limit.own, *ends)


def _moved(layout: Layout, found: Boundary) -> Moved:
    return Moved(found.good.steps, layout, found.good, found.known, found.bad)


def _settled(asked: Asked, limit: Limit, best: Moved | None, end: int) -> Moved | None:
    """Ask every layout at the tick without a design, and go on from any that has one there after all."""
    while best is not None and best.bad is not None and best.bad != end:
        known = True
        for layout in asked.layouts:
            answer = asked.at(limit, layout, best.bad)
            if answer.candidate is not None:
                bad = (end, True)
                best = _moved(layout, _halved(asked, limit, layout, (Place(best.bad, answer.candidate), bad)))
                break
            known = known and answer.known
        else:
            return best._replace(known=known)
    return best
