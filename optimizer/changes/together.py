"""Two limits let out together by the least common number of units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from optimizer.changes.limit import StatedLimit, changed
from optimizer.changes.moving import covering
from optimizer.changes.questions import Inquiry
from optimizer.errors import NoDesignError
from optimizer.layouts.free import any_problem
from optimizer.layouts.problem import targets_of
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Value
from optimizer.records.layout import Layout
from optimizer.records.middle import MiddleCandidate

__all__ = ["MOST_UNITS", "LimitPair", "PairSought", "pair_values", "together"]

MOST_UNITS = 10
"""Units by which two limits are let out at most."""


class LimitPair(NamedTuple):
    """Two limits with the units by which both are let out."""

    limits: tuple[StatedLimit, StatedLimit]
    units: int
    layout: Layout
    candidate: Candidate | MiddleCandidate
    known: bool
    """Whether it is proved that a unit less does for no pair."""


class PairSought(NamedTuple):
    """What came of looking for a pair."""

    pair: LimitPair | None
    known: bool
    """Where none was found, whether it is proved that there is none."""


def together(asked: Inquiry, limits: Sequence[StatedLimit]) -> PairSought:
    """Return the first pair that does with the least common number of units.

    Many pairs are ruled out by one question: a problem with every limit of a group let out, and targets wide enough
    for each of its edges moved by any number of units up to the one asked of, has a design where any pair has.
    """
    movable = [limit for limit in limits if limit.unit_ticks]
    first, known = _first_units(asked, movable), True
    for units in range(first, MOST_UNITS + 1):
        if asked.questions.over:
            return PairSought(None, False)
        for pair in _candidates(asked, movable, units):
            found = _of_pair(asked, pair, units, known)
            if isinstance(found, LimitPair):
                return PairSought(found, True)
            known = known and found
    return PairSought(None, known)


def _first_units(asked: Inquiry, movable: Sequence[StatedLimit]) -> int:
    """Return the least number of units at which all limits together are not proved to do nothing."""
    low, high = 0, MOST_UNITS + 1
    while high - low > 1:
        middle = (low + high) // 2
        if _ruled_out(asked, movable, middle):
            low = middle
        else:
            high = middle
    return high


def _candidates(
    asked: Inquiry, movable: Sequence[StatedLimit], units: int
) -> Iterator[tuple[StatedLimit, StatedLimit]]:
    """Yield the pairs that no group of limits rules out."""
    must = [limit for limit in movable if _ruled_out(asked, [other for other in movable if other is not limit], units)]
    if len(must) > 2:
        return
    for number, one in enumerate(movable):
        others = movable[number + 1 :]
        if len([limit for limit in must if limit is not one]) > 1:
            continue
        yield from ((one, other) for other in _partners(asked, one, others, units) if _holds(must, (one, other)))


def _holds(must: Sequence[StatedLimit], pair: tuple[StatedLimit, StatedLimit]) -> bool:
    return all(any(limit is member for member in pair) for limit in must)


def _partners(asked: Inquiry, one: StatedLimit, others: Sequence[StatedLimit], units: int) -> Iterator[StatedLimit]:
    """Yield the limits that might do together with one, by halving the group of them."""
    if not others:
        return
    if len(others) == 1:
        yield others[0]
        return
    if _ruled_out(asked, [one, *others], units):
        return
    middle = len(others) // 2
    yield from _partners(asked, one, others[:middle], units)
    yield from _partners(asked, one, others[middle:], units)


def _ruled_out(asked: Inquiry, group: Sequence[StatedLimit], units: int) -> bool:
    """Tell whether it is proved that no limits of a group do, let out by up to so many units each."""
    if asked.questions.over:
        return False
    values: dict[str, Value] = {}
    for limit in group:
        if limit.nested:
            values.update(limit.values(limit.ticks_of(units)))
    loose = changed(asked.scenario, values)
    scenarios = [loose, *(limit.moved(loose, limit.ticks_of(units)) for limit in group if not limit.nested)]
    targets = covering([targets_of(scenario) for scenario in scenarios])
    for layout in asked.layouts:
        try:
            problem = any_problem(loose, layout)
        except NoDesignError:
            continue
        if not asked.questions.rule_out(problem.model_copy(update={"targets": targets})):
            return False
    return True


def pair_values(pair: tuple[StatedLimit, StatedLimit], units: int) -> Mapping[str, Value]:
    """Return the keys of two limits let out by so many units each."""
    return {key: value for limit in pair for key, value in limit.values(limit.ticks_of(units)).items()}


def _of_pair(asked: Inquiry, limits: tuple[StatedLimit, StatedLimit], units: int, known: bool) -> LimitPair | bool:
    """Return the pair with its design in the first layout that has one; else whether it is proved that none has."""
    one, other = (limit.values(limit.ticks_of(units)) for limit in limits)
    scenario = changed(asked.scenario, {**one, **other})
    if one.keys() & other.keys() or any(band.from_rpm >= band.to_rpm for band in scenario.bands):
        return True  # the same edge moved both ways, or edges that pass each other
    certain = True
    for layout in asked.layouts:
        answer = asked.questions.ask(scenario, layout)
        if answer.candidate is not None:
            return LimitPair(limits, units, layout, answer.candidate, known)
        certain = certain and answer.known
    return certain
