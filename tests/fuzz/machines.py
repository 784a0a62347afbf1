"""Machines that somebody could mean: shipped scenarios with one to three values changed, each made again by its number.

Other than the cases of `making`, which test the reader, most of these are read, so that what is behind the reader is
tried: the search and what checks its designs.
"""

from __future__ import annotations

import re
import tomllib
from collections import defaultdict
from copy import deepcopy
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from tests.fuzz.schema_keys import tables, value_for
from tests.fuzz.written import toml_text

__all__ = ["machine_text"]

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FACTORS = (0.25, 0.5, 0.7, 0.8, 0.9, 0.95, 0.98, 1.02, 1.05, 1.1, 1.25, 1.4, 2.0, 4.0)
NUMBER = re.compile(r"\d+(?:\.\d+)?")
UNITS = {
    "kW": (("hp", 1 / 0.7457), ("W", 1000.0)),
    "hp": (("kW", 0.7457),),
    "W": (("kW", 0.001),),
    "rpm": (("Hz", 1 / 60), ("rad/s", 0.10472)),
    "N m": (("N m", 0.5),),
    "%": (("%", 0.8),),
    "m/min": (("m/s", 1 / 60),),
    "mm": (("in", 1 / 25.4), ("cm", 0.1)),
    "in": (("mm", 25.4),),
}
"""Other units of a quantity with how many of them it makes."""
Spot = tuple[Any, Any, str]
"""A container, a key or index of it, and the key's name with what it lies in."""


@cache
def _trees() -> tuple[tuple[str, dict[str, Any]], ...]:
    paths = sorted(SCENARIOS.glob("*.toml"))
    return tuple((path.stem, tomllib.loads(path.read_text(encoding="utf-8"))) for path in paths)


@cache
def _known() -> dict[str, list[Any]]:
    """Return all values that the shipped scenarios have, by their place."""
    known: dict[str, list[Any]] = defaultdict(list)
    for _, tree in _trees():
        for node, key, place in _spots(tree):
            if isinstance(node, dict):
                known[place].append(node[key])
    return known


def _spots(node: Any, place: str = "") -> list[Spot]:
    """Return every container with every key or index of it; of lists of tables the place names no number."""
    found: list[Spot] = []
    for key, value in list(node.items() if isinstance(node, dict) else enumerate(node)):
        here = f"{place}.{key}" if isinstance(node, dict) else f"{place}[]"
        found.append((node, key, here))
        if isinstance(value, dict | list):
            found += _spots(value, here)
    return found


def _times(value: float, random: Random) -> float | int:
    """Return a figure somewhat larger or smaller, with as many digits as somebody would write."""
    scaled = value * random.choice(FACTORS)
    rounded = float(f"{scaled:.{random.choice((2, 3, 4))}g}")
    return round(rounded) if isinstance(value, int) and (value < 10 or rounded.is_integer()) else rounded


def _number(tree: dict[str, Any], random: Random) -> None:
    """Make a figure larger or smaller, one that stands alone or one in a quantity's text."""
    spots = [s for s in _spots(tree) if _figure(s[0][s[1]])]
    if not spots:
        return
    node, key, _ = random.choice(spots)
    value = node[key]
    if isinstance(value, str):
        which = random.choice(list(NUMBER.finditer(value)))
        figure = float(which[0]) if "." in which[0] else int(which[0])
        node[key] = value[: which.start()] + f"{_times(figure, random)}" + value[which.end() :]
    else:
        node[key] = _times(value, random)


def _figure(value: Any) -> bool:
    if isinstance(value, str):
        return len(value) < 20 and NUMBER.search(value) is not None and any(unit in value for unit in (*UNITS, ":"))
    return isinstance(value, int | float) and not isinstance(value, bool)


def _unit(tree: dict[str, Any], random: Random) -> None:
    """State a quantity in another unit, or turn the units of the whole file over."""
    spots = [s for s in _spots(tree) if isinstance(s[0][s[1]], str) and _unit_of(s[0][s[1]])]
    if not spots or random.random() < 0.1:
        tree["units"] = random.choice(("mm", "cm", "in"))
        return
    node, key, _ = random.choice(spots)
    number, unit = _unit_of(node[key]) or (1.0, "mm")
    other, per = random.choice(UNITS[unit])
    node[key] = f"{number * per:.4g} {other}"


def _unit_of(text: str) -> tuple[float, str] | None:
    words = text.split(" ", 1)
    if len(words) == 2 and words[1] in UNITS and NUMBER.fullmatch(words[0]):
        return float(words[0]), words[1]
    return None


def _list(tree: dict[str, Any], random: Random) -> None:
    """Leave an entry of a list out, say one once more, or put one beside it that is near."""
    spots = [s for s in _spots(tree) if isinstance(s[0][s[1]], list) and s[0][s[1]]]
    if not spots:
        return
    node, key, _ = random.choice(spots)
    values = node[key]
    at = random.randrange(len(values))
    how = random.randrange(3)
    if how == 0 and len(values) > 1:
        del values[at]
    elif how == 1 and _figure(values[at]) and not isinstance(values[at], str):
        values.append(_times(values[at], random))
        values.sort(key=str if any(isinstance(v, str | dict | list) for v in values) else None)
    else:
        values.insert(at, deepcopy(values[at]))


def _remove(tree: dict[str, Any], random: Random) -> None:
    """Leave a key out."""
    node, key, _ = random.choice([s for s in _spots(tree) if isinstance(s[0], dict)])
    del node[key]


def _borrow(tree: dict[str, Any], random: Random) -> None:
    """Put in what another scenario states at such a place, under a key that is there or one that is not."""
    places = sorted({place.rsplit(".", 1)[0] for _, _, place in _spots(tree) if "." in place})
    parent = random.choice(places)
    keys = sorted(place for place in _known() if place.rsplit(".", 1)[0] == parent)
    nodes = [node for node, _, place in _spots(tree) if place.rsplit(".", 1)[0] == parent and isinstance(node, dict)]
    if keys and nodes:
        place = random.choice(keys)
        random.choice(nodes)[place.rsplit(".", 1)[1]] = deepcopy(random.choice(_known()[place]))


def _schema(tree: dict[str, Any], random: Random) -> None:
    """Put in a value that the schema allows under a key that it knows."""
    known = [table for table in tables(tree) if table.schema]
    here, schema = random.choice(known)
    if schema:
        key = random.choice(sorted(schema["properties"]))
        here[key] = value_for(schema["properties"][key], random)


CHANGES = ((10, _number), (2, _unit), (2, _list), (2, _remove), (5, _borrow), (3, _schema))
"""Changes with how often each is chosen."""


def machine_text(seed: int, number: int) -> str:
    """Return the file of a machine.

    Examples
    --------
    >>> machine_text(3, 5) == machine_text(3, 5), machine_text(3, 5) == machine_text(3, 6)
    (True, False)
    """
    random = Random(f"machine {seed}/{number}")
    tree = deepcopy(random.choice(_trees())[1])
    weights, changes = zip(*CHANGES, strict=True)
    for change in random.choices(changes, weights, k=random.choice((1, 1, 2, 3))):
        change(tree, random)
    return toml_text(tree)
