"""What a stage leaves to sizes and belts, worked out from the maker's statements alone, in exact millimetres."""

from __future__ import annotations

from fractions import Fraction
from math import radians, tan
from typing import NamedTuple

from tests.independent.stated import Machine, Side, Stage, turn_about
from tests.independent.tables import METAL_RIM_M_S, stock_of

__all__ = [
    "Belt",
    "belts_of",
    "blank_of",
    "inward",
    "lines_of",
    "needed_pitch",
    "rim_speed",
    "turned_outside",
    "window",
]

F = Fraction


class Belt(NamedTuple):
    """A belt that may be taken: datum length, with how far it may differ either way."""

    length: Fraction
    tolerance: Fraction
    sold: bool = True
    """Whether it can be had, or is only in hand."""


SAME_BELT = F("0.5")
"""Belts whose lengths differ by less are one [mm]; this project's own measure."""


def belts_of(stage: Stage, datum_length: Fraction | None = None) -> tuple[Belt, ...]:
    """Return the belts that may be had; of any length, the one asked for where it is a whole step."""
    section = stage.section
    shift = turn_about(section, stage.length_measured)
    if stage.lengths == "any":
        if datum_length is None:
            return ()
        whole = round(datum_length / stage.every) * stage.every
        found = [Belt(whole, F(0))] if abs(whole - datum_length) < F("1e-6") else []
    elif isinstance(stage.lengths, str):
        series = {"stock": None, "metric stock": "metric", "inch stock": "inch"}[stage.lengths]
        found = [Belt(b.length, b.tolerance) for b in stock_of(stage.section_name, series)]
    else:
        found = [Belt(length + shift, (length + shift) * F("0.005")) for length in stage.lengths]
    hair = F("1e-6")
    kept = tuple(
        b
        for b in found
        if b.length >= stage.shortest + shift - hair
        and (stage.longest is None or b.length <= stage.longest + shift + hair)
    )
    # a belt in hand hardly longer or shorter than one that is sold is that one;
    # any other is as true to its length as one of the maker's list
    loose = F(0) if stage.lengths == "any" else F("0.005")
    own = [own for own in stage.hand_lengths if all(abs(own - b.length) >= SAME_BELT for b in kept)]
    return kept + tuple(Belt(length, length * loose, False) for length in own)


def lines_of(stage: Stage, belt: Belt) -> tuple[Fraction, Fraction, Fraction]:
    """Return what travel is used for: length tolerance, stretch, climb; nothing of a locked pair.

    0.025 and 0.009 of the length: GOST 1284.3-96, 3.3.8, read; the belt's height for the climb is judgement.
    """
    if stage.travel == 0:
        return F(0), F(0), F(0)
    usual = belt.tolerance, F("0.025") * belt.length, F("0.009") * belt.length + stage.section.height
    a, b, c = (line if own is None else own for line, own in zip(usual, stage.budget, strict=True))
    return a, b, c


def window(stage: Stage, belt: Belt) -> Fraction:
    """Return how far own centre distances may lie apart: travel less the budget's lines, and the fit.

    The belt forgives at most a thousandth of its length; common practice, no source.
    """
    return stage.travel - sum(lines_of(stage, belt)) + min(stage.fit, belt.length / 1000)


def inward(stage: Stage, belt: Belt) -> Fraction:
    """Return how far inward of its running place a belt goes on: half the tolerance and the climb."""
    tolerance, _, climb = lines_of(stage, belt)
    return tolerance / 2 + climb


def turned_outside(machine: Machine, side: Side, shaft: str) -> tuple[Fraction, Fraction | None] | None:
    """Return the least and greatest outside diameter that may be turned; nothing where none may."""
    if not side.turned:
        return None
    making = machine.making
    rim = side.section.rim_shift(side.groove)
    over_given = rim - side.given_shift
    stated = machine.shafts.get(shaft)
    hub = F(0) if stated is None or stated.hub is None else stated.hub
    least = max(side.least_datum + rim, hub + 2 * making["wall"] + 2 * side.section.depth(side.groove))
    blank = making["largest_blank"]
    tops: list[Fraction] = []
    if side.discs:
        tops += [disc - making["truing"] for disc in side.discs if blank is None or disc <= blank]
    if side.free:
        tops.append(side.free[1] + over_given)
        if not side.discs:
            least = max(least, side.free[0] + over_given)
    most = max(tops, default=None)
    if blank is not None and most is not None:
        most = min(most, blank - making["truing"])
    if side.most_outside is not None and most is not None:
        most = min(most, side.most_outside)
    if most is None or most < least:
        return None
    return least, most


def blank_of(machine: Machine, side: Side, outside: Fraction) -> Fraction | None:
    """Return the disc a turned step is cut from: the least in hand that can be swung, else one made for it.

    Nothing where steps come from discs in hand only, and none is large enough.
    """
    needed = outside + machine.making["truing"]
    most = machine.making["largest_blank"]
    usable = (disc for disc in side.discs if disc >= needed - F("1e-6") and (most is None or disc <= most))
    return min(usable, default=needed if side.free else None)


def rim_speed(machine: Machine, side: Side, source: str) -> Fraction:
    """Return the greatest speed of a step's rim [m/s], by what it is made of."""
    limit: Fraction = machine.making["rim_speed"]
    made_of = side.material if source == "kept" or side.material else "timber" if source == "turned" else "metal"
    if source not in ("turned", "kept") and (side.free or side.blanks or side.hand_discs):
        made_of = "metal"  # beside turned steps, bought ones are taken as metal
    if made_of is None:
        return max(limit, METAL_RIM_M_S)
    return limit if made_of == "timber" else METAL_RIM_M_S


def groove_top(side: Side, datum: Fraction) -> float:
    """Return the width of a groove at the rim [mm], `Wp + 2b·tan(angle/2)` where none is printed."""
    section = side.section
    if side.groove != "v" or section.kind == "flat":
        return float(section.top)
    if section.groove_top is not None:
        return float(section.groove_top)
    angle = [deg for least, deg in section.angles if datum >= least - F("1e-9")][-1]
    return float(section.datum_width) + 2 * float(section.above) * tan(radians(angle / 2))


def needed_pitch(machine: Machine, side: Side, datums: list[Fraction], turned: bool) -> float:
    """Return the least width of a step: groove with a wall on either side, or a bought pulley's rim."""
    if turned:
        return max(groove_top(side, datum) for datum in datums) + 2 * float(machine.making["wall"])
    return float(side.section.top if side.kept else side.section.rim)
