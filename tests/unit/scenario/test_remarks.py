"""What is legal but costly is remarked on, nothing else is."""

from __future__ import annotations

import pytest

from optimizer.scenario import load_scenario
from tests.unit.scenario import bases
from tests.unit.scenario.bases import ONE

TWO = bases.TWO.replace("reversible = true", 'reversible = true, material = "timber"')
BAND = '[[band]]\nname = "all"\nfrom = 700\nto = 2800\nwant = 3\n'


def remarks(text: str, *changes: tuple[str, str]) -> tuple[str, ...]:
    """Return the remarks on a good file after changes."""
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return load_scenario(text, "machine.toml").remarks


@pytest.mark.parametrize("text", [ONE, TWO])
def test_a_sound_file_is_not_remarked_on(text: str) -> None:
    """A machine with nothing costly in it gets no remark."""
    assert remarks(text) == ()


@pytest.mark.parametrize(
    ("text", "changes", "remark"),
    [
        (
            ONE,
            [('"1420 rpm"', "1500")],
            "motor.speed: 1500 rpm is the speed of the field, not of the shaft; "
            "the full-load speed on the nameplate is a few per cent lower.",
        ),
        (
            TWO,
            [("to = 600", "to = 700")],
            'band[0] and band[1]: "low" and "high" overlap from 600 to 700 rpm; a speed there counts in both.',
        ),
        (
            TWO,
            [("to = 600", "to = 250"), ("from = 600", "from = 1500")],
            "band[0] and band[1]: the gap from 250 to 1500 rpm is wider than two steps of 8 even speeds; "
            "it costs evenness or a speed.",
        ),
        (
            ONE,
            [(BAND, "")],
            "band: no band is stated; the speeds can be told, but a design needs at least one [[band]].",
        ),
        (
            ONE,
            [("want = 3", "want = 5")],
            "band: 5 speeds are wanted, but the stages make at most 4; no design can meet that.",
        ),
        (
            ONE,
            [('units = "mm"', 'units = "in"'), ("[250, 350]", "[10, 14]"), ("travel = 60", "travel = 2")]
            + 2 * [("[75, 200]", "[3, 8]")],
            'making.turn_to: 0.5 mm is no fraction of an inch; write the finest you turn, such as "1/64 in".',
        ),
        (
            TWO,
            [("largest_blank = 240", "grid = 0.25")],
            "making.grid: the listed sizes are finer than turn_to, so they cannot be turned as listed.",
        ),
        (ONE, [("[[stage]]", '[[shaft]]\nname = "idler"\n\n[[stage]]')], 'shaft[1]: no stage touches "idler".'),
        (
            ONE,
            [('belt = "A"', 'belt = "round 8"'), ("travel = 60\n", "")],
            'shaft[0].mount: "motor" can move, but no stage that it changes states any travel.',
        ),
        (
            ONE,
            [('mount = "slide"', 'mount = "slide"\non = "spindle"')],
            'shaft[0].on: "spindle" does not move, so riding on it is standing on the frame.',
        ),
        (
            ONE,
            [('belt = "A"', 'belt = { section = "A", lengths = "any" }')],
            "stage[0].belt.lengths: an endless belt of section A is sold in set lengths only; "
            "any length means link belt (link = true), or belting joined from the roll.",
        ),
        (
            ONE,
            [("travel = 60", 'travel = 60\nslackened = "unbolt the motor"')],
            "stage[0].slackened: the mount slackens this belt, so this is not needed.",
        ),
        (
            ONE,
            [('belt = "A"', 'belt = "round 8"'), ("travel = 60", "budget = { climb = 5 }"), ('"slide"', '"fixed"')],
            "stage[0].budget: a locked pair has no travel to spend.",
        ),
        (
            TWO,
            [
                ("driver = { free = [75, 220] }", 'driver = { kept = [100, 125, 150, 180], material = "timber" }'),
                ("reversible = true, ", ""),
            ],
            "stage[1]: both kept cones grow towards the same end, so no belt fits them all; "
            "turn one end for end (reversible = true, or the list the other way round).",
        ),
        (
            TWO,
            [("largest_blank = 240", "largest_blank = 220")],
            "stage[0].driven.blanks[2]: 240 mm is over the largest blank, 220 mm; "
            "it is turned no larger than that one.",
        ),
        (
            ONE,
            [("free = [75, 200]", "free = [75, 200], grid = 0.1")],
            "stage[0].driver.free: about 1250 sizes are listed on this side, which makes the search slow.",
        ),
        (
            ONE,
            [("free = [75, 200]", 'free = [75, 200], groove = "flat", measured = "datum"')],
            "stage[0].driver.measured: without a groove the datum line lies outside the rim; "
            "outside is easier to measure.",
        ),
    ],
)
def test_what_costs_something_is_remarked_on(text: str, changes: list[tuple[str, str]], remark: str) -> None:
    """Every costly statement gets its own sentence, and only that one."""
    assert remarks(text, *changes) == (remark,)


SHELF = """
[[in_hand.sheave]]
section = "A"
steps = 112
[[in_hand.sheave]]
section = "B"
steps = 180
[[in_hand.disc]]
diameter = 120
[[in_hand.disc]]
diameter = 400
[[in_hand.belt]]
section = "B"
length = 1250
"""
LAST = "driven = { free = [75, 200] }\n"
FIRST = "driver = { free = [75, 200] }"
SWING = ("[[shaft]]", "[making]\nlargest_blank = 240\n\n[[shaft]]")


def test_what_is_in_hand_and_of_no_use_is_remarked_on() -> None:
    """A drawer that no side asks for, a shelf likewise, a disc too large, a belt for other pulleys are each named."""
    assert remarks(ONE, SWING, (LAST, LAST + SHELF)) == (
        "in_hand.sheave[0]: no side uses it; a side whose belt is of section A does with sheaves_in_hand = true.",
        "in_hand.sheave[1]: no side uses it; a side whose belt is of section B does with sheaves_in_hand = true.",
        "in_hand.disc: no side uses the discs in hand; one does with discs_in_hand = true.",
        "in_hand.disc[1]: it cannot be swung, as 400 mm is above 240 mm, making.largest_blank.",
        "in_hand.belt[0]: no stage runs on a belt of section B.",
    )


def test_what_is_in_hand_and_used_is_not_remarked_on() -> None:
    """Where a side asks for drawer and shelf, only what does not fit there is named."""
    used = (FIRST, "driver = { sheaves_in_hand = true, discs_in_hand = true }")
    fitting = SHELF.replace("diameter = 400", "diameter = 240").replace('"B"\nlength', '"A"\nlength')
    assert remarks(ONE, SWING, (LAST, LAST + fitting), used) == (
        "in_hand.sheave[1]: no side uses it; a side whose belt is of section B does with sheaves_in_hand = true.",
    )
