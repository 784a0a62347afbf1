"""How the shafts of a machine stand and move, as far as it was answered."""

from __future__ import annotations

from math import ceil

from optimizer.asking.answer import Answers
from optimizer.asking.reach import FEW, cone_of
from optimizer.catalogue.lengths import series_of, stock_lengths
from optimizer.catalogue.lines import shifts
from optimizer.catalogue.sections import section
from optimizer.layouts.budget import CLIMB_SHARE, STRETCH_SHARE

__all__ = [
    "BOTH",
    "COUNTERSHAFT",
    "ONE",
    "has_countershaft",
    "locked",
    "moved",
    "positions_of",
    "span_mm",
    "travel_mm",
    "variants",
]

ONE, COUNTERSHAFT, BOTH = "one stage", "countershaft", "both"
OPENING = 0.75
"""Least centre distance as a share of the largest and smallest diameter; GOST 1284.3-96, eq. 7, read: 0.7."""
ROOM_MM = 100.0
"""How far apart least and greatest centre distance are suggested, so that some belts of a series fall between."""
SPREAD_MM = 18.0
"""Travel that is left for the positions' own centre distances; judgement."""
MOST_POSITIONS = 6


def variants(answers: Answers) -> tuple[bool, ...]:
    """Return whether each machine that is to be written has a countershaft."""
    return {ONE: (False,), COUNTERSHAFT: (True,)}.get(answers.word("shafts"), (False, True))


def has_countershaft(answers: Answers) -> bool:
    """Tell whether a machine with a countershaft is to be written."""
    return True in variants(answers)


def moved(answers: Answers, *, countershaft: bool) -> tuple[bool, ...]:
    """Return of every belt, from the motor on, whether a mount changes its centre distance."""
    motor = answers.word("motor_mount") not in ("", "fixed")
    spindle = answers.word("spindle_mount") not in ("", "fixed")
    if not countershaft:
        return (motor or spindle,)
    middle = answers.word("countershaft_mount") not in ("", "fixed")
    rides = answers.flag("motor_rides")
    return (motor or (middle and not rides), middle or spindle)


def locked(answers: Answers) -> bool:
    """Tell whether a belt of some machine to be written is slackened by no mount."""
    return any(not moves for middle in variants(answers) for moves in moved(answers, countershaft=middle))


def positions_of(answers: Answers, *, countershaft: bool) -> tuple[tuple[int, ...], ...]:
    """Return the numbers of positions that each belt may have, for as many speeds as are wanted.

    A motor that can be switched makes several speeds of every position. With a countershaft, one or two positions
    before it up to four speeds at one setting, as many as it takes from five on.
    """
    count = ceil((answers.count("speeds") or 4) / (1 + len(answers.reals("motor_slower"))))
    if not countershaft:
        return (tuple(range(min(count, FEW), min(count + 1, FEW) + 1)),)
    first = (1, 2) if count <= 4 else (max(2, ceil(count / MOST_POSITIONS)),)
    second = sorted({min(MOST_POSITIONS, ceil(count / number)) for number in first})
    return (first, tuple(second))


def span_mm(answers: Answers) -> tuple[float, float]:
    """Return the least and the greatest centre distance that suit the cones, or the belts that were listed [mm]."""
    belt, cone = section(answers.word("section") or "A"), cone_of(answers)
    rims = cone.most_mm + cone.least_mm + 2 * shifts(belt).outside_less_datum
    lengths = answers.reals("belt_lengths")
    if not lengths:
        return OPENING * rims, OPENING * rims + ROOM_MM
    around = 1.6 * (cone.most_mm + cone.least_mm)
    least = max((min(lengths) - around) / 2 - ROOM_MM / 4, rims / 2 + ROOM_MM / 4)
    return least, max((max(lengths) - around) / 2 + ROOM_MM / 2, least + ROOM_MM / 2)


def travel_mm(answers: Answers, greatest_mm: float) -> float:
    """Return the travel that pays for tolerance, stretch and fitting of the longest belt, and for some spread [mm].

    The belt is taken as `2·C + 1.6·(D + d)` long, C the greatest centre distance.
    """
    belt, cone = section(answers.word("section") or "A"), cone_of(answers)
    length = max(answers.reals("belt_lengths"), default=2 * greatest_mm + 1.6 * (cone.most_mm + cone.least_mm))
    tolerance = 0.0
    if answers.word("belt_lengths") == "stock" and series_of(belt):
        tolerance = max(one.tolerance_mm for one in stock_lengths(belt))
    elif answers.reals("belt_lengths"):
        tolerance = 0.005 * length
    return tolerance + (STRETCH_SHARE + CLIMB_SHARE) * length + belt.height_mm + SPREAD_MM
