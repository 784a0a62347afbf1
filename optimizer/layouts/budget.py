"""The belts a stage may run on, with what the travel budget leaves for its positions."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil, floor
from typing import Literal, NamedTuple

from optimizer.catalogue.entry import Section
from optimizer.catalogue.lengths import datum_length_mm, stock_lengths
from optimizer.catalogue.lines import pitch_length_mm
from optimizer.geometry.belts import belt_length_mm
from optimizer.records.sheet import BudgetLine
from optimizer.scenario import Belt, BeltInHand, BeltStage

__all__ = [
    "SERIES",
    "Reach",
    "StatedBelt",
    "budget_lines",
    "fit_mm",
    "inward_mm",
    "outward_mm",
    "stated_belts",
    "with_belts_in_hand",
]

EPSILON_MM = 1e-9
SAME_LENGTH_MM = 0.5
"""Belts whose lengths are closer than this are one: it is less than any list's step, more than any rounding of one."""
SERIES: Mapping[str, Literal["metric", "inch"] | None] = {"stock": None, "metric stock": "metric", "inch stock": "inch"}
LISTED_TOLERANCE = 0.005
"""Share of its length by which a belt of the maker's own list may differ either way; common practice, no source."""
FIT_SHARE = 0.001
"""Share of its length that a belt forgives at most."""
STRETCH_SHARE = 0.025
"""Take-up for stretch over life, outward, as a share of the length."""
CLIMB_SHARE = 0.009
"""Slack for fitting a belt, inward, as a share of the length; the belt's height is added for the climb of a step."""


class StatedBelt(NamedTuple):
    """One belt as the shop names it."""

    marking: str
    datum_length_mm: float
    tolerance_mm: float
    """How far its length may differ either way."""
    tolerance_source: str
    in_hand: int = 0
    """How many of them are there already."""
    sold: bool = True
    """Whether more of them can be had."""


class Reach(NamedTuple):
    """The least and greatest pitch length that a stage's sizes and centre distances allow."""

    least_mm: float
    most_mm: float

    @staticmethod
    def of(
        driver: tuple[float, float], driven: tuple[float, float], centres: tuple[float, float], crossed: bool
    ) -> Reach:
        """Return the lengths between the smallest sizes at the least centre distance and the largest at the greatest.

        Both length formulas grow with either diameter and with the centre distance, as long as the shafts' rims
        do not overlap.
        """
        low = max(centres[0], (driver[0] + driven[0]) / 2)
        high = max(centres[1], (driver[1] + driven[1]) / 2)
        return Reach(
            belt_length_mm(driver[0], driven[0], low, crossed=crossed),
            belt_length_mm(driver[1], driven[1], high, crossed=crossed),
        )

    def holds(self, length_mm: float) -> bool:
        """Tell whether a pitch length is within reach."""
        return self.least_mm - EPSILON_MM <= length_mm <= self.most_mm + EPSILON_MM


def stated_belts(belt: Belt, reach: Reach) -> tuple[StatedBelt, ...]:
    """Return the belts the maker may take, short ones first; for any length a fine list within reach."""
    section = belt.data
    if belt.lengths == "any":
        found = _any_length(belt, section, reach)
    elif isinstance(belt.lengths, str):
        series = SERIES[belt.lengths]
        found = tuple(
            StatedBelt(b.marking, b.datum_length_mm, b.tolerance_mm, b.tolerance_source)
            for b in stock_lengths(section, series)
        )
    else:
        found = tuple(_listed(belt, section, length) for length in sorted(set(belt.lengths)))
    low, high = (_datum_mm(belt, section, limit) for limit in (belt.shortest_mm, belt.longest_mm))
    return tuple(b for b in found if low - EPSILON_MM <= b.datum_length_mm <= high + EPSILON_MM)


