"""Figures, and places of the scenario, as people read them."""

from __future__ import annotations

from typing import Literal

from optimizer.quantities.shop import MM_PER, PLACES
from optimizer.quantities.written import percent
from optimizer.records.sheet import MachineSheet

__all__ = [
    "LBF_N",
    "MM_PER",
    "Units",
    "amount",
    "counted",
    "decimals",
    "in_units",
    "length",
    "percent",
    "place_words",
    "rpm",
    "short",
    "span",
    "three",
    "unit_and_size",
    "unit_of",
]

Units = Literal["mm", "cm", "in"]

HP_KW = 0.45359237 * 9.80665 * 0.3048 * 550 / 1000
"""One horsepower."""
LBF_N = 0.45359237 * 9.80665
"""One pound-force."""
IMPERIAL = {"kW": ("hp", HP_KW), "N": ("lbf", LBF_N), "N m": ("lbf ft", LBF_N * 0.3048)}
"""Other units that go with inches, with their size."""
SHOP = {
    **IMPERIAL,
    "kg": ("lb", 0.45359237),
    "m/s": ("ft/min", 0.3048 / 60),
    "MPa": ("psi", LBF_N / 25.4**2),
    "g m": ("oz in", 453.59237 / 16 * 0.0254),
}
"""The same, with those of tables that checks do not use."""


def in_units(mm: float, units: Units) -> float:
    """Return a length in the maker's units, rounded to a millionth, so that exact sizes read as they were written.

    Examples
    --------
    >>> in_units(114.3, "in"), in_units(81.5, "mm")
    (4.5, 81.5)
    """
    return round(mm / MM_PER[units], 6)


def length(mm: float | None, units: Units, without: str = "none") -> str:
    """Return a length without its unit, with the decimals a bench can measure; `without` where there is none.

    Examples
    --------
    >>> length(114.3, "in"), length(81.5, "mm")
    ('4.500', '81.50')
    """
    return without if mm is None else f"{in_units(mm, units):.{PLACES[units]}f}"


def span(ends_mm: tuple[float, float] | list[float], units: Units) -> str:
    """Return from where to where lengths lie, said once where both ends read the same.

    Examples
    --------
    >>> span((1.0, 2.0), "mm"), span((1.0, 1.001), "mm")
    ('1.00 to 2.00', '1.00')
    """
    return " to ".join(dict.fromkeys(length(mm, units) for mm in ends_mm))


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


def unit_of(unit: str, units: Units) -> str:
    """Return the unit in which `amount` gives a figure.

    Examples
    --------
    >>> unit_of("N m", "in"), unit_of("N m", "cm")
    ('lbf ft', 'N m')
    """
    return SHOP[unit][0] if units == "in" else unit


def amount(value: float | None, unit: str, units: Units) -> str:
    """Return a figure with three digits, in the unit that goes with the maker's; nothing where there is none.

    Examples
    --------
    >>> amount(12.345, "N m", "mm"), amount(13.5582, "N m", "in"), amount(None, "N m", "mm")
    ('12.3', '10.0', '')
    """
    return "" if value is None else three(value / SHOP[unit][1] if units == "in" else value)


def three(value: float) -> str:
    """Return three digits: ratings and loads are known no finer.

    Examples
    --------
    >>> three(12345.0), three(2.0), three(0.0831)
    ('12300', '2.00', '0.0831')
    """
    return f"{float(f'{value:.3g}'):.0f}" if abs(value) >= 99.95 else f"{value:#.3g}"


def decimals(value: float | None, places: int = 2) -> str:
    """Return a figure with so many decimals; nothing where there is none.

    Examples
    --------
    >>> decimals(1.234), decimals(None)
    ('1.23', '')
    """
    return "" if value is None else f"{value:.{places}f}"


def rpm(speed_rpm: float) -> str:
    """Return a speed with one decimal.

    Examples
    --------
    >>> rpm(184.26), rpm(1420.0)
    ('184.3', '1420.0')
    """
    return f"{speed_rpm:.1f}"


def counted(number: int, what: str) -> str:
    """Return a number of things.

    Examples
    --------
    >>> counted(1, "step"), counted(3, "belt move")
    ('1 step', '3 belt moves')
    """
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def short(name: str, most: int) -> str:
    """Return a name cut to so many characters, with a mark where something was cut off.

    Examples
    --------
    >>> short("countershaft", 14), short("intermediate countershaft", 14)
    ('countershaft', 'intermediate…')
    """
    return name if len(name) <= most else name[: most - 1].rstrip() + "…"


def place_words(where: str, machine: MachineSheet) -> str:
    """Return a place of the scenario with its stage called as papers call it: by the chain, counted from 1."""
    for number, stage in enumerate(machine.stages, 1):
        if where.startswith(stage.key):
            return f"stage {number}{where.removeprefix(stage.key).replace('.', ', ', 1)}"
    return where
