"""Machines out of what is there, from the first check to the papers."""

from __future__ import annotations

import csv
import json
from collections import Counter
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from optimizer.quantities import LENGTH, quantity
from tests.cli.conftest import Run
from tests.processes import forked
from tests.sampled import long
from tests.unit.scenario.bases import ONE

SLOT_CUTTER = Path(__file__).parents[2] / "scenarios" / "slot-cutter.toml"

BEAD_ROLLER = """
title = "Bead roller for sheet edges"
units = "in"
[motor]
speed = "1725 rpm"
[[band]]
name = "soft sheet"
from = 600
to = 1100
want = 2
[[band]]
name = "hard sheet"
from = 1100
to = 2000
want = 1
[making]
largest_blank = 9
truing = "1/8"
turn_to = "1/32"
[[in_hand.disc]]
diameter = "7 1/2"
count = 2
[[in_hand.disc]]
diameter = 6
count = 1
[[in_hand.disc]]
diameter = "5 1/4"
count = 3
[[in_hand.belt]]
section = "4L"
length = 50
measured = "outside"
[[shaft]]
name = "motor"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = [13, 19]
travel = 3.5
belt = "4L"
driver = { discs_in_hand = true }
driven = { discs_in_hand = true }
"""
"""Six discs for six steps, so that every one of them counts."""

COMB_CUTTER = """
title = "Comb cutter with a countershaft"
units = "mm"
[motor]
speed = "1420 rpm"
[[band]]
name = "horn"
from = 300
to = 700
want = 2
[[band]]
name = "wood"
from = 700
to = 2000
want = 2
[[in_hand.sheave]]
section = "A"
steps = [90, 125]
[[in_hand.sheave]]
section = "A"
steps = [80, 140]
[[in_hand.sheave]]
section = "A"
steps = 100
count = 2
[[in_hand.belt]]
section = "A"
length = 1180
count = 2
[[shaft]]
name = "counter"
mount = "hinge"
[[shaft]]
name = "spindle"
mount = "slide"
[[stage]]
from = "motor"
to = "counter"
positions = 2
centres = [250, 420]
travel = 80
belt = "A"
driver = { sheaves_in_hand = true }
driven = { free = [80, 200] }
[[stage]]
from = "counter"
to = "spindle"
positions = 2
centres = [250, 420]
travel = 80
belt = "A"
driver = { sheaves_in_hand = true }
driven = { free = [80, 200] }
"""
"""One drawer for both drivers."""

MACHINES = {"slot-cutter": SLOT_CUTTER.read_text(encoding="utf-8"), "roller": BEAD_ROLLER, "comb": COMB_CUTTER}


@pytest.fixture
def files(run: Run) -> Run:
    """Return the call, with the three machines' files in the folder."""
    for name, text in MACHINES.items():
        Path(f"{name}.toml").write_text(text, encoding="utf-8")
    return run


@cache
def _files(name: str) -> tuple[str, dict[str, bytes]]:
    """Return what is printed of a machine's design with its papers, and their files, made once."""
    with TemporaryDirectory() as place:
        Path(place, f"{name}.toml").write_text(MACHINES[name], encoding="utf-8")
        ran = forked(Path(place), "design", f"{name}.toml", "--papers", "--quiet")
        assert ran.code == 0, ran.err
        return ran.out, {path.name: path.read_bytes() for path in Path(place, f"{name}-design").iterdir()}


def _designed(name: str) -> dict[str, Any]:
    """Lay a machine's design with its papers into the folder."""
    Path(f"{name}-design").mkdir()
    for file, content in _files(name)[1].items():
        Path(f"{name}-design", file).write_bytes(content)
    document: dict[str, Any] = json.loads(Path(f"{name}-design/design.json").read_text(encoding="utf-8"))
    return document


def _steps(document: dict[str, Any], *sources: str) -> list[dict[str, Any]]:
    return [
        position[side]
        for stage in document["machine"]["stages"]
        for position in stage["positions"]
        for side in ("driver", "driven")
        if position[side]["source"] in sources
    ]


