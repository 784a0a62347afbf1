"""The neutral sheet: a page in millimetres, its layers, plain entities.

The origin is the lower left corner of the page, x to the right, y up. Angles are in degrees, counter-clockwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = [
    "Across",
    "Along",
    "Arc",
    "Area",
    "Circle",
    "Entity",
    "Ink",
    "Layer",
    "Line",
    "Point",
    "Polyline",
    "Shade",
    "Sheet",
    "Text",
]

Point = tuple[float, float]
"""A place on the page, x and y [mm]."""
Shade = Literal["none", "paper", "pale", "grey", "ink", "hatch"]
"""What fills an outline: nothing, the paper itself, a pale tint, a grey, black, slanted lines."""

Across = Literal["left", "middle", "right"]
Along = Literal["base", "middle", "top"]

Ink = Literal["black", "grey", "paper"]
"""What lines and letters are drawn in; paper parts what lies on top of each other."""


@dataclass(frozen=True, slots=True)
class Layer:
    """A pen for all entities that belong together; layers are painted in the order of the sheet."""

    name: str
    pen_mm: float = 0.25
    """Width of lines; 0 draws no outline."""
    ink: Ink = "black"
    """Colour of lines and letters."""
    dashes_mm: tuple[float, ...] = ()
    """Lengths of dashes and gaps in turn; empty for a full line."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    layer: str
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight lines through points, in one stroke."""

    layer: str
    points: tuple[Point, ...]
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle or dot."""

    layer: str
    centre: Point
    radius_mm: float
    shade: Shade = "none"
    note: str = ""
    """What it stands for, where a format can say so without drawing it."""


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, counter-clockwise from one direction to the other."""

    layer: str
    centre: Point
    radius_mm: float
    start_deg: float
    end_deg: float


@dataclass(frozen=True, slots=True)
class Area:
    """A filled polygon."""

    layer: str
    points: tuple[Point, ...]
    shade: Shade


@dataclass(frozen=True, slots=True)
class Text:
    """One line of lettering in an upright face without serifs."""

    layer: str
    at: Point
    text: str
    height_mm: float
    """Height of a capital letter."""
    across: Across = "left"
    """Which end of the text stands at the point."""
    along: Along = "base"
    """Which height of a capital letter stands at the point."""
    turn_deg: float = 0.0
    """How far the text is turned about the point."""


Entity = Line | Polyline | Circle | Arc | Area | Text


@dataclass(frozen=True, slots=True)
class Sheet:
    """A page with all that is drawn on it, of which every renderer makes the same drawing.

    Raises
    ------
    ValueError
        Two layers share a name, or an entity is on a layer that the sheet does not have.
    """

    title: str
    width_mm: float
    height_mm: float
    layers: tuple[Layer, ...]
    entities: tuple[Entity, ...]
    scale: float = 1.0
    """Size on the sheet over size of what is drawn: 1 for a drawing 1:1, 0.5 for one 1:2."""
    said: str = ""
    """What the drawing shows, in words, for those who cannot see it."""

    def __post_init__(self) -> None:
        """Refuse entities without a layer."""
        names = [layer.name for layer in self.layers]
        if len(set(names)) < len(names):
            raise ValueError(f"two layers share a name: {', '.join(names)}")
        if lost := sorted({entity.layer for entity in self.entities} - set(names)):
            raise ValueError(f"no such layer: {', '.join(lost)}; the sheet has {', '.join(names)}")

    def on(self, layer: str) -> tuple[Entity, ...]:
        """Return the entities of one layer, in the order they are drawn."""
        return tuple(entity for entity in self.entities if entity.layer == layer)
