"""Two limits let out together by the least common number of units."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from optimizer.changes.keys import changed
from optimizer.changes.least import Asked
from optimizer.changes.limit import Limit
from optimizer.changes.questions import Answer, exists
from optimizer.changes.scan import covering
from optimizer.errors import NoDesignError
from optimizer.layouts.problem import problem_for
from optimizer.layouts.targets import targets_of
from optimizer.records.candidate import Candidate
from optimizer.records.changes import Value
from optimizer.records.layout import Layout
from optimizer.scenario import Scenario

__all__ = ["MOST_UNITS", "Pair", "pair_values", "together"]

MOST_UNITS = 10
"""Units by which two limits are let out at most."""


class Pair(NamedTuple):
    """Two limits with the units by which both are let out."""

    limits: tuple[Limit, Limit]
    units: int
    layout: Layout
    candidate: Candidate
    known: bool
    """Whether it is proved that a unit less does for no pair."""


def together(asked: Asked, limits: Sequence[Limit]) -> tuple[Pair | None, bool]:
    """Return the first pair that does with the least common number of units, and whether none is proved otherwise.

    Many pairs are ruled out by one question: a problem with every limit of a group let out, and targets wide enough
    for each of its edges moved by any number of units up to the one asked of, has a design where any pair has.
    """
    movable = [limit for limit in limits if limit.unit_ticks]
    first, known = _first_units(asked, movable)
    for units in range(first, MOST_UNITS + 1):
        if asked.questions.over:
            return None, False
        for pair in _candidates(asked, movable, units):
            answer, layout = _of_pair(asked, pair, units)
            if answer.candidate is not None and layout is not None:
                return Pair(pair, units, layout, answer.candidate, known), True
            known = known and answer.known
    return None, known


def _first_units(asked: Asked, movable: Sequence[Limit]) -> tuple[int, bool]:
    """Return the least number of units at which all limits together are not proved to do nothing."""
    low, high = 0, MOST_UNITS + 1
    while high - low > 1:
        middle = (low + high) // 2
        if _ruled_out(asked, movable, middle):
            low = middle
        else:
            high = middle
    return high, True


def _candidates(asked: Asked, movable: Sequence[Limit], units: int) -> Iterator[tuple[Limit, Limit]]:
    """Yield the pairs that no group of limits rules out."""
    must = [limit for limit in movable if _ruled_out(asked, [other for other in movable if other is not limit], units)]
    if len(must) > 2:
        return
    for number, one in enumerate(movable):
        others = movable[number + 1 :]
        if len([limit for limit in must if limit is not one]) > 1:
            continue
        yield from ((one, other) for other in _partners(asked, one, others, units) if _holds(must, (one, other)))


def _holds(must: Sequence[Limit], pair: tuple[Limit, Limit]) -> bool:
    return all(any(limit is member for member in pair) for limit in must)


def _partners(asked: Asked, one: Limit, others: Sequence[Limit], units: int) -> Iterator[Limit]:
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


def _ruled_out(asked: Asked, group: Sequence[Limit], units: int) -> bool:
    """Tell whether it is proved that no limits of a group do, let out by up to so many units each."""
    if asked.questions.over:
        return False
    values: dict[str, Value] = {}
    for limit in group:
        if limit.nested:
            values.update(limit.values(limit.ticks_of(units)))
    loose = changed(asked.scenario, values)
    scenarios = [loose, *(_edge_moved(loose, limit, units) for limit in group if not limit.nested)]
    targets = covering([targets_of(scenario) for scenario in scenarios])
    for layout in asked.layouts:
        try:
            problem = problem_for(loose, layout)
        except NoDesignError:
            continue
        if not asked.questions.rule_out(problem.model_copy(update={"targets": targets})):
            return False
    return True


def _edge_moved(scenario: Scenario, limit: Limit, units: int) -> Scenario:
    return limit.moved(scenario, limit.ticks_of(units))


def pair_values(pair: tuple[Limit, Limit], units: int) -> Mapping[str, Value]:
    """Return the keys of two limits let out by so many units each."""
    return {key: value for limit in pair for key, value in limit.values(limit.ticks_of(units)).items()}


def _of_pair(asked: Asked, pair: tuple[Limit, Limit], units: int) -> tuple[Answer, Layout | None]:
    one, other = (limit.values(limit.ticks_of(units)) for limit in pair)
    if one.keys() & other.keys():
        return Answer(None), None  # the same edge moved both ways
    scenario = changed(asked.scenario, {**one, **other})
    if any(band.from_rpm >= band.to_rpm for band in scenario.bands):
        return Answer(None), None
    known = True
    for layout in asked.layouts:
        answer = exists(scenario, [layout], asked.questions)
        if answer.candidate is not None:
            return answer, layout
        known = known and answer.known
    return Answer(None, known), None
