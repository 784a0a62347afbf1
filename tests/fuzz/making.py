"""A case: a scenario file made from a shipped one by a number of changes, the same for the same seed and number."""

from __future__ import annotations

import tomllib
from copy import deepcopy
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from tests.fuzz.mutations import BYTE_CHANGES, TREE_CHANGES, some_of
from tests.fuzz.written import toml_text
from tests.machines import GRINDER, OLD_SAW

__all__ = ["case_bytes", "spoilt"]

SCENARIOS = Path(__file__).parents[2] / "scenarios"
BYTES_SHARE = 0.2
"""Share of cases whose bytes are changed too."""


@cache
def _texts() -> tuple[str, ...]:
    shipped = tuple(path.read_text(encoding="utf-8") for path in sorted(SCENARIOS.glob("*.toml")))
    return (*shipped, GRINDER, OLD_SAW)


@cache
def _trees() -> tuple[dict[str, Any], ...]:
    return tuple(tomllib.loads(text) for text in _texts())


def case_bytes(seed: int, number: int) -> bytes:
    """Return the file of a case.

    Few changes leave a file that is nearly right, so that what comes after the reader meets it too; many test the
    reader's way of saying everything at once.
    """
    random = Random(f"{seed}/{number}")
    which = random.randrange(len(_texts()))
    tree = deepcopy(_trees()[which])
    for change in some_of(TREE_CHANGES, random, random.choice((0, 1, 1, 1, 2, 2, 3, 5, 12))):
        change(tree, random)
    if random.random() >= BYTES_SHARE:
        return toml_text(tree).encode("utf-8", "surrogatepass")
    # the shipped text itself has comments and tables with headers, which a written tree has not
    text = toml_text(tree) if random.random() < 0.5 else _texts()[which]
    return spoilt(text.encode("utf-8", "surrogatepass"), random)


def spoilt(data: bytes, random: Random) -> bytes:
    """Return a file with some of its bytes changed."""
    for spoil in some_of(BYTE_CHANGES, random, random.choice((1, 1, 2, 4))):
        data = spoil(data, random)
    return data
