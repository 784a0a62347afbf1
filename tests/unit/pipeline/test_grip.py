"""The greatest grip, preferred to evenness."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.errors import NoDesignError, ScenarioError
from optimizer.pipeline.design import design
from optimizer.pipeline.options import DesignOptions
from optimizer.scenario import Scenario, load_scenario
from tests.unit.pipeline.test_extreme_machines import TEXT as EDGE

SCENARIOS = Path(__file__).parents[3] / "scenarios"


def read(name: str, *changes: tuple[str, str]) -> Scenario:
    """Return a shipped scenario with changes in its text."""
    text = (SCENARIOS / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return load_scenario(text, f"{name}.toml")


@pytest.mark.parametrize("name", ["drum-sander", "grindstone"])
def test_preferring_grip_gives_no_less_of_it_within_its_slack(name: str) -> None:
    """Against the first proposal the grip is no lower, the bands are met, and J is no more than the slack above."""
    scenario = read(name)
    plain, gripping = design(scenario), design(scenario, DesignOptions(prefer="grip"))
    assert gripping.preferred == "grip"
    assert gripping.series.j <= plain.proof.listed + scenario.series.grip_slack + 1e-9
    assert not gripping.failed
    assert [len(band.speeds_rpm) for band in gripping.bands] >= [band.want for band in gripping.bands]
    assert "grip of" in gripping.refinement.why


def test_without_a_power_grip_cannot_be_preferred() -> None:
    """Where nobody says what the motor gives, the call is refused with what to state."""
    scenario = read("drum-sander", ('power = "', '# power = "'))
    assert scenario.motor.power_kw is None
    with pytest.raises(ScenarioError) as caught:
        design(scenario, DesignOptions(prefer="grip"))
    assert [str(fault) for fault in caught.value.faults] == [
        "--prefer: without a power it is not known what the belts must carry; got grip; allowed: evenness, timber, "
        "disc; try: state power under [motor]"
    ]


def test_belts_of_which_nothing_is_known_are_refused_where_grip_counts() -> None:
    """A ribbed belt cannot be preferred by grip, nor held to a limit of it, and both say so."""
    ribbed = (
        ('belt = "A"', 'belt = "PJ 6"'),
        ("free = [75, 200]", "free = [40, 120]"),
        ("free = [75, 200]", "free = [40, 120]"),
    )
    scenario = load_scenario(_changed(EDGE, *ribbed), "grinder.toml")
    with pytest.raises(ScenarioError, match="no source is known that tells what a belt of section PJ 6 carries"):
        design(scenario, DesignOptions(prefer="grip"))
    held = load_scenario(_changed(EDGE, *ribbed, ("[work]", "[series]\nleast_grip = 1\n[work]")), "grinder.toml")
    with pytest.raises(NoDesignError, match="grip is a limit, but no source is known"):
        design(held)


def _changed(text: str, *changes: tuple[str, str]) -> str:
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return text
