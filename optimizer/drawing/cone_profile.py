"""The outline of a cone as points: its radius over the place along the shaft."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import asin, cos, pi, radians, sin, sqrt, tan

from optimizer.catalogue.sections import section
from optimizer.cuts.cones import CutCone, CutStep
from optimizer.drawing.sheet import Point

__all__ = [
    "cone_profile",
    "crown_mm",
    "groove_profile",
    "kinds_of_groove",
    "profile_between",
    "step_edges",
    "step_profile",
]

CROWNS = ((112.0, 0.3), (140.0, 0.4), (180.0, 0.5), (224.0, 0.6), (280.0, 0.8), (355.0, 1.0))
"""Up to which diameter a rim stands by how much higher in its middle [mm]; ISO 22, from memory."""
CROWN_BEYOND_MM = 1.2
ROUND_PARTS = 48
"""Straight parts of a half-round seat: they leave the circle of an 8 mm belt by 0.002 mm."""
CROWN_PARTS = 16


def crown_mm(outside_mm: float) -> float:
    """Return by how much a crowned rim stands higher in its middle than at its edges, of the radius [mm].

    By diameter, up to 125 mm of width; source: ISO 22, from memory.

    Examples
    --------
    >>> crown_mm(100.0), crown_mm(135.0)
    (0.3, 0.4)
    """
    return next((crown for most, crown in CROWNS if outside_mm <= most), CROWN_BEYOND_MM)


def groove_profile(step: CutStep, section_name: str) -> tuple[Point, ...]:
    """Return the corners of a step's groove from its left edge to its right: place from its middle, depth [mm].

    A V has flanks at half its angle to either side down to its depth, or to where they meet; ribs are V's of the
    depth and angle at the distance of the section's ribs, simplified, as their tips and roots are rounded in truth; a
    half-round seat is part of a circle of half its width. A plain rim has none.

    Examples
    --------
    A groove of 34°, 13 mm wide, 12 mm deep keeps 13 − 2·12·tan 17° at its floor:

    >>> step = CutStep(position=1, outside_mm=100, datum_mm=93.4, pitch_mm=93.4, over_pins_mm=None, pin_mm=None,
    ...     rim="v", groove_deg=34, top_width_mm=13, groove_depth_mm=12, floor_width_mm=5.66, root_mm=76, from_mm=0,
    ...     to_mm=20, middle_mm=10, off_line_mm=0, off_line_most_mm=1, source="turned", blank_mm=104, layers=1,
    ...     mass_kg=None, volume_mm3=None)
    >>> [(round(place, 2), depth) for place, depth in groove_profile(step, "A")]
    [(-6.5, 0.0), (-2.83, 12.0), (2.83, 12.0), (6.5, 0.0)]
    """
    half, depth = step.top_width_mm / 2, step.groove_depth_mm
    if step.rim == "round":
        turns = [pi * part / ROUND_PARTS for part in range(ROUND_PARTS + 1)]
        return tuple((-half * cos(turn), half * sin(turn) if 0 < turn < pi else 0.0) for turn in turns)
    if step.groove_deg is None or not depth:
        return ()
    slope = tan(radians(step.groove_deg) / 2)
    if step.rim != "ribbed":
        return _v(0.0, half, depth, slope)
    belt = section(section_name)
    opening = min(belt.e_mm / 2, depth * slope)
    places = [(rib - (belt.ribs - 1) / 2) * belt.e_mm for rib in range(belt.ribs)]
    return tuple(point for place in places for point in _v(place, opening, depth, slope))


def step_profile(step: CutStep, section_name: str) -> tuple[Point, ...]:
    """Return the outline of a step from its left edge to its right: place along the shaft, radius [mm].

    Examples
    --------
    >>> plain = CutStep(position=2, outside_mm=100, datum_mm=100, pitch_mm=103, over_pins_mm=None, pin_mm=None,
    ...     rim="flat", groove_deg=None, top_width_mm=40, groove_depth_mm=0, floor_width_mm=0, root_mm=100, from_mm=46,
    ...     to_mm=92, middle_mm=69, off_line_mm=0, off_line_most_mm=1, source="turned", blank_mm=104, layers=1,
    ...     mass_kg=None, volume_mm3=None)
    >>> step_profile(plain, "flat 3x40")
    ((46.0, 50.0), (92.0, 50.0))
    """
    rim = step.outside_mm / 2
    if step.rim == "crowned":
        return _crowned(step, rim)
    groove = [(step.middle_mm + place, rim - depth) for place, depth in groove_profile(step, section_name)]
    whole = ((step.from_mm, rim), *groove, (step.to_mm, rim))
    if groove and (groove[0][0] < step.from_mm or groove[-1][0] > step.to_mm):
        return profile_between(tuple(groove), step.from_mm, step.to_mm)
    return whole


def cone_profile(cone: CutCone) -> tuple[Point, ...]:
    """Return the outline of a cone, position 1 first: place from the face beside it, radius [mm].

    Between two steps it goes straight up or down, so that two points share a place.
    """
    return tuple(point for step in cone.steps for point in step_profile(step, cone.section))


def step_edges(step: CutStep, section_name: str) -> tuple[Point, ...]:
    """Return the places where an edge runs around the step, with its radius, as it is seen from the side."""
    groove = groove_profile(step, section_name)
    if step.rim == "round":
        groove = groove[0], groove[-1]
    inner = [(step.middle_mm + place, step.outside_mm / 2 - depth) for place, depth in groove]
    outline = step_profile(step, section_name)
    return outline[0], *(edge for edge in inner if step.from_mm < edge[0] < step.to_mm), outline[-1]


def profile_between(points: Sequence[Point], start_mm: float, end_mm: float) -> tuple[Point, ...]:
    """Return the part of an outline between two places, with points of its own at both.

    Examples
    --------
    >>> profile_between(((0, 10), (10, 10), (10, 20), (20, 20)), 5, 15)
    ((5, 10.0), (10, 10), (10, 20), (15, 20.0))
    """
    inner = [point for point in points if start_mm < point[0] < end_mm]
    return (start_mm, _radius(points, start_mm, after=True)), *inner, (end_mm, _radius(points, end_mm, after=False))


def _radius(points: Sequence[Point], place_mm: float, after: bool) -> float:
    """Return the radius just after or just before a place."""
    pairs = [*pairwise(points)]
    for (x1, r1), (x2, r2) in pairs if after else reversed(pairs):
        if x1 < x2 and (x1 <= place_mm < x2 if after else x1 < place_mm <= x2):
            return r1 + (r2 - r1) * (place_mm - x1) / (x2 - x1)
    return points[0][1] if place_mm <= points[0][0] else points[-1][1]


def _v(place: float, half: float, depth: float, slope: float) -> tuple[Point, ...]:
    """Return the corners of one V around a place."""
    floor = half - depth * slope
    if floor > 1e-9:
        return (place - half, 0.0), (place - floor, depth), (place + floor, depth), (place + half, 0.0)
    return (place - half, 0.0), (place, min(depth, half / slope)), (place + half, 0.0)


def _crowned(step: CutStep, rim: float) -> tuple[Point, ...]:
    """Return a rim that is part of a circle, as high as its stated size in the middle."""
    half, crown = (step.to_mm - step.from_mm) / 2, crown_mm(step.outside_mm)
    radius = (half**2 + crown**2) / (2 * crown)
    most = asin(half / radius)
    turns = [most * (2 * part / CROWN_PARTS - 1) for part in range(CROWN_PARTS + 1)]
    points = [(step.middle_mm + radius * sin(turn), rim - radius + radius * cos(turn)) for turn in turns]
    edge = rim - radius + sqrt(radius**2 - half**2)
    return (step.from_mm, edge), *points[1:-1], (step.to_mm, edge)


def kinds_of_groove(steps: tuple[CutStep, ...]) -> tuple[tuple[CutStep, tuple[int, ...]], ...]:
    """Return a step of every kind of groove, with the positions of all steps that have the same.

    Plain rims have none.
    """
    found: dict[tuple[str, float | None, float, float], tuple[CutStep, list[int]]] = {}
    for step in steps:
        if step.rim not in ("flat", "crowned"):
            key = step.rim, step.groove_deg, round(step.top_width_mm, 6), round(step.groove_depth_mm, 6)
            found.setdefault(key, (step, []))[1].append(step.position)
    return tuple((step, tuple(positions)) for step, positions in found.values())
