"""Suggestions alone make a machine that can be checked, and designed."""

from __future__ import annotations

from itertools import pairwise

import pytest

from optimizer.asking import Given, filled, hindrance, scenarios_of
from optimizer.asking.answer import Written
from optimizer.asking.purposes import PURPOSES
from optimizer.pipeline.design import design
from optimizer.pipeline.options import DesignOptions
from tests.sampled import sampled

PLATES = (
    ("1420 rpm", "0.75 kW"),
    ("2850 rpm", "1.1 kW"),
    ("1725 rpm", "1/2 hp"),
    ("3450 rpm", "1 hp"),
    ("940 rpm", "3 kW"),
)
DESIGNED = (
    ("drill", PLATES[0]),
    ("grinder", PLATES[1]),
    ("faceplate", PLATES[0]),
    ("shaper", PLATES[2]),
    ("mill", PLATES[2]),
    ("polisher", PLATES[3]),
)
BOTH = [(purpose.name, plate) for purpose in PURPOSES for plate in PLATES]


def answers(purpose: str, plate: tuple[str, str], **more: Written) -> Given:
    """Return a motor's plate, what the machine is for, and whatever else is answered."""
    return Given({"motor_speed": plate[0], "motor_power": plate[1], "purpose": purpose, **more})


@pytest.mark.parametrize(("purpose", "plate"), [BOTH[number] for number in sampled(range(len(BOTH)), every=3)])
def test_plate_and_purpose_make_a_scenario_that_is_accepted(purpose: str, plate: tuple[str, str]) -> None:
    """All that is not answered is suggested such that nothing is wrong and some layout can be searched."""
    every = ("mm", "cm", "in")
    for units in every if plate == PLATES[0] else (every[PLATES.index(plate) % 3],):
        for shafts in ("one stage", "countershaft", "both"):
            found = filled(answers(purpose, plate, units=units, shafts=shafts))
            for machine in scenarios_of(found.answers):
                assert hindrance(machine.scenario) == ""


@pytest.mark.parametrize(("purpose", "plate"), [DESIGNED[number] for number in sampled(range(6), every=2)])
def test_plate_and_purpose_make_a_machine_that_can_be_designed(purpose: str, plate: tuple[str, str]) -> None:
    """Metric and inch plates, five purposes and more: the suggestions alone have a design that passes."""
    (machine,) = scenarios_of(filled(answers(purpose, plate)).answers)
    assert machine.scenario.units == ("in" if "hp" in plate[1] else "mm")
    assert not design(machine.scenario, DesignOptions()).failed


@pytest.mark.parametrize("purpose", [purpose.name for purpose in PURPOSES])
def test_bands_of_a_usual_machine_meet_or_stand_apart(purpose: str) -> None:
    """Rounding leaves no two suggested bands overlapping."""
    (machine,) = scenarios_of(filled(answers(purpose, PLATES[0])).answers)
    bands = sorted(machine.scenario.bands, key=lambda band: band.from_rpm)
    assert all(lower.to_rpm <= upper.from_rpm for lower, upper in pairwise(bands))


def test_a_wheel_is_said_to_burst() -> None:
    """Whoever asks for a grinder is told of the speed marked on the wheel, and so is the file."""
    found = filled(answers("grinder", PLATES[0]))
    assert any("can burst" in remark for remark in found.remarks)
    assert "can burst" in " ".join(scenarios_of(found.answers)[0].text.replace("\n# ", " ").split())


def test_what_cannot_be_reached_is_cut_and_said_to_be() -> None:
    """A wet stone of 250 mm at 1.5 m/s wants 115 rpm, which an A belt on 240 mm discs does not come down to."""
    found = filled(answers("wet stone", PLATES[0]))
    assert found.answers.word("speeds_by") == "bands"
    assert "within reach" in found.answers.by_name["bands"].reason


def test_a_narrow_choice_against_the_suggestion_is_remarked_on() -> None:
    """One stage where only a countershaft reaches is taken, with what it costs."""
    found = filled(answers("mill", PLATES[0], shafts="one stage"))
    assert any(remark.startswith("shafts:") and "no design" in remark for remark in found.remarks)