def _checks(document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {check["name"]: check for check in document["checks"] if check["where"] == "in_hand"}


@cache
def _inches(text: str) -> float:
    return quantity(text, LENGTH, "in")


@pytest.mark.parametrize("name", MACHINES)
def test_check_finds_nothing_wrong(files: Run, name: str) -> None:
    """A machine out of what is there is a sound scenario with layouts to search."""
    code, out, _ = files("check", f"{name}.toml")
    assert (code, out.splitlines()[0]) == (0, f"{name}.toml: nothing wrong")


def test_the_slot_cutter_is_made_of_what_the_shop_has(files: Run) -> None:
    """Drivers are in hand or bought, steps that stand stay, the double sheave is used whole or not at all."""
    document = _designed("slot-cutter")
    (stage,) = document["machine"]["stages"]
    driven = [(p["driven"]["source"], p["driven"]["datum_mm"]) for p in stage["positions"]]
    assert [source for source, _ in driven] == ["turned", "kept", "turned", "kept"]
    assert [size for source, size in driven if source == "kept"] == pytest.approx([112, 80])
    drivers = [p["driver"] for p in stage["positions"]]
    used = Counter(round(step["datum_mm"]) for step in drivers if step["source"] == "in hand")
    assert used <= Counter({106: 2, 85: 2, 140: 1})
    places = [n for n, step in enumerate(drivers) if step["source"] == "in hand" and round(step["datum_mm"]) == 106]
    assert len(places) < 2 or places[1] - places[0] == 1
    assert stage["belt_in_hand"]
    assert stage["marking"] in ("A 1250", "A 1400")
    assert _checks(document)["sheaves in hand go round"]["passed"]


def test_the_order_of_work_says_which_steps_are_one_piece(files: Run) -> None:
    """Doubles are named with their steps, and a double has one key: as many keys as there are pieces, not steps."""
    document = _designed("comb")
    page = (Path("comb-design") / "cuts.html").read_text(encoding="utf-8")
    drivers = [
        sorted(round(position["driver"]["datum_mm"]) for position in stage["positions"])
        for stage in document["machine"]["stages"]
    ]
    whole = sum(pair in ([90, 125], [80, 140]) for pair in drivers)
    assert page.count("Steps 1 and 2 are one piece of 2 grooves.") == whole
    singles = sum(pair == [100, 100] for pair in drivers)
    idle = len(drivers) - whole - singles
    assert ("standing idle beyond the end of the cone" in page) == bool(idle)


def test_the_screen_tells_what_belts_in_hand_cost(files: Run) -> None:
    """Beside the figures of the design stands what J the belts in hand cost, with whether they are used."""
    _designed("slot-cutter")
    text = " ".join(_files("slot-cutter")[0].split())
    entry = json.loads(Path("slot-cutter-design/design.json").read_text(encoding="utf-8"))["hand_belts"][0]
    assert f"Belts in hand on stage 1 ({entry['markings'][0]}): J {100 * entry['j']:.3f} %" in text
    assert f"{100 * entry['cost']:.3f} points more than on any belts; used" in text
    page = Path("slot-cutter-design/design.md").read_text(encoding="utf-8")
    assert "Belts in hand on stage 1" in page


def test_six_discs_make_six_steps_each_of_its_own(files: Run) -> None:
    """Every step is given a disc that is there, large enough with an eighth of an inch of truing, none twice."""
    document = _designed("roller")
    steps = _steps(document, "turned")
    assert len(steps) == 6
    given = Counter(round(step["blank_mm"] / 25.4, 6) for step in steps)
    assert given == Counter({7.5: 2, 6.0: 1, 5.25: 3})
    assert all(step["outside_mm"] + _inches("1/8") <= step["blank_mm"] + 1e-6 for step in steps)
    assert _checks(document)["discs in hand go round"]["note"] == "6 steps come from discs in hand"
    rows = list(csv.DictReader(Path("roller-design/cuts.csv").read_text(encoding="utf-8").splitlines()))
    assert sorted(float(row["blank_in"]) for row in rows) == pytest.approx([5.25, 5.25, 5.25, 6, 7.5, 7.5])


def test_the_order_of_work_says_which_disc_is_for_which_step(files: Run) -> None:
    """Each of the two cones names the discs of its steps; the one of 6 in is named once."""
    _designed("roller")
    page = (Path("roller-design") / "cuts.html").read_text(encoding="utf-8")
    assert page.count("Discs in hand: ") == 2
    assert page.count("from one of 6") == 1


@long
def test_one_disc_too_few_leaves_no_design(files: Run) -> None:
    """With five discs for six steps there is no design, which is said with the code for it."""
    Path("five.toml").write_text(BEAD_ROLLER.replace("count = 3", "count = 2"), encoding="utf-8")
    ran = files("design", "five.toml", "--quiet")
    assert ran.code == 3
    assert "Traceback" not in ran.err


def test_one_drawer_serves_both_stages(files: Run) -> None:
    """The four sheaves of two drivers are pieces that are there: doubles whole, singles as often as there are."""
    document = _designed("comb")
    drivers = [
        [round(position["driver"]["datum_mm"]) for position in stage["positions"]]
        for stage in document["machine"]["stages"]
    ]
    assert len(_steps(document, "in hand")) == 4
    used = Counter(size for pair in drivers for size in pair)
    assert used <= Counter({90: 1, 125: 1, 80: 1, 140: 1, 100: 2})
    assert [stage["belt_in_hand"] for stage in document["machine"]["stages"]] == [
        stage["marking"] == "A 1180" for stage in document["machine"]["stages"]
    ]
    assert _checks(document)["sheaves in hand go round"]["passed"]


@pytest.mark.parametrize("name", MACHINES)
def test_papers_say_what_is_there_and_what_to_buy(files: Run, name: str) -> None:
    """No sheave in hand is bought, one in hand is measured first, a belt in hand is named as such."""
    document = _designed(name)
    papers = Path(f"{name}-design")
    buying = list(csv.DictReader((papers / "buying.csv").read_text(encoding="utf-8").splitlines()))
    sheaves = [row for row in buying if row["kind"] == "sheave"]
    assert sum(int(row["count"]) for row in sheaves) == len(_steps(document, "ready"))
    belts = [row["not_stated"] + row["source"] for row in buying if row["kind"] == "belt"]
    stages = document["machine"]["stages"]
    assert ["in hand: nothing to buy but a spare" in belt for belt in belts] == [s["belt_in_hand"] for s in stages]
    page = (papers / "cuts.html").read_text(encoding="utf-8")
    assert ("measure the sheaves in hand" in page) == bool(_steps(document, "in hand"))
    assert ("measure the kept cone" in page) == bool(_steps(document, "kept"))


@pytest.mark.parametrize("name", MACHINES)
def test_compare_says_that_its_rows_are_on_any_belts(files: Run, name: str) -> None:
    """Rows do not prefer belts in hand, as design does; that is said, and only where there are some."""
    code, _, err = files("compare", f"{name}.toml")
    assert code == 0
    assert "Rows are on any belts; conewright design prefers those in hand where J rises by no more than 2 %" in err
    assert files("compare", "grinder.toml").err == ""


def test_speeds_of_a_machine_with_something_to_choose_are_refused(files: Run) -> None:
    """A drawer and open steps leave a choice: each is named, with what to write."""
    ran = files("speeds", "slot-cutter.toml")
    assert (ran.code, ran.out) == (2, "")
    assert "stage[0].driver.sheaves_in_hand: which sheaves in hand are on this side is still to be chosen" in ran.err
    assert 'stage[0].driven.kept[0]: a known machine has no open steps; got "open"' in ran.err


def test_a_misspelt_open_step_ends_with_the_word_that_is_meant(files: Run) -> None:
    """The command says which words are allowed and ends with the code of a broken file."""
    text = ONE.replace("driven = { free", 'driven = { kept = ["Open", 112, "open", 80], free')
    Path("open.toml").write_text(text, encoding="utf-8")
    ran = files("check", "open.toml")
    assert (ran.code, ran.out) == (2, "")
    assert 'did you mean "open"?' in ran.err
