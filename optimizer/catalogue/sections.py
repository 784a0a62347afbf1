"""Belt sections by name."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

from optimizer.catalogue.entry import CatalogueError, Section, table
from optimizer.catalogue.families import flat_section, ribbed_section, round_section

__all__ = ["section", "section_names"]

FAMILIES: dict[str, Callable[[str], Section]] = {
    "PJ": ribbed_section,
    "ROUND": round_section,
    "FLAT": flat_section,
}


@cache
def section(name: str) -> Section:
    """Return a belt section.

    Parameters
    ----------
    name
        ``"A"`` and the like; ``"PJ 6"`` is six ribs, ``"round 8"`` 8 mm thick, ``"flat 3x40"`` 3 mm thick
        and 40 mm wide, ``"flat 1/8x2 in"`` the same in inches.

    Raises
    ------
    CatalogueError
        There is no such section, or its size is missing or cannot be read.

    Examples
    --------
    GOST 20889-88 (read) for section A: datum width 11, rim 3.3 outside the datum line, 75 mm where justified.

    >>> belt = section("A")
    >>> belt.datum_width_mm, belt.above_mm, belt.smallest_datum_mm
    (11.0, 3.3, 75.0)
    >>> section("round 8").smallest_datum_mm
    55.0
    """
    plain = " ".join(name.split())
    fixed = _fixed()
    if plain.upper() in fixed:
        return fixed[plain.upper()]
    for word, build in FAMILIES.items():
        if plain.upper().startswith(word):
            return build(plain[len(word) :].strip())
    raise CatalogueError(
        "there is no such belt section",
        repr(name),
        ", ".join(section_names()),
        "name the section printed on the belt",
    )


def section_names() -> tuple[str, ...]:
    """Return the names of all sections, those of a size with an example of it.

    Examples
    --------
    >>> section_names()[:3], section_names()[-3:]
    (('Z', 'A', 'B'), ('PJ 4', 'round 8', 'flat 3x40'))
    """
    return (*_fixed(), "PJ 4", "round 8", "flat 3x40")


@cache
def _fixed() -> dict[str, Section]:
    """Return the sections that come in one size."""
    return {row["name"]: _from_row(row) for row in table("sections")["section"]}


def _from_row(row: dict[str, Any]) -> Section:
    """Return a section from its row, the smallest diameters on the datum line."""
    given = dict(row)
    inside = 2 * given["above_mm"] if given.pop("smallest_measured", "datum") == "outside" else 0.0
    smallest = given.pop("smallest_mm")
    preferred = given.pop("preferred_mm", smallest)
    return Section(smallest_datum_mm=smallest - inside, preferred_datum_mm=preferred - inside, **given)
