"""What is skipped says what is missing, and nothing else."""

from __future__ import annotations

import pytest

from optimizer.checks import skipped_checks
from optimizer.checks.stated import read_machine
from optimizer.scenario import Scenario
from tests.unit.checks.machines import BASE, machine, scenario


def why(text: Scenario, name: str, where: str) -> str:
    """Return why a check is skipped at a place."""
    (item,) = [
        item for item in skipped_checks(read_machine(text, machine())) if (item.name, item.where) == (name, where)
    ]
    return item.why


@pytest.mark.parametrize(
    ("diameter", "expected"),
    [
        ("diameter = 25\n", "its torque is not known"),
        ("", "its diameter is not stated"),
        # the smallest row of the table begins above 6 mm (GOST 23360-78)
        ("diameter = 5\n", "the table of metric keys has none for its diameter"),
    ],
)
def test_a_key_that_is_not_checked_says_what_it_lacks(diameter: str, expected: str) -> None:
    """Without a motor's power there is no torque; without a diameter, or with one of no row, there is no key."""
    assert why(scenario(BASE, ("diameter = 25\n", diameter)), "key", "spindle") == expected


def test_the_table_of_keys_is_that_of_the_units() -> None:
    """A shaft of an eighth of an inch in an inch file is looked up among the inch keys."""
    text = scenario(BASE, ("diameter = 25\n", "diameter = 5\n")).model_copy(update={"units": "in"})
    assert why(text, "key", "spindle") == "the table of inch keys has none for its diameter"
