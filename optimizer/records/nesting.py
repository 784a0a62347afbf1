"""Squares on sheets: what is to be sawn, what from, and where each square lies."""

from __future__ import annotations

from itertools import combinations
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from optimizer.scenario.base import Model

__all__ = [
    "TOUCH_MM",
    "AreaBound",
    "Leftover",
    "NestedSheet",
    "Nesting",
    "NoRoom",
    "PlacedSquare",
    "Square",
    "Stock",
    "UnplacedSquare",
]

Length = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Width = Annotated[float, Field(ge=0, allow_inf_nan=False)]
TOUCH_MM = 2e-6
"""How far a figure may miss a limit and still keep it: places are worked out in millionths of a millimetre."""

NoRoom = Literal["too large for every sheet", "no sheet left"]
"""Why a square has no place."""


class Square(Model):
    """A square to be sawn, the blank of one disc."""

    name: str
    """What it is for."""
    side_mm: Length


class Stock(Model):
    """Sheets or offcuts of one size."""

    width_mm: Length
    length_mm: Length
    count: Annotated[int, Field(ge=1)] | None = None
    """How many there are; nothing where there are as many as it takes."""


class PlacedSquare(Model):
    """A square where it lies on its sheet."""

    number: int
    """Counted from 1 through all sheets: what is written on the piece."""
    name: str
    """What it is for."""
    x_mm: Width
    """Its lower left corner across the sheet's width, from the sheet's corner."""
    y_mm: Width
    """The same along the sheet's length."""
    side_mm: Length


class UnplacedSquare(Model):
    """A square that has no place on any sheet."""

    name: str
    side_mm: Length
    reason: NoRoom


class Leftover(Model):
    """A rectangle that no square, kerf or edge strip touches."""

    x_mm: Width
    y_mm: Width
    width_mm: Length
    length_mm: Length

    @property
    def area_mm2(self) -> float:
        """Its area [mm²]."""
        return self.width_mm * self.length_mm


class NestedSheet(Model):
    """One sheet with the squares sawn from it."""

    number: int
    """Counted from 1 in the order they are used."""
    width_mm: Length
    length_mm: Length
    counted: bool
    """Whether it is one of a stated number, such as an offcut."""
    kerf_mm: Width
    edge_mm: Width
    squares: tuple[PlacedSquare, ...] = Field(min_length=1)
    straight: bool
    """Whether every square comes off by straight cuts, each right across the piece in hand."""
    leftover: Leftover | None = None
    """The largest rectangle left over, on the last sheet."""

    @property
    def area_mm2(self) -> float:
        """Area of the sheet [mm²]."""
        return self.width_mm * self.length_mm

    @property
    def used_mm2(self) -> float:
        """Area of its squares [mm²]."""
        return sum(square.side_mm**2 for square in self.squares)

    @property
    def waste(self) -> float:
        """Share of the sheet that is no square: 1 - squares / sheet."""
        return 1 - self.used_mm2 / self.area_mm2

    @model_validator(mode="after")
    def _can_be_sawn(self) -> Self:
        """Refuse squares in the edge strip, or nearer to each other than a kerf."""
        for square in self.squares:
            near = min(square.x_mm, square.y_mm)
            far = min(self.width_mm - square.x_mm, self.length_mm - square.y_mm) - square.side_mm
            if min(near, far) < self.edge_mm - TOUCH_MM:
                raise ValueError(f"square {square.number} of sheet {self.number} lies in the edge strip or outside")
        for one, other in combinations(self.squares, 2):
            if _gap_mm(one, other) < self.kerf_mm - TOUCH_MM:
                raise ValueError(
                    f"squares {one.number} and {other.number} of sheet {self.number} leave the saw no kerf"
                )
        return self


class AreaBound(Model):
    """What area alone allows: the first sheets used whose area within the edge strip could hold squares and kerf."""

    sheets: int
    """No fewer of the sheets, in the order they are used, could hold the squares."""
    waste: float
    """The waste that so many sheets would leave."""


class Nesting(Model):
    """All squares, on sheets or left without one."""

    kerf_mm: Width
    edge_mm: Width
    sheets: tuple[NestedSheet, ...]
    """In the order they are used: those of a stated number first."""
    unplaced: tuple[UnplacedSquare, ...] = ()
    bound: AreaBound
    """For the squares that are placed."""

    @property
    def used_mm2(self) -> float:
        """Area of all placed squares [mm²]."""
        return sum(sheet.used_mm2 for sheet in self.sheets)

    @property
    def area_mm2(self) -> float:
        """Area of all sheets used [mm²]."""
        return sum(sheet.area_mm2 for sheet in self.sheets)

    @property
    def waste(self) -> float:
        """Share of the sheets used that is no square; 0 where no sheet is used."""
        return 1 - self.used_mm2 / self.area_mm2 if self.sheets else 0.0

    @property
    def leftover(self) -> Leftover | None:
        """The largest rectangle left over on the last sheet."""
        return self.sheets[-1].leftover if self.sheets else None


def _gap_mm(one: PlacedSquare, other: PlacedSquare) -> float:
    """Return the width of the widest straight strip, along an edge, between two squares [mm]; below 0 if they overlap.

    Examples
    --------
    >>> _gap_mm(
    ...     PlacedSquare(number=1, name="", x_mm=5, y_mm=5, side_mm=100),
    ...     PlacedSquare(number=2, name="", x_mm=50, y_mm=109, side_mm=100),
    ... )
    4.0
    """
    across = max(other.x_mm - one.x_mm - one.side_mm, one.x_mm - other.x_mm - other.side_mm)
    along = max(other.y_mm - one.y_mm - one.side_mm, one.y_mm - other.y_mm - other.side_mm)
    return max(across, along)
