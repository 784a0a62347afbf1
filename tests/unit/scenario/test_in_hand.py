"""What is in hand as a scenario knows it: which side may use what, on which line."""

from __future__ import annotations

import pytest

from optimizer.scenario import BeltStage, Scenario, load_scenario
from optimizer.scenario.in_hand import takes
from tests.unit.scenario.bases import ONE

THERE = """
[[in_hand.sheave]]
section = "A"
steps = 112.6
measured = "outside"
[[in_hand.sheave]]
section = "B"
steps = [140, 180]
[[in_hand.disc]]
diameter = "6 in"
[[in_hand.belt]]
section = "A"
length = "40 in"
measured = "outside"
count = 3
"""


def stated(driver: str, there: str = THERE) -> Scenario:
    """Return a machine with a drawer and this driver."""
    return load_scenario(ONE.replace("driver = { free = [75, 200] }", f"driver = {driver}") + there, "machine.toml")


def stage_of(scenario: Scenario) -> BeltStage:
    """Return its one stage."""
    (stage,) = scenario.stages
    assert isinstance(stage, BeltStage)
    return stage


@pytest.mark.parametrize(
    ("driver", "numbers"),
    [
        ("{ sheaves_in_hand = true }", [0]),
        ("{ sheaves_in_hand = false, free = [75, 200] }", []),
        ("{ free = [75, 200] }", []),
    ],
)
def test_a_side_takes_sheaves_of_its_belts_section_where_it_says_so(driver: str, numbers: list[int]) -> None:
    """A belt of section A does not run in a groove for B, and nobody's drawer is used unasked."""
    scenario = stated(driver)
    stage = stage_of(scenario)
    there = scenario.in_hand.sheaves
    assert [number for number, sheave in enumerate(there) if takes(stage, stage.driver, sheave)] == numbers
    assert not any(takes(stage, stage.driven, sheave) for sheave in there)


def test_sheaves_and_discs_come_to_a_side_on_its_own_line() -> None:
    """112.6 mm over the rim are 106.0 datum and 123.0 over pins (GOST 20889-88, read: 6.6 and 17.0 mm)."""
    datum = stage_of(stated("{ sheaves_in_hand = true }")).driver
    pins = stage_of(stated('{ sheaves_in_hand = true, measured = "over pins" }')).driver
    outside = stage_of(stated('{ sheaves_in_hand = true, discs_in_hand = true, measured = "outside" }')).driver
    assert (*datum.hand_mm, *pins.hand_mm, *outside.hand_mm) == pytest.approx((106.0, 123.0, 112.6))
    assert outside.hand_discs_mm == pytest.approx((152.4,))
    assert datum.hand_discs_mm == ()


def test_what_is_left_out_is_filled_in() -> None:
    """One of each; grooves by the datum line, as they are sold; a single diameter is a list of one."""
    first, second = stated("{ sheaves_in_hand = true }").in_hand.sheaves
    assert (first.count, first.steps_mm) == (1, (112.6,))
    assert (second.measured, second.steps_mm) == ("datum", (140.0, 180.0))


def test_a_belt_in_hand_has_its_datum_length() -> None:
    """40 in outside are 1016 − 2π·3.3 = 995.27 mm along the datum line, 3.3 mm below the top (GOST 1284.3-96, read)."""
    scenario = stated("{ free = [75, 200] }")
    (belt,) = scenario.in_hand.belts
    assert belt.datum_length_mm == pytest.approx(995.27, abs=0.01)
    assert belt.count == 3
    assert stage_of(scenario).belt.hand_mm == (belt.datum_length_mm,)


def test_a_cone_may_be_listed_in_any_units_with_open_steps_between() -> None:
    """4 1/2 in is 114.3 mm; open steps are nothing, and the cone is not whole."""
    text = ONE.replace(
        "driven = { free = [75, 200] }", 'driven = { kept = [80, "open", "4 1/2 in", "open"], free = [75, 200] }'
    )
    driven = stage_of(load_scenario(text, "machine.toml")).driven
    assert [size is None for size in driven.kept_mm] == [False, True, False, True]
    assert driven.kept_open
    assert driven.kept_fixed_mm == pytest.approx((80.0, 114.3))


def test_a_machine_without_a_drawer_has_nothing_in_hand() -> None:
    """Where nothing is stated, nothing is there, and no side asks for it."""
    scenario = load_scenario(ONE, "machine.toml")
    there = scenario.in_hand
    assert (there.sheaves, there.discs, there.belts) == ((), (), ())
    assert stage_of(scenario).driver.pulleys_mm == ()
