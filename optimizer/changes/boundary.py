"""The tick at which a nested limit begins to give a design, or ceases to."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from optimizer.changes.questions import Answer
from optimizer.records.candidate import Candidate

__all__ = ["Boundary", "Place", "boundary"]


class Place(NamedTuple):
    """A tick at which a design was found."""

    steps: int
    candidate: Candidate


class Boundary(NamedTuple):
    """Neighbouring ticks, one with a design and one without."""

    good: Place
    bad: int
    known: bool
    """Whether it is proved that there is none at the bad one."""


def boundary(
    ask: Callable[[int], Answer],
    own: Callable[[Candidate, int], int],
    good: Place,
    bad: tuple[int, bool],
) -> Boundary:
    """Halve the way between a tick with a design and one without, jumping to what each design really uses.

    Where a design found uses less of the limit than it was given, the halving goes on from what it uses. Sizes are
    listed anew for every value, so that the tick ended on is asked by itself before it is believed.

    Parameters
    ----------
    ask
        Answers whether there is a design at a tick.
    own
        The tick that a design found at a tick really uses.
    good
        A tick with its design.
    bad
        A tick without one, and whether that is proved.

    Examples
    --------
    Designs at 7 ticks and more, those found using what they were given:

    >>> from optimizer.records.candidate import Candidate
    >>> some = Candidate.model_construct()
    >>> ask = lambda steps: Answer(some if steps >= 7 else None)
    >>> found = boundary(ask, lambda _, steps: steps, Place(100, some), (0, True))
    >>> found.good.steps, found.bad
    (7, 6)
    """
    worst, known = bad
    sure = good
    believed = _between(own(good.candidate, good.steps), sure.steps, worst)
    while True:
        while abs(believed - worst) > 1:
            middle = (believed + worst) // 2
            answer = ask(middle)
            if answer.candidate is None:
                worst, known = middle, answer.known
            else:
                sure = Place(middle, answer.candidate)
                believed = _between(own(answer.candidate, middle), middle, worst)
        if believed == sure.steps:
            return Boundary(sure, worst, known)
        answer = ask(believed)
        if answer.candidate is not None:
            return Boundary(Place(believed, answer.candidate), worst, known)
        worst, known = believed, answer.known
        believed = sure.steps


def _between(own: int, good: int, bad: int) -> int:
    """Return a tick used, kept between the one with a design and the neighbour of the one without."""
    return min(max(own, bad + 1), good) if bad < good else max(min(own, bad - 1), good)
