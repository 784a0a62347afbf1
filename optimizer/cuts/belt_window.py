"""Which other belts fit a stage, and every name that the chosen one may have in a shop."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import pi
from typing import Literal

from optimizer.catalogue.entry import Section
from optimizer.catalogue.lengths import StockBelt, number_datum_length_mm, series_of, stock_lengths
from optimizer.checks.belts import contact_checks
from optimizer.checks.stated import Pair, length_at_mm
from optimizer.checks.travel import budget, centres_of, fit_mm
from optimizer.checks.verdict import Check
from optimizer.pipeline.job import Job, machine_of
from optimizer.scenario.base import Model

__all__ = ["BeltWindow", "SeriesNumber", "StockInside", "belt_window", "inside_length_mm", "outside_length_mm"]

TO_MM = 0.01
"""How near the ends of a window are found."""
STRIDES = 8
"""Parts of the way to a limit that are looked at before an interval is halved."""
SAME_MM = 0.01
"""Lengths that differ by less are one belt."""
EDGE_MM = 1e-9
"""Rounding that does not make a belt too long."""


class SeriesNumber(Model):
    """The chosen belt's length as a series counts it, kept in stock or not."""

    series: Literal["metric", "inch"]
    number: float
    """Number that the series would give it: millimetres or inches on the line that the series counts on."""
    marking: str
    """What is printed on the belt, where the series has one of this length."""


class StockInside(Model):
    """A belt that shops keep and that fits."""

    marking: str
    series: Literal["metric", "inch"]
    datum_length_mm: float
    tolerance_mm: float
    """How far its length may differ either way, as it was judged here."""
    chosen: bool
    """Whether it has the length of the chosen belt."""


class BeltWindow(Model):
    """The lengths with which every position of a stage still fits, the chosen belt under all its names."""

    key: str
    """Place in the scenario, such as `stage[0]`."""
    section: str
    marking: str
    """What a shop calls the chosen belt."""
    datum_length_mm: float
    inside_mm: float
    """Its length along its bottom."""
    outside_mm: float
    """Its length along its top."""
    numbers: tuple[SeriesNumber, ...]
    shortest_mm: float | None
    """Shortest datum length that fits; nothing where not even the chosen belt does."""
    longest_mm: float | None
    """Longest datum length that fits."""
    tolerance_mm: float
    """Tolerance of length that the window was worked out with."""
    stock: tuple[StockInside, ...]
    """Belts that shops keep and that fit, short ones first."""


@dataclass(frozen=True)
class _Fit:
    """Whether lengths fit a stage whose other figures stand."""

    pair: Pair

    def of(self, length_mm: float, tolerance_mm: float) -> bool:
        """Tell whether a belt of a datum length lets every position keep its rules."""
        own = self.pair.stage.budget.filled(tolerance_mm=tolerance_mm)
        belt = self.pair.stage.belt.model_copy(update={"lengths": (length_mm,)})  # its tolerance is given here
        stage = self.pair.stage.model_copy(update={"budget": own, "belt": belt})
        built = self.pair.built.model_copy(update={"datum_length_mm": length_mm})
        pair = replace(self.pair, stage=stage, built=built)
        return pair.fits and _within(pair) and _in_contact(pair)

    def end(self, known_mm: float, limit_mm: float, tolerance_mm: float) -> float:
        """Return the last length that fits on the way from one that does to a limit, to a hundredth of a millimetre."""
        good, bad = known_mm, limit_mm
        for part in range(1, STRIDES + 1):
            tried = known_mm + (limit_mm - known_mm) * part / STRIDES
            if not self.of(tried, tolerance_mm):
                bad = tried
                break
            good = tried
        while abs(bad - good) > TO_MM:
            middle = (good + bad) / 2
            if self.of(middle, tolerance_mm):
                good = middle
            else:
                bad = middle
        return good


def belt_window(job: Job, stage: int) -> BeltWindow:
    """Return the lengths of belt that fit a stage of a design, and the chosen belt's names.

    A length fits when every position's own centre distance lies within the stated centres, their spread and the budget
    of that length lie within the travel, rims, hubs and shafts of the stage keep apart, and every wrap keeps its limit.
    Obstacles, and what else a moved shaft may touch, are not looked at. The budget's tolerance is that of the chosen
    belt; a stock belt is judged with its own, unless the maker lists the lengths.

    Parameters
    ----------
    job
        The design with its scenario.
    stage
        Which belt stage, counted from 0 at the motor.

    Raises
    ------
    IndexError
        The machine has no such belt stage.
    """
    return job.once(f"belt window {stage}", lambda: _window(machine_of(job).pairs[stage]))


