"""The scenario that is written says what was answered, in a maker's words."""

from __future__ import annotations

import re
import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.asking import Given, filled, scenarios_of
from optimizer.asking.answer import Written
from optimizer.errors import ScenarioError

PLATE: dict[str, Written] = {"motor_speed": "1725 rpm", "motor_power": "1/2 hp", "purpose": "faceplate"}


def text_of(**answers: Written) -> str:
    """Return the scenario of a machine."""
    return scenarios_of(filled(Given({**PLATE, **answers})).answers)[0].text


def test_every_value_has_a_comment() -> None:
    """The line before each key is a comment in words."""
    lines = text_of().splitlines()
    keys = [number for number, line in enumerate(lines) if re.match(r"[a-z_]+ = ", line)]
    assert len(keys) > 20
    assert all(re.match(r"# \w", lines[number - 1]) for number in keys)


def test_stated_values_are_told_from_suggested_ones() -> None:
    """What the maker said is not called suggested, what was suggested is."""
    text = text_of(largest_blank="10 1/4")
    assert '# The largest disc that can be glued up and swung.\nlargest_blank = "10 1/4"' in text
    assert re.search(r"# Diameter lost in turning a blank true\. Suggested: .*\n(# .*\n)*truing = ", text)


def test_sizes_of_work_are_kept_beside_the_speeds_worked_out_from_them() -> None:
    """Wood of 4 to 8 in at 10 m/s: 600 000/(π·203.2) = 939.9 and 600 000/(π·101.6) = 1879.7 rpm, to three digits."""
    read = tomllib.loads(text_of(speeds_by="sizes", surface_speed="10 m/s", sizes="rings: 4 to 8 in"))
    (band,) = read["band"]
    assert (band["from"], band["to"]) == (940, 1880)
    assert (band["work"], band["surface_speed"]) == (["4 in", "8 in"], ["10 m/s", "10 m/s"])


def test_drawer_discs_and_belts_reach_the_stages() -> None:
    """Sheaves go to the motor's side, discs to all, lengths to the belt."""
    read = tomllib.loads(
        text_of(
            units="mm",
            section="A",
            sheaves="80, 90, 100",
            discs="200, 220, 240",
            belt_lengths="1000, 1120",
            travel="90",
        )
    )
    first, *_ = read["stage"]
    assert first["driver"]["ready"] == [80, 90, 100]
    assert first["driven"] == {"blanks": [200, 220, 240]}
    assert first["belt"] == {"section": "A", "lengths": [1000, 1120], "measured": "datum"}


def test_what_the_motor_stands_on_is_asked_for_where_its_height_is_known() -> None:
    """A shaft of 19 mm tells the frame: what it stands on reaches under its pulleys unless the answer is no."""
    stands = {"units": "mm", "section": "A", "motor_shaft": "19 mm"}
    assert tomllib.loads(text_of(**stands))["motor"]["plate"] is True
    assert tomllib.loads(text_of(**stands, motor_stand="no"))["motor"]["plate"] is False
    assert "plate" not in tomllib.loads(text_of(units="mm", section="A", motor_shaft="20 mm"))["motor"]


def test_what_steps_are_turned_from_is_stated_by_its_name() -> None:
    """Cast iron is written as the material of every side that is turned; timber is the default and is not."""
    sides = tomllib.loads(text_of(units="mm", section="A", steps="cast iron"))["stage"][0]
    assert {sides[name]["material"] for name in ("driver", "driven")} == {"cast iron"}
    assert "material" not in tomllib.loads(text_of(units="mm", section="A", steps="timber"))["stage"][0]["driver"]


def test_what_is_in_hand_is_stated_once_with_its_count() -> None:
    """Counted sheaves, discs and belts stand under in_hand, and the sides say that they may be used."""
    read = tomllib.loads(
        text_of(
            units="mm", section="A", sheaves="2 x 80, 71+90 mm, 100", discs="4 x 200, 240", belts_in_hand="2 x 1120"
        )
    )
    assert read["in_hand"] == {
        "sheave": [
            {"section": "A", "steps": [80], "count": 2},
            {"section": "A", "steps": ["71 mm", "90 mm"], "count": 1},
        ],
        "disc": [{"diameter": 200, "count": 4}],
        "belt": [{"section": "A", "length": 1120, "measured": "datum", "count": 2}],
    }
    first, *_ = read["stage"]
    assert first["driver"] == {"ready": [100], "sheaves_in_hand": True, "blanks": [240], "discs_in_hand": True}
    assert first["driven"] == {"sheaves_in_hand": True, "blanks": [240], "discs_in_hand": True}


@settings(max_examples=40, deadline=None)
@given(st.text(min_size=1, max_size=80))
def test_any_title_that_is_taken_is_kept(title: str) -> None:
    """Quotes, backslashes, right-to-left and CJK names come back, or are refused by the reader of scenarios."""
    try:
        text = text_of(title=title)
    except ScenarioError as error:
        assert {fault.where for fault in error.faults} == {"title"}
        return
    typed = title.strip()
    assert tomllib.loads(text)["title"] in (typed, typed[1:-1])
