"""How large a file may be: what no maker writes is refused before the long work of reading it begins."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from optimizer.errors import Fault
from optimizer.quantities import as_key
from optimizer.scenario.places import inside

__all__ = ["MOST_IN_LIST", "MOST_IN_TABLE", "MOST_NESTED", "MOST_VALUES", "faults_of_extent", "long_key"]

MOST_IN_LIST = 1_000
"""Values in one list; what is taken from a range is stated as a range."""
MOST_IN_TABLE = 200
"""Keys in one table."""
MOST_NESTED = 24
"""Lists and tables within each other."""
MOST_VALUES = 10_000
"""Values in the whole file."""
MOST_PARTS = 100
"""Parts of a key with dots: the reader of the standard library takes the cube of their number in time."""

_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_LONG_KEY = re.compile(rf"(?<![\w-]){_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{{MOST_PARTS}}}")


def long_key(text: str) -> Fault | None:
    """Return the fault of a key of more parts than can be read in reasonable time; nothing where there is none.

    Examples
    --------
    >>> long_key("motor.speed = 1420") is None
    True
    >>> print(long_key("units = 'mm'\\n" + "a." * 200 + "b = 1"))
    line 2: a key has more parts than can be read; allowed: at most 100 parts; try: look for dots that run on
    """
    found = _LONG_KEY.search(text)
    if found is None:
        return None
    line = text.count("\n", 0, found.start()) + 1
    what = "a key has more parts than can be read"
    return Fault(f"line {line}", what, "", f"at most {MOST_PARTS} parts", "look for dots that run on")


def faults_of_extent(tables: dict[str, Any]) -> list[Fault]:
    """Return what makes a file too large to be one that a maker wrote.

    Examples
    --------
    >>> faults_of_extent({"band": [{"name": "roughing", "from": 180}]})
    []
    >>> print(*faults_of_extent({"stage": [{"driver": {"ready": [80] * 1001}}]}))  # doctest: +ELLIPSIS
    stage[0].driver.ready: this list is too long; got 1,001 values; allowed: at most 1,000; try: ...
    """
    faults: list[Fault] = []
    values = 0
    for place, value, depth in _walked(tables):
        values += len(value)
        if depth > MOST_NESTED:
            allowed = f"at most {MOST_NESTED} within each other"
            return [Fault(place, "lists or tables are nested too deep", "", allowed, "check the brackets")]
        faults += _fault(place, value)
    if values > MOST_VALUES and not faults:
        what, advice = "it holds more than any machine needs", "look for parts that stand in it many times"
        faults.append(Fault("file", what, f"{values:,} values", f"at most {MOST_VALUES:,}", advice))
    return faults


def _fault(place: str, value: dict[str, Any] | list[Any]) -> Iterator[Fault]:
    if isinstance(value, list) and len(value) > MOST_IN_LIST:
        advice = "leave out what cannot be meant; a range is written free = [least, most], any length any"
        yield Fault(place, "this list is too long", f"{len(value):,} values", f"at most {MOST_IN_LIST:,}", advice)
    if isinstance(value, dict) and len(value) > MOST_IN_TABLE:
        advice = "look for keys that belong elsewhere"
        yield Fault(
            place or "file", "this table is too long", f"{len(value):,} keys", f"at most {MOST_IN_TABLE}", advice
        )


def _walked(tables: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any] | list[Any], int]]:
    """Yield every table and list with its place and depth, those too long or too deep not entered.

    It keeps its own list of what is left to do, so that no depth of nesting ends it.
    """
    left: list[tuple[str, Any, int]] = [("", tables, 0)]
    while left:
        place, value, depth = left.pop()
        if not isinstance(value, dict | list):
            continue
        yield place, value, depth
        if depth > MOST_NESTED or len(value) > (MOST_IN_TABLE if isinstance(value, dict) else MOST_IN_LIST):
            continue
        entries = [(as_key(key), inner) for key, inner in value.items()] if isinstance(value, dict) else None
        entries = entries or [(f"[{number}]", inner) for number, inner in enumerate(value)]
        left += [(inside(place, key), inner, depth + 1) for key, inner in reversed(entries)]
