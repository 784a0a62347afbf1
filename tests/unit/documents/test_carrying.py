"""What papers and screens say of power, torque and pulls, word for word."""

from __future__ import annotations

import json
import re

import jsonschema
import pytest

from optimizer.documents.carrying import grip_words, load_table, pull_table, torque_table
from optimizer.documents.checks import troubles
from optimizer.documents.data import record_json, schema_of
from optimizer.documents.design import design_files, speeds_screen
from optimizer.pipeline.known import tell_known
from optimizer.records.design import Design
from optimizer.records.known import KnownMachine
from optimizer.scenario import load_scenario
from tests.machines import OLD_SAW


@pytest.fixture(scope="module")
def strong() -> KnownMachine:
    """Return the old saw with a motor of 0.75 kW."""
    return tell_known(load_scenario(OLD_SAW.replace('"1420 rpm"', '"1420 rpm"\npower = "0.75 kW"'), "saw.toml"))


def test_torque_and_grip_stand_beside_every_speed(strong: KnownMachine) -> None:
    """One row a speed: torque with three digits, what limits it, grip, the belt that would slip first."""
    assert strong.carrying is not None
    table = torque_table(strong.carrying, strong.machine, "mm")
    assert table.heads == ("speed", "rpm", "torque N m", "limited by", "grip", "first to slip")
    assert [row[0] for row in table.rows] == ["1", "2", "3"]
    for row, told in zip(table.rows, strong.carrying.speeds, strict=True):
        assert told.grip is not None
        assert row[4] == f"{told.grip:.2f}"
        assert row[3] == ("motor" if told.grip >= 1 else "belt")
        assert row[5] == f"stage 1, position {told.number}"


def test_pulls_and_sources_stand_beside_every_position(strong: KnownMachine) -> None:
    """Each position has its belt's pulls and the source that says the least."""
    assert strong.carrying is not None
    pulls = pull_table(strong.carrying, strong.machine, "mm")
    assert [row[:2] for row in pulls.rows] == [("stage 1", str(n)) for n in (1, 2, 3)]
    for row in pulls.rows:
        rest, tight, slack, shaft = map(float, row[3:])
        assert tight > rest > slack > 0
        assert slack < shaft < 1.01 * (tight + slack)
    assert {row[-1] for row in load_table(strong.carrying, strong.machine, "mm").rows} == {"source 1"}


def test_screens_and_papers_stay_in_the_makers_units(mixer: Design) -> None:
    """In inches, power is in horsepower, pulls in pounds-force, torque in pound-force feet."""
    assert mixer.carrying is not None
    heads = torque_table(mixer.carrying, mixer.machine, "in").heads
    heads += (
        load_table(mixer.carrying, mixer.machine, "in").heads + pull_table(mixer.carrying, mixer.machine, "in").heads
    )
    assert {"torque lbf ft", "belt ft/min", "carries hp", "tight lbf"} <= set(heads)
    paper = design_files(mixer)["design.md"].decode()
    assert "## Power and pulls" in paper
    assert "oil, dust and a bad groove carry less" in paper
    assert "- source 1: " in paper


def test_a_known_machine_tells_its_pulls_too(strong: KnownMachine) -> None:
    """The screen has both tables within its width; the document obeys its schema."""
    screen = speeds_screen(strong)
    assert "\nPower\nspeed" in screen
    assert "\nPulls, where each belt has least to spare\nbelt of" in screen
    assert max(map(len, screen.splitlines())) <= 80
    jsonschema.validate(json.loads(record_json(strong)), schema_of(KnownMachine))


def test_without_a_power_only_what_belts_can_is_told(saw: KnownMachine) -> None:
    """A machine of which no power is stated has torques by its belts, neither grip nor pulls."""
    assert saw.carrying is not None
    assert {row.limited_by for row in saw.carrying.speeds} == {"stage[0]"}
    assert grip_words(saw.carrying) == "What the belts must carry is not stated, so that nothing is said of grip."
    assert "Pulls, where" not in speeds_screen(saw)


def test_the_other_line_is_told_plainly(saw: KnownMachine) -> None:
    """A reader learns on which line speeds are computed, and what the outside diameters would make of them."""
    said = " ".join(speeds_screen(saw).split())
    assert "Speeds are computed on the pitch line; by outside diameters ratios would differ by up to 4.2 %" in said


def test_a_belt_that_slips_is_told_in_horsepower_where_lengths_are_in_inches() -> None:
    """A warning's powers have three digits, in the unit that goes with the file's."""
    text = OLD_SAW.replace('"1420 rpm"', '"1420 rpm"\npower = "3 hp"')
    known = tell_known(load_scenario(text, "saw.toml"))
    (said, *_) = [line for line in troubles(known.checks, known.machine, "in") if "belt carries" in line]
    assert re.search(r"belt carries is [\d.]{3,5} hp, limit 3 hp: a belt that carries less slips", said)
    assert "limit 2.24 kW" in next(line for line in troubles(known.checks, known.machine, "mm") if "carries" in line)
