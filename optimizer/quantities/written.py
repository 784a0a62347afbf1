"""Values written back the way a maker writes them."""

from __future__ import annotations

import re
from typing import Literal

from optimizer.quantities.kinds import LENGTH, RIM_SPEED

__all__ = ["LONGEST", "SurfaceUnit", "as_key", "as_written", "percent", "show_length", "show_rpm", "surface_figure"]

SurfaceUnit = Literal["m/s", "m/min", "ft/min", "ft/s"]
"""Units in which speeds along a surface are told."""

LONGEST = 60
"""A value takes no more characters than this; twice as many are shown of one that does."""


def show_length(length_mm: float, units: str = "mm") -> str:
    """Write a length [mm] in the maker's units, inches as decimals.

    Examples
    --------
    >>> show_length(114.3), show_length(114.3, "in"), show_length(1250, "cm"), show_length(-0.0001)
    ('114.3 mm', '4.5 in', '125 cm', '0 mm')
    """
    places = {"mm": 3, "cm": 4, "in": 4}[units]
    text = f"{length_mm / float(LENGTH.words[units]):.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} {units}"


def show_rpm(speed_rpm: float) -> str:
    """Write a speed as it was stated; to a tenth where it has more digits than anyone states.

    Examples
    --------
    >>> show_rpm(1420.0), show_rpm(12.25), show_rpm(39.78873577), show_rpm(0.0123456789)
    ('1420', '12.25', '39.8', '0.0123')
    """
    stated = f"{speed_rpm:.6g}"
    if float(stated) == speed_rpm:
        return stated
    return f"{round(speed_rpm, 1):.6g}" if speed_rpm >= 1 else f"{speed_rpm:.3g}"


def surface_figure(speed_m_s: float, unit: SurfaceUnit, digits: int = 3) -> str:
    """Write a speed along a surface in a unit, without the unit, rounded to some leading digits.

    Examples
    --------
    >>> surface_figure(1.047198, "m/min"), surface_figure(10.16, "ft/min"), surface_figure(25 / 60, "m/min", 6)
    ('62.8', '2000', '25')
    """
    return f"{float(f'{speed_m_s / float(RIM_SPEED.words[unit]):.{digits}g}'):.10g}"


def percent(value: float, places: int = 2) -> str:
    """Return a share in percent.

    Examples
    --------
    >>> percent(0.0123)
    '1.23 %'
    """
    return f"{100 * value:.{places}f} %"


def as_key(key: str) -> str:
    """Write a key, in quotes where it holds more than letters, digits, `_`, `-`.

    Examples
    --------
    >>> as_key("blanks"), as_key("odd key")
    ('blanks', '"odd key"')
    """
    return key if re.fullmatch(r"[\w-]+", key) else as_written(key)


def as_written(value: object) -> str:
    """Write a value the way the maker's file does, cut where it is long.

    Examples
    --------
    >>> as_written("4 in"), as_written([1, True, "a"]), as_written({"section": "A"}), as_written(float("nan"))
    ('"4 in"', '[1, true, "a"]', '{ section = "A" }', 'nan')
    """
    text = _written(value)
    return text if len(text) <= 2 * LONGEST else text[: 2 * LONGEST - 1] + "…"


def _written(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        visible = "".join(
            c if c.isprintable() else f"\\u{ord(c):04X}" if ord(c) < 0x10000 else f"\\U{ord(c):08X}" for c in value
        )
        if '"' not in visible:
            return f'"{visible}"'
        return f"'{visible}'" if "'" not in visible else '"' + visible.replace('"', '\\"') + '"'
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_written, value))}]"
    if isinstance(value, dict):
        items = ", ".join(f"{as_key(str(key))} = {_written(item)}" for key, item in value.items())
        return f"{{ {items} }}" if items else "{ }"
    return str(value)
