"""What papers and screens say of shafts, keys, balance, starting."""

from __future__ import annotations

from optimizer.documents.design import speeds_screen
from optimizer.documents.shafts import (
    balance_table,
    key_table,
    run_up_table,
    shaft_table,
    shaft_words,
    shafts_sections,
    stress_table,
)
from optimizer.pipeline.known import tell_known
from optimizer.records.known import KnownMachine
from optimizer.scenario import load_scenario
from tests.unit.documents.listed import on_paper

DRILL = """
title = "Pillar drill"
units = "UNITS"

[motor]
speed = "1420 rpm"
power = "0.37 kW"
torque_class = "N"
frame = "IEC 71"

[work]
inertia = "0.02 kg m2"

[[shaft]]
name = "spindle"
diameter = "20 mm"
mount = "slide"
bearings = ["0 mm", "100 mm"]

[[stage]]
from = "motor"
to = "spindle"
positions = 2
centres = ["250 mm", "400 mm"]
travel = "70 mm"
belt = { section = "A", lengths = ["1120 mm"], measured = "datum" }
driver = { kept = ["90 mm", "125 mm"], material = "metal", pitch = "20 mm" }
driven = { kept = ["160 mm", "125 mm"], material = "metal", pitch = "20 mm", along = "40 mm" }
"""


def told(units: str, *edits: tuple[str, str]) -> KnownMachine:
    """Return the drill, in a maker's units."""
    text = DRILL.replace("UNITS", units)
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    return tell_known(load_scenario(text, "drill.toml"))


def test_tables_in_millimetres() -> None:
    """Heads carry their units, a key its depths t1, t2 with the sizes over both seats, a cone the place papers use.

    The motor idles at 1500 rpm: rims of 131.6 and 166.6 mm run 10.3 and 13.1 m/s, which may keep 3 g·m by the
    standard; what the kept cones weigh nobody says, so that no grams are told: the grade may leave far less.
    """
    known = told("mm")
    shafts, machine = known.shafts, known.machine
    (strong,) = shaft_table(shafts, "mm").rows
    assert strong[0] == "spindle"
    assert strong[5] == "20.00"
    keys = {row[0]: row for row in key_table(shafts, "mm").rows}
    assert keys["spindle"][1:7] == ("20.00", "6.00 x 6.00", "3.50", "2.80", "16.50", "22.80")
    assert keys["motor"][1:7] == ("14.00", "5.00 x 5.00", "3.00", "2.30", "11.00", "16.30")
    assert [row[0] for row in balance_table(shafts, machine, "mm").rows] == ["stage 1, driver", "stage 1, driven"]
    assert [row[2:6] for row in balance_table(shafts, machine, "mm").rows] == [
        ("not known", "3.00", "", "65.80"),
        ("not known", "3.00", "", "83.30"),
    ]
    assert run_up_table(shafts, "mm").heads[2] == "torque counted on N m"


def test_tables_in_inches() -> None:
    """Inch files get inch keys without t1, t2, loads in pounds, unbalance in ounce-inches: 3 g·m = 4.17 oz·in."""
    known = told("in")
    keys = key_table(known.shafts, "in")
    assert "t1 in" not in keys.heads
    assert {row[0]: row[2] for row in keys.rows}["spindle"] == "0.188 x 0.188"
    balance = balance_table(known.shafts, known.machine, "in")
    assert balance.heads[3:5] == ("unbalance left oz in", "at the rim g")
    assert [row[3:5] for row in balance.rows] == [("4.17", "")] * 2
    inches, metric = (stress_table(known.shafts, known.machine, units).rows for units in ("in", "mm"))
    for inch, mm in zip(inches, metric, strict=True):
        assert abs(float(inch[2]) * 0.3048 / 60 / float(mm[2]) - 1) < 0.02
        assert abs(float(inch[4]) / 145.04 / float(mm[4]) - 1) < 0.02


