"""Sizes on a drawing: dimension lines with arrow heads and the figure beside them, never on a line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import cos, degrees, radians, sin
from typing import NamedTuple

from optimizer.drawing.lettering import Hand, text_width_mm, wrapped
from optimizer.drawing.marks import arrow_head
from optimizer.drawing.sheet import Arc, Entity, Layer, Line, Point, Text

__all__ = [
    "DIMENSION_LAYERS",
    "SIZE_MM",
    "Diameter",
    "Ordinate",
    "across",
    "angle_between",
    "broken",
    "diameter_stack",
    "ordinates",
    "upright",
]

DIMENSION_LAYERS = (Layer("dimensions", 0.18), Layer("sizes", 0.0))
SIZE_MM = 2.5
"""Height of the capitals and figures."""
LEAD_MM = 3.9
"""Distance of lines of figures."""
ARROW_MM = 2.2
HEAD_MM = ARROW_MM, 0.36
"""Length of an arrow head, and with it half its width."""
FOOT_MM, PAST_MM = 1.0, 1.5
"""What an extension line keeps off the drawing, how far it runs past the dimension line."""
OFF_MM = 1.0
"""What lettering keeps off lines."""
TAIL_MM = 4.5
"""Length of a line outside of its extension lines."""


class Diameter(NamedTuple):
    """A diameter to be stated beside a body of revolution."""

    size_mm: float
    foot_mm: float
    """Where along the axis its extension lines start."""
    label: str


class Ordinate(NamedTuple):
    """A place to be stated, counted from a face."""

    place_mm: float
    foot_mm: float
    """Height at which its extension line starts."""
    label: str


def across(
    ends: tuple[float, float], y: float, feet: tuple[float, float], label: str, *, chained: bool = False
) -> Iterator[Entity]:
    """Yield a level dimension line with its extension lines.

    The figure stands above the line; where it is too wide, what is in brackets stands below; where that is too wide
    too, it stands beyond the right end, or upright between the extension lines of a chain.

    Parameters
    ----------
    ends
        The left and right ends [mm].
    y
        Height of the dimension line [mm].
    feet
        Heights from which the extension lines come [mm].
    label
        The figure.
    chained
        Whether another dimension follows on either side, so that nothing may stand beyond.

    Examples
    --------
    >>> line, *_, text = across((0, 40), 20, (0, 0), "40.00")
    >>> line.start, line.end, text.at[0], text.at[1] > 20
    ((0.0, 20), (40.0, 20), 20.0, True)
    """
    left, right = ends
    room, middle = right - left - 2 * OFF_MM / 3, (left + right) / 2
    lines = broken(label, room)
    beyond = not lines and not chained
    inward = _is_short(right - left)
    tail = max(TAIL_MM * inward, (ARROW_MM + OFF_MM) * beyond)
    yield from _measured(ends, y, feet, tail)
    if lines:
        yield Text("sizes", (middle, y + _base()), lines[0], SIZE_MM, "middle")
        if len(lines) > 1:
            yield Text("sizes", (middle, y - OFF_MM), lines[1], SIZE_MM, "middle", "top")
    elif beyond:
        yield Text("sizes", (right + tail + OFF_MM, y), label, SIZE_MM, "left", "middle")
    else:
        yield Text("sizes", (middle, y + OFF_MM), label, SIZE_MM, "left", "middle", 90.0)


def upright(
    ends: tuple[float, float], x: float, feet: tuple[float, float], lines: Sequence[str], side: int = 1
) -> Iterator[Entity]:
    """Yield an upright dimension line with its extension lines, the figure level beside it.

    Parameters
    ----------
    ends
        The lower and upper end [mm].
    x
        Place of the dimension line [mm].
    feet
        Places from which the extension lines come [mm].
    lines
        The figure, in as many lines as it shall have.
    side
        1 for lettering right of the line, -1 for left.
    """
    low, high = ends
    inward = _is_short(high - low)
    tall = LEAD_MM * (len(lines) - 1) + 1.33 * SIZE_MM
    fits = tall <= high - low - OFF_MM
    top = high + max(TAIL_MM * inward, (tall + 2 * OFF_MM + PAST_MM) * (not fits))
    yield from _measured(ends, x, feet, top - high, upright=True)
    middle = (low + high) / 2 if fits else top - tall / 2
    hand = Hand("sizes", SIZE_MM, LEAD_MM)
    yield from hand.about((x + side * OFF_MM, middle), lines, "left" if side > 0 else "right")


def diameter_stack(diameters: Sequence[Diameter], start_mm: float, way: int) -> Iterator[Entity]:
    """Yield upright dimension lines about the axis y = 0, the smallest next to the body, so that none cross.

    Figures run along their lines, on the side of the body, in as many lines as the diameter has room for; those of
    diameters that are too small for it stand level.

    Parameters
    ----------
    diameters
        What is stated; the same diameter with the same label is stated once.
    start_mm
        Place of the body's end [mm].
    way
        1 to go on to the right of it, -1 to the left.

    Examples
    --------
    >>> stack = [*diameter_stack([Diameter(80, 0, "big"), Diameter(60, 0, "small")], 0, -1)]
    >>> [line.start[0] for line in stack if isinstance(line, Line) and line.start[0] == line.end[0]]
    [-7.825, -14.65]
    """
    x = start_mm + way * OFF_MM
    for one in _nearest_feet(diameters, way):
        room = one.size_mm - 2 * (OFF_MM + 1)
        lines = wrapped(one.label, room, SIZE_MM)
        level = max(text_width_mm(word, SIZE_MM) for word in one.label.split()) > room
        deep = text_width_mm(one.label, SIZE_MM) if level else LEAD_MM * (len(lines) - 1) + 1.33 * SIZE_MM
        line_x = x + way * (PAST_MM + OFF_MM + deep + OFF_MM)
        half = one.size_mm / 2
        yield from _measured((-half, half), line_x, (one.foot_mm, one.foot_mm), upright=True)
        if level:
            yield Text(
                "sizes", (line_x - way * OFF_MM, 0.0), one.label, SIZE_MM, "left" if way < 0 else "right", "middle"
            )
        else:
            yield from _turned(lines, (line_x, x), way)
        x = line_x


def ordinates(places: Sequence[Ordinate], y: float) -> Iterator[Entity]:
    """Yield an extension line for every place, up to a height, with its figure upright above it.

    Figures that would lie on each other are set apart, and their lines bent towards them.
    """
    least = 1.33 * SIZE_MM + OFF_MM / 2
    spots = _apart([place.place_mm for place in places], least)
    for place, spot in zip(places, spots, strict=True):
        start = (place.place_mm, place.foot_mm + FOOT_MM)
        yield Line("dimensions", start, (place.place_mm, y - 3.0))
        yield Line("dimensions", (place.place_mm, y - 3.0), (spot, y))
        shift = 0.165 * SIZE_MM
        yield Text("sizes", (spot - shift, y + OFF_MM), place.label, SIZE_MM, "left", "middle", 90.0)


def angle_between(apex: Point, radius_mm: float, opening_deg: float, label: str) -> Iterator[Entity]:
    """Yield the arc between two flanks that open upwards about an apex, the figure above its middle.

    Examples
    --------
    >>> arc, *_ = angle_between((0, 0), 20, 40, "40°")
    >>> arc.start_deg, arc.end_deg
    (70.0, 110.0)
    """
    half = opening_deg / 2
    yield Arc("dimensions", apex, radius_mm, 90 - half, 90 + half)
    for turn, way in ((90 - half, -1), (90 + half, 1)):
        # the head lies along the chord of its own length, so that it stays on the arc
        lean = degrees(ARROW_MM / radius_mm) / 2
        tip = apex[0] + radius_mm * cos(radians(turn)), apex[1] + radius_mm * sin(radians(turn))
        yield arrow_head("dimensions", tip, turn + way * (90 - lean), HEAD_MM)
    yield Text("sizes", (apex[0], apex[1] + radius_mm + _base()), label, SIZE_MM, "middle")


def _base() -> float:
    """Return how far above a line the base line of lettering stands, descenders kept off the line."""
    return OFF_MM + 0.34 * SIZE_MM


def broken(label: str, room_mm: float) -> list[str]:
    """Return a figure in one line, in two with its brackets in the second, or in none where neither has room.

    Examples
    --------
    >>> broken('1 1/2" (1.508)', 40), broken('1 1/2" (1.508)', 20), broken('1 1/2" (1.508)', 10)
    (['1 1/2" (1.508)'], ['1 1/2"', '(1.508)'], [])
    """
    head, bracket, tail = label.partition(" (")
    for lines in ([label], [head, f"({tail}"] if bracket else []):
        if lines and max(text_width_mm(line, SIZE_MM) for line in lines) <= room_mm:
            return lines
    return []


def _nearest_feet(diameters: Sequence[Diameter], way: int) -> list[Diameter]:
    """Return the diameters in order of size, each label and size once, from the foot nearest to its line."""
    found: dict[tuple[float, str], Diameter] = {}
    for one in diameters:
        key = round(one.size_mm, 6), one.label
        if key not in found or way * one.foot_mm > way * found[key].foot_mm:
            found[key] = one
    return [found[key] for key in sorted(found)]


def _turned(lines: Sequence[str], between: tuple[float, float], way: int) -> Iterator[Entity]:
    """Yield lines of figures read from the right, between an upright line and the one nearer to the body."""
    line_x, inner_x = between
    left = min(line_x, inner_x)
    first = left + OFF_MM + SIZE_MM + (PAST_MM if way > 0 else 0.0)
    for number, line in enumerate(lines):
        yield Text("sizes", (first + LEAD_MM * number, 0.0), line, SIZE_MM, "middle", "base", 90.0)


def _apart(places: Sequence[float], least: float) -> list[float]:
    """Return the places, in order, moved so far that neighbours are at least so far from each other.

    Groups that touch are spread evenly about their middle.

    Examples
    --------
    >>> _apart([0, 1, 10], 4)
    [-1.5, 2.5, 10.0]
    """
    groups: list[tuple[list[float], float]] = []
    for place in places:
        members, first = [place], float(place)
        while groups and first - (groups[-1][1] + least * (len(groups[-1][0]) - 1)) < least - 1e-9:
            members = groups.pop()[0] + members
            first = sum(members) / len(members) - least * (len(members) - 1) / 2
        groups.append((members, first))
    return [first + least * number for members, first in groups for number in range(len(members))]


def _measured(
    ends: tuple[float, float], at: float, feet: tuple[float, float], beyond_mm: float = 0.0, *, upright: bool = False
) -> Iterator[Entity]:
    """Yield a level or upright line with its heads and extension lines; heads from outside where it is too short.

    It runs on beyond its second end by so much at least.
    """

    def place(along: float, off: float) -> Point:
        return (off, along) if upright else (along, off)

    low, high = ends
    inward = _is_short(high - low)
    tail = TAIL_MM * inward
    yield Line("dimensions", place(low - tail, at), place(high + max(tail, beyond_mm), at))
    for end, outward in ((low, 180), (high, 0)):
        turn = 90 * upright + (180 - outward if inward else outward)
        yield arrow_head("dimensions", place(end, at), turn, HEAD_MM)
    for end, foot in zip(ends, feet, strict=True):
        yield from _extension(place(end, foot), place(end, at))


def _is_short(size_mm: float) -> bool:
    """Tell whether two heads have no room between the ends of a line."""
    return size_mm < 2 * ARROW_MM + 1


def _extension(foot: Point, end: Point) -> Iterator[Entity]:
    """Yield the line from a place of the drawing past a dimension line."""
    dx, dy = end[0] - foot[0], end[1] - foot[1]
    length = (dx**2 + dy**2) ** 0.5
    if length <= FOOT_MM:
        return
    ux, uy = dx / length, dy / length
    start = foot[0] + FOOT_MM * ux, foot[1] + FOOT_MM * uy
    yield Line("dimensions", start, (end[0] + PAST_MM * ux, end[1] + PAST_MM * uy))
