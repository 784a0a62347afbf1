"""A tree of values as the text of a TOML file, also values that no scenario should hold."""

from __future__ import annotations

from datetime import date, datetime, time
from math import isinf, isnan
from typing import Any

__all__ = ["Raw", "toml_text"]


class Raw(str):
    """Text that goes into the file as it is: values that Python's types cannot tell apart, or that are no TOML."""

    __slots__ = ()


_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t", "\b": "\\b", "\f": "\\f"}


def toml_text(tree: dict[str, Any]) -> str:
    """Return the file: one line for every key of the outermost table, all that is inside it in line.

    Examples
    --------
    >>> print(toml_text({"units": "mm", "band": [{"from": 180, "to": Raw("inf")}]}), end="")
    units = "mm"
    band = [{ from = 180, to = inf }]
    """
    return "".join(f"{_key(key)} = {_value(value)}\n" for key, value in tree.items())


def _key(key: str) -> str:
    if isinstance(key, Raw):
        return str(key)
    return key if key and key.isascii() and key.replace("_", "").replace("-", "").isalnum() else _text(key)


def _value(value: Any) -> str:
    if isinstance(value, Raw):
        return str(value)
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {_value(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    return str(value)


def _number(value: float) -> str:
    if isnan(value) or isinf(value):
        return str(value)
    text = repr(value)
    return text if "." in text or "e" in text else f"{text}.0"


def _text(value: str) -> str:
    return '"' + "".join(_character(c) for c in value) + '"'


def _character(character: str) -> str:
    if character in _ESCAPES:
        return _ESCAPES[character]
    return f"\\u{ord(character):04x}" if ord(character) < 32 or ord(character) == 127 else character