def test_sentences_of_the_screen() -> None:
    """The screen says what a shaft needs and the longest run-up, within its width; nothing where nothing is stated."""
    known = told("mm")
    needs, run_up = shaft_words(known.shafts, known.machine, "mm")
    assert needs.startswith("Shafts: spindle needs ")
    assert needs.endswith(" with the pulls in the worst directions, has 20.00")
    assert "takes" in run_up
    screen = speeds_screen(known)
    assert "Shafts: spindle needs" in screen
    assert max(map(len, screen.splitlines())) <= 80
    bare = told("mm", ('[work]\ninertia = "0.02 kg m2"\n', ""), ('bearings = ["0 mm", "100 mm"]\n', ""))
    assert list(shaft_words(bare.shafts, bare.machine, "mm")) == []


def test_a_belt_that_carries_nothing_brings_nothing_up() -> None:
    """Where a belt runs far beyond its speed the run-up is said to fail, and no figure is infinite."""
    known = told("mm", ('speed = "1420 rpm"', 'speed = "14000 rpm"'))
    assert any(run.seconds is None for run in known.shafts.run_ups)
    assert any("do not bring the heaviest work up" in line for line in shaft_words(known.shafts, known.machine, "mm"))
    assert any(row[3] == "never" for row in run_up_table(known.shafts, "mm").rows)
    assert "Infinity" not in known.model_dump_json()


def test_the_paper_warns_beside_its_figures() -> None:
    """Cautions open the section: no key in plywood alone, cracked pulleys, guards, a competent person for wiring.

    Those on timber are left out where all cones are of metal.
    """
    known = told("mm", ('material = "metal"', 'material = "timber"'))
    text = on_paper(*shafts_sections(known.shafts, known.machine, "mm"))
    for words in ("Never key plywood alone", "cracks", "Guard belts", "competent person", "No published limit"):
        assert words in text
    assert text.index("Never key") < text.index("| shaft |")
    metal = told("mm")
    assert "plywood" not in " ".join(metal.shafts.cautions)
    assert "wooden" not in " ".join(metal.shafts.cautions)
    assert "timber" not in " ".join(metal.cautions)


def test_a_flat_is_told_in_place_of_a_key() -> None:
    """A NEMA 48 has no key, but 29/64 in = 11.51 mm over the flat of its 1/2 in shaft."""
    known = told("mm", ('frame = "IEC 71"', 'frame = "NEMA 48"'))
    assert [key.shaft for key in known.shafts.keys] == ["spindle"]
    text = on_paper(*shafts_sections(known.shafts, known.machine, "mm"))
    assert "The shaft of NEMA 48 has a flat and no keyway, 11.51 mm over the flat" in text


def test_stress_stands_beside_a_strength_and_where_they_meet() -> None:
    """A metal ring of 7850 kg/m³ at 13.085 m/s has 1.344 MPa; 150 are reached at 1500·sqrt(111.6) = 15,850 rpm.

    It is told in two digits, as a calculation that is no licence; nothing where the material is not stated.
    """
    known = told("mm")
    (_, driven) = stress_table(known.shafts, known.machine, "mm").rows
    assert driven[5:] == ("1.34", "150", "16000")
    text = on_paper(*shafts_sections(known.shafts, known.machine, "mm"))
    assert "no licence to run so fast" in text and "grey cast iron" in text
    unknown = told("mm", (', material = "metal"', ""))
    assert [row[3:4] + row[6:] for row in stress_table(unknown.shafts, unknown.machine, "mm").rows] == [
        ("not stated, taken as steel", "", "")
    ] * 2


def test_the_screen_tells_what_turned_cones_may_keep() -> None:
    """A cone that is turned is told its grams at the rim, with the radius; an existing one is not.

    2 kg by G16 at 1500 rpm (157.08 rad/s): 2·16/157.08 = 0.2037 g·m, 0.2037/0.0833 = 2.446 g.
    """
    known = told("mm")
    driven = known.shafts.cones[1]
    turned = driven.model_copy(update={"mass_kg": 2.0, "unbalance_g_m": 0.2037, "at_rim_g": 2.446, "two_planes": True})
    shafts = known.shafts.model_copy(update={"cones": (known.shafts.cones[0], turned)})
    (said,) = [line for line in shaft_words(shafts, known.machine, "mm") if line.startswith("Unbalance")]
    assert said == (
        "Unbalance left at most: stage 1, driven, 2.4 g at its rim, 83.30 mm from the axis (balance in two planes)"
    )
    assert not [line for line in shaft_words(known.shafts, known.machine, "mm") if line.startswith("Unbalance")]
