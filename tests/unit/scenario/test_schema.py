"""The published schema says what the reader accepts."""

from __future__ import annotations

import json
import tomllib

import pytest
from jsonschema import Draft202012Validator

from optimizer.scenario import scenario_schema
from tests.unit.scenario.bases import ONE, TWO

SHORTER = ONE.replace("[250, 350]", '"12 in"').replace("positions = 4", "positions = [3, 4]")
REASONED = TWO.replace("largest_blank = 240", 'largest_blank = { value = 240, reason = "swing" }\nlayer = "17.7 mm"')
GEARED = (
    TWO.replace('to = "spindle"', 'to = "gear"')
    + '\n[[stage]]\nfrom = "gear"\nto = "spindle"\nratio = 0.5\n\n[[shaft]]\nname = "gear"\n'
)


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    """Return a validator of the published schema."""
    return Draft202012Validator(scenario_schema())


def test_the_schema_is_a_schema() -> None:
    """The schema itself follows JSON schema, draft 2020-12, and is plain JSON without infinities."""
    schema = scenario_schema()
    Draft202012Validator.check_schema(schema)
    assert json.loads(json.dumps(schema, allow_nan=False)) == schema


@pytest.mark.parametrize("text", [ONE, TWO, SHORTER, REASONED, GEARED])
def test_good_files_follow_the_schema(text: str, validator: Draft202012Validator) -> None:
    """What the reader accepts the schema accepts, short ways to write it included."""
    assert [error.message for error in validator.iter_errors(tomllib.loads(text))] == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("travel = 60", "travle = 60"),
        ("travel = 60", "travel_mm = 60"),
        ('units = "mm"', 'units = "furlong"'),
        ('title = "Buffing head"\n', ""),
        ("positions = 4", "positions = 7"),
        ("[250, 350]", "[250, 300, 350]"),
        ("travel = 60", 'travel = { value = 60, reason = "x" }'),
        ('units = "mm"', 'units = "mm"\nsha256 = "0"'),
    ],
)
def test_broken_files_do_not_follow_the_schema(old: str, new: str, validator: Draft202012Validator) -> None:
    """Unknown keys, wrong words, missing keys, bad shapes are refused by the schema too."""
    assert not validator.is_valid(tomllib.loads(ONE.replace(old, new)))


def test_every_key_is_described_or_plain() -> None:
    """Every default in the schema carries its unit, since a bare number would be in the file's."""
    schema = scenario_schema()
    for table in schema["$defs"].values():
        for described in table.get("properties", {}).values():
            assert not isinstance(described.get("default"), float), described
