"""One line of a buying list: what, how many, of which size, where it is used, what nobody has stated."""

from __future__ import annotations

from typing import Literal

from optimizer.scenario.base import Model

__all__ = ["BuyingLine", "Figure", "Group", "figures"]

Group = Literal["sheave", "hub", "key", "gauge pins", "bearing", "shaft", "sheet"]


class Figure(Model):
    """One size, load or speed of a thing."""

    name: str
    value: float
    unit: Literal["mm", "N", "rpm"] = "mm"


class BuyingLine(Model):
    """One kind of thing, with how many of it."""

    group: Group
    what: str
    count: int
    sizes: tuple[Figure, ...] = ()
    why: str
    """Where it is used."""
    unknown: str = ""
    """What the shop will ask and nobody has stated."""
    source: str = ""


def figures(*sizes: tuple[str, float | None]) -> tuple[Figure, ...]:
    """Return the lengths that are known [mm], each with its name.

    Examples
    --------
    >>> [figure.name for figure in figures(("bore", 20.0), ("length", None))]
    ['bore']
    """
    return tuple(Figure(name=name, value=mm) for name, mm in sizes if mm is not None)