def _window(pair: Pair) -> BeltWindow:
    section, length = pair.section, pair.built.datum_length_mm
    fit, tolerance = _Fit(pair), _tolerance_mm(pair)
    ends: list[float] | list[None] = [None, None]
    if fit.of(length, tolerance):
        ends = [fit.end(length, limit, tolerance) for limit in _limits_mm(pair, length)]
    return BeltWindow(
        key=pair.key,
        section=section.name,
        marking=pair.built.marking,
        datum_length_mm=length,
        inside_mm=inside_length_mm(section, length),
        outside_mm=outside_length_mm(section, length),
        numbers=tuple(_numbers(section, length)),
        shortest_mm=ends[0],
        longest_mm=ends[1],
        tolerance_mm=tolerance,
        stock=tuple(_stock(pair, fit.of, tolerance)),
    )


def inside_length_mm(section: Section, datum_length_mm: float) -> float:
    """Return a belt's length along its bottom, ``L_datum − 2π(height − depth of the datum line)`` [mm].

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> round(inside_length_mm(section("A"), 1180.0), 2)
    1150.47
    """
    return datum_length_mm - 2 * pi * (section.height_mm - section.datum_depth_mm)


def outside_length_mm(section: Section, datum_length_mm: float) -> float:
    """Return a belt's length along its top, ``L_datum + 2π·depth of the datum line`` [mm].

    Examples
    --------
    Light-duty numbers are the outside length in tenths of an inch (read): 4L460 is 46.0 in.

    >>> from optimizer.catalogue.sections import section
    >>> round(outside_length_mm(section("4L"), 1147.67) / 25.4, 2)
    46.0
    """
    return datum_length_mm + 2 * pi * section.datum_depth_mm


def _within(pair: Pair) -> bool:
    """Tell whether centre distances keep the stated limits, and the travel suffices."""
    low, high = pair.stage.centres_mm
    forgiven = fit_mm(pair)
    if low == high:
        low, high = low - forgiven / 2, high + forgiven / 2
    nearest, farthest = min(pair.centres_mm), max(pair.centres_mm)
    if nearest < low - EDGE_MM or farthest > high + EDGE_MM:
        return False
    spent = sum(line.amount_mm for line in budget(pair))
    return farthest - nearest + spent <= pair.stage.travel_mm + forgiven + EDGE_MM


def _in_contact(pair: Pair) -> bool:
    """Tell whether rims, hubs and shafts keep apart and the belt lies round enough of every pulley."""
    rims = [(a + b) / 2 for a, b in zip(pair.driver.outside_mm, pair.driven.outside_mm, strict=True)]
    if pair.stage.moves and centres_of(pair).belt_on < max(rims):
        return False
    checks = (check for check in contact_checks(pair) if isinstance(check, Check) and check.kind != "advice")
    return all(check.passed for check in checks)


def _limits_mm(pair: Pair, chosen_mm: float) -> tuple[float, float]:
    """Return datum lengths beyond which no belt fits: at the stated centres' ends on the pulleys that need least, most.

    The chosen length itself where it lies beyond them.
    """
    shift = pair.length_mm - chosen_mm
    sizes = list(zip(pair.driver.pitch_mm, pair.driven.pitch_mm, strict=True))
    low, high = pair.stage.centres_mm
    forgiven = fit_mm(pair)
    ends = (
        [length_at_mm(*size, centre, pair.crossed) - shift for size in sizes]
        for centre in (low - forgiven, high + forgiven)
    )
    shortest, longest = ends
    return min(*shortest, chosen_mm), max(*longest, chosen_mm)


def _tolerance_mm(pair: Pair) -> float:
    """Return the tolerance of length that the chosen belt is judged with [mm]."""
    lines = budget(pair)
    return lines[0].amount_mm if lines else 0.0


def _stock(pair: Pair, fits: Callable[[float, float], bool], tolerance_mm: float) -> Iterator[StockInside]:
    """Yield the belts that shops keep and that fit."""
    stage = pair.stage
    held = stage.budget.tolerance_mm is not None or not isinstance(stage.belt.lengths, str)
    found: list[StockBelt] = [
        belt for series in series_of(pair.section) for belt in stock_lengths(pair.section, series)
    ]
    for belt in sorted(found, key=lambda belt: (belt.datum_length_mm, belt.marking)):
        judged = tolerance_mm if held else belt.tolerance_mm
        if fits(belt.datum_length_mm, judged):
            yield StockInside(
                marking=belt.marking,
                series=belt.series,
                datum_length_mm=belt.datum_length_mm,
                tolerance_mm=judged,
                chosen=abs(belt.datum_length_mm - pair.built.datum_length_mm) < SAME_MM,
            )


def _numbers(section: Section, length_mm: float) -> Iterator[SeriesNumber]:
    """Yield the number that every series of the section would give a datum length."""
    for series in series_of(section):
        first, second = (number_datum_length_mm(section, number, series) for number in (0, 1))
        same = [b.marking for b in stock_lengths(section, series) if abs(b.datum_length_mm - length_mm) < SAME_MM]
        yield SeriesNumber(
            series=series,
            number=round((length_mm - first) / (second - first), 6),
            marking=same[0] if same else "",
        )
