"""How often belts are bent."""

from __future__ import annotations

from math import pi

import pytest

from tests.unit.checks.machines import BASE, TWO_STAGES, built, machine, named, scenario, skipped

# Every turn of the belt bends a place of it once on each of two pulleys: 2 v / L. Driver 90, 125, 160 mm at 1400 rpm,
# belt 1120 mm: v = 6.597, 9.163, 11.729 m/s, so 11.78, 16.36, 20.94 bends a second.


def test_the_position_that_bends_most_is_checked_with_the_others_told() -> None:
    """The largest driver makes the belt fastest, and the note tells every position's rate."""
    (check,) = named(scenario(BASE), machine(), "bends of the belt")
    assert check.where == "stage[0], position 3"
    assert check.value == pytest.approx(20.94, abs=5e-3)
    assert check.note == "driver at 1400 rpm; by position 11.8, 16.4, 20.9"
    assert (check.kind, check.limit, check.passed) == ("advice", 40.0, True)


def test_a_step_up_bends_its_belt_more_often() -> None:
    """A driver of 160 mm at 3000 rpm round 1120 mm is above 40 bends a second, with or without a stated power."""
    fast = scenario(BASE, ("speed = 1400\nidle = 1400", "speed = 3000"), ("never_above = 3000", "never_above = 6000"))
    (check,) = named(fast, machine(), "bends of the belt")
    assert not check.passed
    assert check.value == pytest.approx(2 * pi * 0.160 * 3000 / 60 / 1.120)


def test_later_belts_are_taken_at_their_fastest() -> None:
    """The second stage's driver runs as fast as the first stage makes it: 1400 · 160/125 rpm."""
    stages = built((90, 160), (160, 125)), built((90, 125, 160), (160, 125, 90), key="stage[1]")
    checks = named(scenario(TWO_STAGES), machine(*stages), "bends of the belt")
    assert checks[1].value == pytest.approx(2 * pi * 0.160 * 1400 * 160 / 125 / 60 / 1.120)


def test_other_belts_are_told_without_a_limit() -> None:
    """No usual rate is known for round belts, so that nothing is checked."""
    text = scenario(
        BASE, ('belt = { section = "A", lengths = [1120] }', 'belt = { section = "round 8", lengths = "any" }')
    )
    stage = built((90, 125, 160), (160, 125, 90)).model_copy(update={"section": "round 8", "marking": "round 8"})
    assert skipped(text, machine(stage))["bends of the belt"] == {"stage[0]"}
    assert not named(text, machine(stage), "bends of the belt")
