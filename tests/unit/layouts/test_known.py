"""A machine whose every diameter and belt is stated."""

from __future__ import annotations

import pytest

from optimizer.errors import ScenarioError
from optimizer.layouts import known_machine
from optimizer.scenario import load_scenario
from tests.machines import GRINDER, OLD_SAW


def test_known_machine_has_its_outside_diameters_slowest_first() -> None:
    """Datum diameters gain 6.6 mm over the rim (GOST 20889-88, read), steps come in the order of rising speed."""
    (stage,) = known_machine(load_scenario(OLD_SAW, "saw.toml")).stages
    assert stage.driver_outside_mm == pytest.approx((86.6, 116.6, 146.6))
    assert stage.driven_outside_mm == pytest.approx((178.6, 152.1, 121.1))
    assert (stage.marking, stage.datum_length_mm) == ("A 1120 mm", 1120.0)


def test_cones_may_be_listed_from_the_fast_end() -> None:
    """Both cones written the other way round are the same machine."""
    turned = OLD_SAW.replace("[80, 110, 140]", "[140, 110, 80]").replace("[172, 145.5, 114.5]", "[114.5, 145.5, 172]")
    there, back = (known_machine(load_scenario(text, "saw.toml")) for text in (OLD_SAW, turned))
    assert there == back


def test_every_open_choice_is_named() -> None:
    """A side to be turned, several belts, several numbers of positions are all told at once."""
    text = GRINDER.replace("positions = 4", "positions = [3, 4]")
    with pytest.raises(ScenarioError) as caught:
        known_machine(load_scenario(text, "grinder.toml"))
    assert [fault.where for fault in caught.value.faults] == [
        "stage[0].positions",
        "stage[0].driver",
        "stage[0].driven",
        "stage[0].belt.lengths",
    ]
