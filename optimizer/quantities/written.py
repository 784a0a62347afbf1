"""Values written back the way a maker writes them."""

from __future__ import annotations

import re

from optimizer.quantities.kinds import LENGTH

__all__ = ["LONGEST", "as_key", "as_written", "show_length"]

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
