"""What must hold for every file a maker could write."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.errors import ScenarioError
from optimizer.scenario import Scenario, load_scenario
from tests.unit.scenario.bases import ONE, TWO

SOME_WORDS = (
    "motor, spindle, countershaft, A, 4L, PJ 6, round 8, flat 3x40, any, stock, datum, outside, over pins, v, flat, "
    "slide, hinge, fixed, crossed, 4 1/2 in, 3 %, layers, frame, clockwise, timber, 2 yd, 1e3 mm, 114;5 mm, "
)
SOME_KEYS = (
    "title, units, motor, speed, band, from, to, want, series, ends, making, layer, shaft, name, mount, on, stage, "
    "positions, centres, travel, wrap, belt, section, lengths, link, driver, driven, ready, blanks, free, kept, "
    "measured, groove, ratio, budget, value, reason, x y, a.b, c[0], [, ], ., \", ', \\, \n"
)
WORDS = st.sampled_from(SOME_WORDS.split(", "))
KEYS = st.sampled_from(SOME_KEYS.split(", "))
TEXTS = st.text(st.characters(codec="utf-8"), max_size=12)
SCALARS = st.one_of(WORDS, TEXTS, st.integers(-3, 3000), st.integers(), st.floats(), st.booleans())
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS | TEXTS, inner, max_size=4),
    max_leaves=8,
)
LENGTHS_MM = st.integers(75, 200)


def written(value: object) -> str:
    """Write a value as TOML."""
    match value:
        case bool():
            return str(value).lower()
        case int():
            return str(value)
        case float():
            return repr(value)
        case str():
            return json.dumps(value).replace("\x7f", "\\u007f")
        case list():
            return f"[{', '.join(map(written, value))}]"
        case dict():
            return f"{{ {', '.join(f'{json.dumps(key)} = {written(item)}' for key, item in value.items())} }}"
    raise TypeError(value)


def file_of(tables: dict[str, Any]) -> str:
    """Write a file, every table in one line."""
    return "\n".join(f"{json.dumps(key)} = {written(value)}" for key, value in tables.items())


def spots(tables: object) -> list[tuple[Any, Any]]:
    """Return every place of a file as what holds it with its key or index."""
    inside = tables.items() if isinstance(tables, dict) else enumerate(tables) if isinstance(tables, list) else ()
    return [spot for key, value in inside for spot in [(tables, key), *spots(value)]]


def read(text: str) -> Scenario | None:
    """Read a file, or hold what is told of it to be whole sentences at places that are not empty."""
    try:
        return load_scenario(text, "machine.toml")
    except ScenarioError as error:
        assert error.faults
        assert len(set(error.faults)) == len(error.faults)
        assert all(fault.where and fault.what and str(fault).isprintable() for fault in error.faults)
    return None


@settings(deadline=None)  # the first unit out of the common may import pint
@given(
    good=st.sampled_from([ONE, TWO]), changes=st.lists(st.tuples(st.integers(0, 200), VALUES), min_size=1, max_size=3)
)
def test_a_file_with_anything_in_it_is_read_or_refused(good: str, changes: list[tuple[int, object]]) -> None:
    """Whatever stands in place of any values of a good file, it is read or told of in whole lines, never a crash."""
    tables = tomllib.loads(good)
    for number, value in changes:
        places = spots(tables)
        holder, key = places[number % len(places)]
        holder[key] = value
    scenario = read(file_of(tables))
    if scenario is not None:
        assert all(scenario.remarks) or not scenario.remarks
        assert scenario.defaults
        assert scenario.changed_limits is not None


@settings(deadline=None)  # the first unit out of the common may import pint
@given(
    text=st.text(max_size=200) | st.lists(st.sampled_from([*TWO, '"', "[", "]", "=", "\n"]), max_size=80).map("".join)
)
def test_a_text_that_is_no_file_is_refused(text: str) -> None:
    """Any text is told of in whole lines, never a crash, and no text without a motor is a machine."""
    assert read(text) is None


@settings(deadline=None)  # the first unit out of the common may import pint
@given(number=st.integers(0, 200), good=st.sampled_from([ONE, TWO]))
def test_a_fault_added_hides_none_of_the_others(number: int, good: str) -> None:
    """A misspelt key beside any value adds its own line and hides no line that was told before."""
    text = good.replace('"1420 rpm"', '"1420 rmp"').replace("travel = 60", "travel = -60").replace('"slide"', '"slid"')
    tables = tomllib.loads(text)
    with pytest.raises(ScenarioError) as before:
        load_scenario(file_of(tables), "x")
    holders = [holder for holder, _ in spots(tables) if isinstance(holder, dict)]
    holders[number % len(holders)]["colour"] = "red"
    with pytest.raises(ScenarioError) as after:
        load_scenario(file_of(tables), "x")
    told = set(map(str, after.value.faults))
    assert set(map(str, before.value.faults)) <= told
    assert sum("colour" in line for line in told) == 1


@settings(deadline=None)  # the first unit out of the common may import pint
@given(sizes=st.lists(LENGTHS_MM, min_size=2, max_size=6, unique=True), units=st.sampled_from(["cm", "in"]))
def test_the_units_of_the_file_change_nothing(sizes: list[int], units: str) -> None:
    """A machine stated in mm, in cm, in inches with units written out is the same machine to the last bit."""
    tables = tomllib.loads(ONE)
    stage = tables["stage"][0]
    stage["driver"] = {"ready": sizes}
    in_mm = load_scenario(file_of(tables), "x")
    tables["units"] = units
    bare = units == "cm"
    stage["driver"] = {"ready": [size / 10 if bare else f"{size} mm" for size in sizes]}
    stage["driven"] = {"free": [7.5, 20] if bare else ["75 mm", "20 cm"]}
    stage["centres"] = [25, 35] if bare else ["250 mm", "35 cm"]
    stage["travel"] = 6 if bare else "0.06 m"
    assert load_scenario(file_of(tables), "x").stages == in_mm.stages
