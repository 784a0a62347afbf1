"""The grooves of a cone, each kind once, enlarged, with width, depth, angle."""

from __future__ import annotations

from collections.abc import Iterator
from math import radians, tan

from optimizer.catalogue.sections import section
from optimizer.cuts.cones import CutCone, CutStep
from optimizer.drawing.cone_profile import groove_profile
from optimizer.drawing.cone_words import numbers
from optimizer.drawing.dimensions import SIZE_MM, Sizes, across, angle_between, upright
from optimizer.drawing.hatching import hatched
from optimizer.drawing.placing import at_corner, room_of
from optimizer.drawing.sheet import Entity, Point, Polyline, Text

__all__ = ["groove_details", "kinds_of_groove"]

FACTORS = (2, 5, 10, 20, 50)
LEAST_MM = 13.0
"""Least width of a groove on paper."""
LAND_MM, BELOW_MM = 8.0, 7.0
"""What is shown of the rim beside a groove, of the timber below it, on paper."""
GAP_MM = 8.0


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


def groove_details(cone: CutCone, sizes: Sizes, width_mm: float) -> tuple[Entity, ...]:
    """Return the details in rows that stay within a width [mm] where they can, from the origin down."""
    placed: list[Entity] = []
    x = y = bottom = 0.0
    for step, positions in kinds_of_groove(cone.steps):
        group = (*_detail(step, positions, cone.section, sizes),)
        room = room_of(group)
        if x and x + room.right - room.left > width_mm:
            x, y = 0.0, bottom - GAP_MM
        group = at_corner(group, (x, y))
        x, bottom = room_of(group).right + GAP_MM, min(bottom, room_of(group).low)
        placed.extend(group)
    return tuple(placed)


def _detail(step: CutStep, positions: tuple[int, ...], section_name: str, sizes: Sizes) -> Iterator[Entity]:
    """Yield one groove, the middle of its rim at the origin."""
    corners, ribs = _one_groove(step, section_name)
    factor = next((f for f in FACTORS if 2 * corners[-1][0] * f >= LEAST_MM), FACTORS[-1])
    shape = [(place * factor, -depth * factor) for place, depth in corners]
    half, deep = shape[-1][0], -min(y for _, y in shape)
    edge, bottom = half + LAND_MM, -deep - BELOW_MM
    rim: tuple[Point, ...] = ((-edge, 0.0), *shape, (edge, 0.0))
    yield from hatched("hatch", (*rim, (edge, bottom), (-edge, bottom)), 45.0, 2.6)
    yield Polyline("outline", rim)
    yield from across((-half, half), 6.0, (0.0, 0.0), sizes.length(2 * corners[-1][0]))
    flat = [x for x, y in shape if abs(y + deep) < 1e-9]
    depth = sizes.length(deep / factor).replace(" (", "\n(").split("\n")
    yield from upright((-deep, 0.0), edge + 5.0, (max(flat), edge), depth)
    if max(flat) > min(flat):
        label = sizes.length((max(flat) - min(flat)) / factor)
        yield from across((min(flat), max(flat)), bottom - 7.0, (-deep, -deep), label)
    if step.groove_deg is not None and step.rim != "round":
        apex = -half / tan(radians(step.groove_deg) / 2)
        yield from angle_between((0.0, apex), -apex - 0.3 * deep, step.groove_deg, f"{step.groove_deg:g}°")
    steps = f"step{'s' * (len(positions) > 1)} {numbers(positions)}"
    lines = [f"groove of {steps}, scale {factor}:1"]
    if ribs:
        lines = [
            f"one of {ribs} grooves of {steps}, scale {factor}:1",
            f"{sizes.length(section(section_name).e_mm)} apart",
        ]
    if step.rim == "round":
        lines.append(f"half-round, radius {sizes.length(step.top_width_mm / 2)}")
    for number, line in enumerate(reversed(lines)):
        yield Text("words", (-edge, 6.0 + 2 * SIZE_MM + 1.65 * SIZE_MM * (number + 0.2)), line, SIZE_MM)


def _one_groove(step: CutStep, section_name: str) -> tuple[tuple[Point, ...], int]:
    """Return the corners of a groove about its own middle, the number of ribs where it is one of several."""
    corners = groove_profile(step, section_name)
    if step.rim != "ribbed":
        return corners, 0
    ribs = section(section_name).ribs
    first = corners[: len(corners) // ribs]
    middle = (first[0][0] + first[-1][0]) / 2
    return tuple((place - middle, depth) for place, depth in first), ribs
