"""Figures, and places of the scenario, as people read them."""

from __future__ import annotations

from typing import Literal

from optimizer.quantities.shop import MM_PER, PLACES
from optimizer.records.sheet import MachineSheet

__all__ = ["HP_KW", "LBF_N", "Units", "counted", "in_units", "length", "place_words", "rpm", "unit_and_size"]


Units = Literal["mm", "cm", "in"]
HP_KW = 0.45359237 * 9.80665 * 0.3048 * 550 / 1000
"""One horsepower."""
LBF_N = 0.45359237 * 9.80665
"""One pound-force."""
IMPERIAL = {"kW": ("hp", HP_KW), "N": ("lbf", LBF_N), "N m": ("lbf ft", LBF_N * 0.3048)}
"""Other units that go with inches, with their size."""


def in_units(mm: float, units: Units) -> float:
    """Return a length in the maker's units, rounded to a millionth, so that exact sizes read as they were written.

    Examples
    --------
    >>> in_units(114.3, "in"), in_units(81.5, "mm")
    (4.5, 81.5)
    """
    return round(mm / MM_PER[units], 6)


def length(mm: float | None, units: Units) -> str:
    """Return a length without its unit, with the decimals a bench can measure; `none` where there is none.

    Examples
    --------
    >>> length(114.3, "in"), length(81.5, "mm")
    ('4.500', '81.50')
    """
    return "none" if mm is None else f"{in_units(mm, units):.{PLACES[units]}f}"


def unit_and_size(unit: str, units: Units) -> tuple[str, float]:
    """Return the unit in which a figure is shown, with its size: lengths in the maker's, all else as it is.

    Power is in horsepower, force in pounds-force, torque in pound-force feet, where lengths are in inches.

    Examples
    --------
    >>> unit_and_size("mm", "in"), unit_and_size("%", "in"), unit_and_size("kW", "mm")
    (('in', 25.4), ('%', 1.0), ('kW', 1.0))
    """
    if units == "in" and unit in IMPERIAL:
        return IMPERIAL[unit]
    return (units, MM_PER[units]) if unit == "mm" else (unit, 1.0)


def rpm(speed_rpm: float) -> str:
    """Return a speed with one decimal.

    Examples
    --------
    >>> rpm(184.26), rpm(1420.0)
    ('184.3', '1420.0')
    """
    return f"{speed_rpm:.1f}"


def place_words(where: str, machine: MachineSheet) -> str:
    """Return a place of the scenario with its stage called as papers call it: by the chain, counted from 1."""
    for number, stage in enumerate(machine.stages, 1):
        if where.startswith(stage.key):
            return f"stage {number}{where.removeprefix(stage.key).replace('.', ', ', 1)}"
    return where


def counted(number: int, what: str) -> str:
    """Return a number of things.

    Examples
    --------
    >>> counted(1, "step"), counted(3, "belt move")
    ('1 step', '3 belt moves')
    """
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
