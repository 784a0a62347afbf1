"""The size of a unit, from a small table where it is common, else from pint."""

from __future__ import annotations

import difflib
import re
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from optimizer.quantities.kinds import SHARE, Kind, QuantityError
from optimizer.quantities.written import as_written

if TYPE_CHECKING:
    from pint import UnitRegistry

__all__ = ["unit_size", "unit_word"]

_LETTERS = re.compile(r"[^\W\d_]+(?:[ _/·*-]+[^\W\d_]+)*")


def unit_word(unit: str) -> str:
    """Return a unit's name without what may stand around it."""
    return " ".join(unit.split()).lstrip("-").removesuffix(".").strip()


def unit_size(unit: str, kind: Kind, got: str) -> Fraction | float:
    """Return the size of a unit in the unit of its kind."""
    word = unit_word(unit)
    if word in kind.words:
        return kind.words[word]
    noun = kind.name.partition(" ")[2]
    allowed = f"{', '.join(_distinct_words(kind))}" if kind.words else "no unit"
    if not kind.words or kind is SHARE:
        raise QuantityError(f"{kind.name} does not take the unit {as_written(word)}", got, allowed)
    if word[:1].isdigit() and not word.startswith("1/"):
        raise QuantityError("more than one number, or a number broken in two", got, kind.example)
    if not _LETTERS.fullmatch(word):
        raise QuantityError(f"{as_written(word)} is not read as a unit of {noun}", got, allowed)
    size = _pint_factor(word, kind.pint_unit)
    if isinstance(size, float):
        return size
    near = difflib.get_close_matches(word, list(kind.words), n=1) or difflib.get_close_matches(
        word.lower(), [known.lower() for known in kind.words], n=1
    )
    advice = f"did you mean {near[0]}?" if near else ""
    raise QuantityError(f"{as_written(word)} {size} {noun}", got, allowed, advice)


def _distinct_words(kind: Kind) -> list[str]:
    """Return one word for every size of unit, the first of each."""
    seen: dict[Fraction | float, str] = {}
    for word, size in kind.words.items():
        seen.setdefault(size, word)
    return list(seen.values())


@lru_cache(maxsize=256)
def _pint_factor(word: str, target: str) -> float | str:
    """Return the size of a unit that the small table does not have, or why there is none."""
    registry = _registry()
    try:
        unit = registry.parse_units(word)
        same_kind = unit.dimensionality == registry.Unit(target).dimensionality
        same_turns = _turns(registry, unit) == _turns(registry, registry.Unit(target))
        size = float(registry.Quantity(1.0, unit).to(target).magnitude) if same_kind else 0.0
    except Exception:  # pint raises many kinds, its tokenizer's among them, for what it cannot read
        return "is not known as a unit of"
    return size if same_kind and same_turns else "does not measure"


def _turns(registry: UnitRegistry[Any], unit: Any) -> bool:
    """Tell whether a unit counts turns or angles, which pint's dimensions do not tell from plain rates."""
    return "radian" in dict(registry.Quantity(1.0, unit).to_root_units().unit_items())


@lru_cache(maxsize=1)
def _registry() -> UnitRegistry[Any]:
    from pint import UnitRegistry  # costs about 0.5 s, and most files need only the words of the small tables

    return UnitRegistry(cache_folder=None)