def with_belts_in_hand(
    belt: Belt, listed: tuple[StatedBelt, ...], in_hand: Mapping[float, tuple[BeltInHand, int]]
) -> tuple[StatedBelt, ...]:
    """Return a list of belts with those in hand marked, or put in their place among them; ascending.

    Parameters
    ----------
    belt
        What is stated of the stage's belt.
    listed
        Belts that can be had.
    in_hand
        Belts in hand by pitch length [mm], with how many there are.
    """
    section = belt.data
    found = list(listed)
    for length_mm, (own, count) in in_hand.items():
        datum_mm = length_mm - pitch_length_mm(section, 0.0)
        same = next((n for n, b in enumerate(found) if abs(b.datum_length_mm - datum_mm) < SAME_LENGTH_MM), None)
        if same is not None:
            found[same] = found[same]._replace(in_hand=found[same].in_hand + count)
            continue
        new = _listed(belt.model_copy(update={"measured": own.measured}), section, own.length_mm)
        if belt.lengths == "any":
            new = new._replace(tolerance_mm=0.0, tolerance_source="made to length")
        found.append(new._replace(in_hand=count, sold=False))
    return tuple(sorted(found, key=lambda b: b.datum_length_mm))


def fit_mm(stage: BeltStage, datum_length_mm: float) -> float:
    """Return what a belt of this length forgives in centre distance."""
    return min(stage.fit_mm, FIT_SHARE * datum_length_mm)


def budget_lines(stage: BeltStage, belt: StatedBelt) -> tuple[BudgetLine, ...]:
    """Return what travel is used for besides the spread of the positions' own centre distances.

    A locked pair has no travel: its belt is sized on the spot, and slackened as the maker says.
    """
    if stage.travel_mm == 0:
        return ()
    stated = stage.budget
    length = belt.datum_length_mm
    tolerance = BudgetLine(name="belt length tolerance", amount_mm=belt.tolerance_mm, source=belt.tolerance_source)
    stretch = BudgetLine(
        name="stretch over life",
        amount_mm=STRETCH_SHARE * length,
        source="GOST 1284.3-96, 3.3.8, read: 0.025 of the length",
    )
    climb = BudgetLine(
        name="fitting or climbing one step",
        amount_mm=CLIMB_SHARE * length + stage.belt.data.height_mm,
        source="GOST 1284.3-96, 3.3.8, read: 0.009 of the length; with the belt's height for the climb, judgement",
    )
    pairs = ((tolerance, stated.tolerance_mm), (stretch, stated.stretch_mm), (climb, stated.climb_mm))
    return tuple(
        line if given is None else BudgetLine(name=line.name, amount_mm=given, source="stated by the maker")
        for line, given in pairs
    )


def inward_mm(lines: tuple[BudgetLine, ...]) -> float:
    """Return how far inward of its running place the mount goes to fit a belt: half the tolerance, and the climb."""
    return lines[0].amount_mm / 2 + lines[2].amount_mm if lines else 0.0


def outward_mm(lines: tuple[BudgetLine, ...]) -> float:
    """Return how far outward of its running place a belt at the end of its life needs the mount."""
    return lines[0].amount_mm / 2 + lines[1].amount_mm if lines else 0.0


def _listed(belt: Belt, section: Section, length_mm: float) -> StatedBelt:
    length = _datum_mm(belt, section, length_mm)
    said = "" if belt.measured == "datum" else f" {belt.measured}"
    return StatedBelt(
        f"{section.name} {length_mm:g} mm{said}",
        length,
        LISTED_TOLERANCE * length,
        "half of one in a hundred of the length, common practice, no source",
    )


def _any_length(belt: Belt, section: Section, reach: Reach) -> tuple[StatedBelt, ...]:
    """Return a list of lengths, whole steps apart, that covers the reach."""
    shift = pitch_length_mm(section, 0.0)
    first, last = ceil((reach.least_mm - shift) / belt.every_mm), floor((reach.most_mm - shift) / belt.every_mm)
    return tuple(
        StatedBelt(
            f"{section.name} {'link belt' if belt.link else 'joined'}, {length:g} mm", length, 0.0, "made to length"
        )
        for length in (round(k * belt.every_mm, 6) for k in range(max(first, 1), last + 1))
    )


def _datum_mm(belt: Belt, section: Section, length_mm: float) -> float:
    return datum_length_mm(section, length_mm, belt.measured)
