"""The belts of a stage: other lengths that shops keep of the same section."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from optimizer.catalogue.lengths import datum_length_mm, stock_lengths
from optimizer.changes.limit import Limit
from optimizer.changes.line import Line
from optimizer.changes.stages import belt_stages
from optimizer.layouts.budget import SERIES, Reach, stated_belts
from optimizer.records.changes import Value
from optimizer.scenario import Belt, Scenario

__all__ = ["other_lengths_mm", "stocks"]

SAME_MM = 0.05
"""Belts no further apart count as one."""


def stocks(scenario: Scenario) -> Iterator[Limit]:
    """Yield, for every stage, the lengths kept in stock that it does not name, the nearest to a named one first.

    A belt is tried alone: were it one of several, a design would still run on it.
    """
    for key, stage in belt_stages(scenario):
        others = other_lengths_mm(stage.belt)
        if not others:
            continue
        line = Line(0.0, 1.0, 1)
        keys = partial(_lengths, key=f"{key}.belt", belt=stage.belt, others_mm=others)
        yield Limit("belt stock", "mm", line, len(others), keys, lambda _, value: value, nested=False, numbered=False)


def other_lengths_mm(belt: Belt) -> tuple[float, ...]:
    """Return the datum lengths in stock that a stage may not take now, the nearest to one it may first.

    They are those of the series that the stage names, or of the section's usual one.
    """
    if belt.joined or belt.data.default_series is None:
        return ()
    series = SERIES[belt.lengths] if isinstance(belt.lengths, str) else None
    named = [b.datum_length_mm for b in stated_belts(belt, Reach(0.0, 0.0))]
    kept = [b.datum_length_mm for b in stock_lengths(belt.data, series)]
    others = [mm for mm in kept if all(abs(mm - other) > SAME_MM for other in named)]
    return tuple(sorted(others, key=lambda mm: (min((abs(mm - n) for n in named), default=mm), mm)))


def _lengths(number: float, *, key: str, belt: Belt, others_mm: tuple[float, ...]) -> Mapping[str, Value]:
    """Return the keys that name one belt alone, on the line on which lists are measured."""
    length = others_mm[round(number) - 1]
    on_line = round(length - datum_length_mm(belt.data, 0.0, belt.measured), 6)
    keys: dict[str, Value] = {f"{key}.lengths": (on_line,)}
    if belt.longest_mm < on_line:
        keys[f"{key}.longest"] = on_line
    if belt.shortest_mm > on_line:
        keys[f"{key}.shortest"] = on_line
    return keys
