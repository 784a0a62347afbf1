"""Places in a scenario, written the way a maker finds them."""

from __future__ import annotations

import re
from collections.abc import Sequence

from optimizer.quantities import as_key

__all__ = ["inside", "outside", "place_of", "value_at"]


def place_of(path: Sequence[str | int]) -> str:
    """Write a path of keys with indices counted from 0.

    Examples
    --------
    >>> place_of(["stage", 1, "driver", "blanks", 3])
    'stage[1].driver.blanks[3]'
    """
    text = ""
    for part in path:
        text = inside(text, f"[{part}]" if isinstance(part, int) else as_key(part))
    return text


def inside(outer: str, inner: str) -> str:
    """Join the place of a table and a place within it.

    Examples
    --------
    >>> inside("stage[1]", "driver"), inside("driver.blanks", "[3]"), inside("", "title"), inside("belt", "")
    ('stage[1].driver', 'driver.blanks[3]', 'title', 'belt')
    """
    if not outer or not inner or inner.startswith("["):
        return outer + inner
    return f"{outer}.{inner}"


def outside(place: str) -> str:
    """Return the place of the list or table around a place.

    Examples
    --------
    >>> outside("stage[1].driver.blanks[3]"), outside("stage[1].driver"), outside("stage[1]"), outside("stage")
    ('stage[1].driver.blanks', 'stage[1]', 'stage', '')
    """
    around = re.sub(r"(^|\.)[\w-]*$|\[\d+\]$", "", place)
    return around if len(around) < len(place) else ""


def value_at(tables: object, place: str) -> object:
    """Return what the file holds at a place, nothing where it holds nothing.

    Examples
    --------
    >>> value_at({"stage": [{"centres": [220, 340]}]}, "stage[0].centres[1]")
    340
    >>> value_at({"stage": []}, "stage[0].centres") is None
    True
    """
    value = tables
    for part in re.findall(r"[^.\[\]]+", place):
        if isinstance(value, dict):
            value = value.get(part)
        elif isinstance(value, list | tuple) and part.isdecimal() and int(part) < len(value):
            value = value[int(part)]
        else:
            return None
    return value
