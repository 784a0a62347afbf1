"""The reader of a maker's file."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, get_args

from pydantic import ValidationError

from optimizer.errors import Fault, ScenarioError
from optimizer.quantities import as_key
from optimizer.scenario.faults import faults_of, inside, outside, value_at
from optimizer.scenario.scenario import Scenario, Units
from optimizer.scenario.stated import Reading
from optimizer.scenario.syntax import tables_of

__all__ = ["load_scenario"]


def load_scenario(text: str, name: str) -> Scenario:
    """Read a maker's file.

    Parameters
    ----------
    text
        The file's contents, TOML.
    name
        The file's name, kept with the scenario.

    Raises
    ------
    ScenarioError
        With every fault of the file, in its order.
    """
    raw = tables_of(text)
    units = raw.get("units")
    reading = Reading(units if isinstance(units, str) and units in get_args(Units) else "mm")
    try:
        scenario = Scenario.model_validate(raw, context=reading)
    except ValidationError as error:
        faults = [replace(fault, where=_written_place(fault.where, raw)) for fault in faults_of(error)]
        raise ScenarioError(_in_file_order(list(dict.fromkeys(faults)), raw)) from None
    digest = hashlib.sha256(text.encode(errors="surrogatepass")).hexdigest()
    return scenario.model_copy(
        update={"name": name, "text": text, "sha256": digest, "reasons": tuple(_reasons(raw, ""))}
    )


def _reasons(raw: object, place: str) -> Iterator[tuple[str, str]]:
    """Yield the place of every changed limit that has a reason, with the reason."""
    if isinstance(raw, dict):
        if "value" in raw and isinstance(raw.get("reason"), str):
            yield place, raw["reason"].strip()
            return
        for key, value in raw.items():
            yield from _reasons(value, inside(place, as_key(key)))
    elif isinstance(raw, list):
        for index, value in enumerate(raw):
            yield from _reasons(value, f"{place}[{index}]")


def _in_file_order(faults: list[Fault], raw: dict[str, Any]) -> list[Fault]:
    order = {place: number for number, place in enumerate(_places(raw, ""))}

    def rank(fault: Fault) -> int:
        place = fault.where
        while place and place not in order:
            place = outside(place)
        return order.get(place, -1)

    return sorted(faults, key=rank)


def _written_place(place: str, raw: dict[str, Any]) -> str:
    """Return the place of the value that the maker wrote, which may be shorter than the one it is read to."""
    around = outside(place)
    while around and isinstance(value_at(raw, around), str | int | float):
        place, around = around, outside(around)
    return place


def _places(raw: object, place: str) -> Iterator[str]:
    """Yield every place of the file in its order."""
    if place:
        yield place
    if isinstance(raw, dict):
        for key, value in raw.items():
            yield from _places(value, inside(place, as_key(key)))
    elif isinstance(raw, list):
        for index, value in enumerate(raw):
            yield from _places(value, f"{place}[{index}]")
