"""Random designs hold in high precision, and the code that says so shares nothing with what it verifies."""

from __future__ import annotations

import ast
import json
import os
import sys
from collections.abc import Callable
from fractions import Fraction
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from optimizer.documents.data import design_json
from optimizer.pipeline.design import design
from optimizer.scenario import load_scenario
from tests.independent import campaign as campaigns
from tests.independent.campaign import Record, campaign, examine, examine_known, report, run, seeds_of
from tests.independent.held import legal_j
from tests.independent.stated import read_machine
from tests.independent.verify import verify
from tests.random_machines import random_machine
from tests.sampled import EVERYTHING

HERE = Path(__file__).parent
ALLOWED = {"mpmath", "numpy", *sys.stdlib_module_names}
GATE = 24 if EVERYTHING else 12
"""Machines of this test that are designed; thousands by ``python -m tests.independent``."""
KNOWN = 40 if EVERYTHING else 20
"""Machines of this test that are fully known."""


def imported(path: Path) -> set[str]:
    """Return what a module imports, anywhere in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0
            found.add(node.module or "")
    return found


def reached(module: str) -> set[str]:
    """Return all modules outside this folder that a module of this folder reaches."""
    seen, left, outside = set(), [module], set()
    while left:
        name = left.pop()
        seen.add(name)
        for other in imported(HERE / f"{name}.py"):
            if other.startswith("tests.independent."):
                left += [last for last in [other.rpartition(".")[2]] if last not in seen]
            else:
                outside.add(other)
    return outside


@pytest.mark.parametrize("module", ["verify", "combinations", "held", "drives", "random_drawer"])
def test_the_verification_imports_nothing_of_the_project(module: str) -> None:
    """Nothing that verifies, draws or judges reaches further than the standard library, mpmath, and numpy."""
    assert {name.split(".")[0] for name in reached(module)} <= ALLOWED
    text = (HERE / f"{module}.py").read_text(encoding="utf-8")
    assert "import_module" not in text and "__import__" not in text


@pytest.fixture(scope="module")
def records() -> list[dict[str, Any]]:
    """What became of some random machines."""
    return [examine(seed) for seed in seeds_of(7, GATE)]


def test_every_random_design_holds(records: list[dict[str, Any]]) -> None:
    """No design of a random machine breaks a rule, states a wrong figure, or a bound that a legal choice beats."""
    assert [(record["seed"], record["violations"]) for record in records if record["violations"]] == []


def test_most_random_machines_have_a_design(records: list[dict[str, Any]]) -> None:
    """At most a third of the random machines have no design, and none is refused or ends in a crash."""
    outcomes = [record["outcome"] for record in records]
    assert set(outcomes) <= {"designed", "none", "ended"}
    assert 3 * outcomes.count("designed") >= 2 * len(outcomes)


def test_the_bounds_are_held_against_many_legal_choices(records: list[dict[str, Any]]) -> None:
    """Of every kind thousands of legal choices are drawn, and most machines have some that stand on listed sizes."""
    for kind in ("listed", "real", "ticks"):
        assert sum(record["legal"].get(kind, 0) for record in records) > 400 * GATE
    designed = [record for record in records if record["outcome"] == "designed"]
    assert 3 * sum(bool(record["legal"].get("listed")) for record in designed) >= 2 * len(designed)


def test_the_drawn_choices_come_near_the_proved_optimum(records: list[dict[str, Any]]) -> None:
    """For a good part of the designs a legal choice is drawn within 0.002 of the bound, so that a wrong one is seen."""
    above = [record["above_listed"] for record in records if record["outcome"] == "designed"]
    assert 5 * sum(gap < 0.002 for gap in above) >= 2 * len(above)


def test_stated_figures_are_right_to_a_millionth(records: list[dict[str, Any]]) -> None:
    """No figure of any design is off by more than its document's rounding, to ten digits, makes of lengths in mm."""
    lines = report(records)
    assert max(off for record in records for off in record["deviations"].values()) < 1e-6, lines


def test_every_known_machine_is_told_right() -> None:
    """Figures of fully known machines are right, and a check fails just where the machine breaks a rule."""
    records = [examine_known(seed) for seed in range(KNOWN)]
    assert [(record["seed"], record["violations"]) for record in records if record["violations"]] == []
    broken = sum(record["outcome"] == "breaks a rule" for record in records)
    assert KNOWN / 10 <= broken <= KNOWN * 2 / 3


def test_random_machines_are_various_and_always_the_same() -> None:
    """Two hundred seeds bring every unit, section, source of sizes, kind of rim; and each the same file twice."""
    texts = [random_machine(seed).text for seed in range(200)]
    everything = "\n".join(texts)
    for word in ('"mm"', '"in"', '"cm"', "ready", "blanks", "free", "kept", "reversible", '"over pins"', '"outside"'):
        assert word in everything, word
    for word in ("crossed", '"any"', '"stock"', '"inch stock"', "PJ", "round", "flat", "SPZ", "4L", "ratio", "budget"):
        assert word in everything, word
    for word in ("idle = ", "plate = true", "plate = false", 'frame = "IEC', 'frame = "NEMA'):
        assert word in everything, word
    assert texts[7] == random_machine(7).text
    assert len(set(texts)) == len(texts)


def test_most_drives_behind_the_machines_are_designs_themselves() -> None:
    """A good part of the drives that machines are stated around keeps every rule, so that they are worth something."""
    legal = 0
    for seed in range(40):
        machine = random_machine(seed)
        legal += legal_j(read_machine(machine.text), machine.drives) is not None
    assert legal >= 10


SOUND = """
title = "Verified"
units = "mm"
motor = { speed = 1400 }
band = [{ name = "low", from = 500, to = 1000, want = 2 }, { name = "high", from = 1000, to = 2500, want = 2 }]
shaft = [{ name = "motor", mount = "slide", diameter = 19, room = 200 }]
making = { largest_blank = 220 }
[[stage]]
from = "motor"
to = "spindle"
positions = 4
centres = [220, 320]
travel = 60
belt = "Z"
driver = { free = [56, 170], material = "metal" }
driven = { free = [56, 170], material = "metal" }
"""


@pytest.fixture(scope="module")
def sound() -> dict[str, Any]:
    """The document of a sound design."""
    text = design_json(design(load_scenario(SOUND, "verified.toml")))
    assert verify(text).violations == []
    found: dict[str, Any] = json.loads(text)
    return found


def first_step(document: dict[str, Any]) -> dict[str, Any]:
    """Return the driver's step of the slowest position."""
    step: dict[str, Any] = document["machine"]["stages"][0]["positions"][0]["driver"]
    return step


def wider(document: dict[str, Any]) -> None:
    """Turn one step a tick larger."""
    first_step(document)["outside_mm"] += 0.5


def off_tick(document: dict[str, Any]) -> None:
    """Turn one step to what nobody turns."""
    first_step(document)["outside_mm"] += 0.01


def longer_belt(document: dict[str, Any]) -> None:
    """Take a belt that is not kept."""
    document["machine"]["stages"][0]["datum_length_mm"] += 1


def other_centre(document: dict[str, Any]) -> None:
    """State a centre distance that is a hundredth of a millimetre off."""
    document["machine"]["stages"][0]["positions"][2]["centre_mm"] += 0.01


def faster(document: dict[str, Any]) -> None:
    """State a speed that is a millionth off."""
    document["machine"]["speeds"][1]["rpm"] *= 1 + 1e-6


def swapped(document: dict[str, Any]) -> None:
    """Put two steps of a cone in the other order."""
    positions = document["machine"]["stages"][0]["positions"]
    positions[0]["driven"], positions[1]["driven"] = positions[1]["driven"], positions[0]["driven"]


def small_blank(document: dict[str, Any]) -> None:
    """Cut a step from a disc that does not leave the truing."""
    first_step(document)["blank_mm"] -= 2


def evener(document: dict[str, Any]) -> None:
    """State a series evener than it is."""
    document["series"]["unevenness"] *= 0.99


def high_bound(document: dict[str, Any]) -> None:
    """State a lower bound above J."""
    document["proof"]["structural"] = document["series"]["j"] + 1e-6


def more_speeds(document: dict[str, Any]) -> None:
    """Count a speed in a band in which it is not."""
    document["bands"][0]["speeds_rpm"].append(2000.0)


def spent(document: dict[str, Any]) -> None:
    """Give a line of the budget less than it takes."""
    document["machine"]["stages"][0]["centres"]["budget"][1]["amount_mm"] -= 1


def restated(document: dict[str, Any], motor: str) -> None:
    """State the design's motor otherwise."""
    said = document["scenario"]
    said["text"] = said["text"].replace("motor = { speed = 1400 }", f"motor = {{ speed = 1400, {motor} }}")
    said["sha256"] = sha256(said["text"].encode()).hexdigest()


def lower_motor(document: dict[str, Any]) -> None:
    """Put the motor 56 mm above its stand, where no pulley of more than 102 mm turns."""
    restated(document, 'frame = "IEC 56"')


def freer_motor(document: dict[str, Any]) -> None:
    """State a speed without load a thousandth above that of the field."""
    restated(document, "idle = 1501.5")


@pytest.mark.parametrize(
    "fault",
    [
        lower_motor,
        freer_motor,
        wider,
        off_tick,
        longer_belt,
        other_centre,
        faster,
        swapped,
        small_blank,
        evener,
        high_bound,
        more_speeds,
        spent,
    ],
    ids=lambda fault: fault.__name__,
)
def test_a_fault_in_a_design_is_seen(sound: dict[str, Any], fault: Callable[[dict[str, Any]], None]) -> None:
    """Whatever is falsified in a sound design, the verification names it."""
    false = json.loads(json.dumps(sound))
    fault(false)
    assert verify(json.dumps(false)).violations


@pytest.mark.parametrize(("motor", "words"), [('frame = "IEC 56"', "motor stands on"), ("idle = 9000", "a rim runs")])
def test_what_another_motor_allows_no_more_breaks_a_rule(sound: dict[str, Any], motor: str, words: str) -> None:
    """On a lower motor the pulley of a sound design reaches its stand, behind one that idles faster a rim may burst."""
    false = json.loads(json.dumps(sound))
    restated(false, motor)
    assert any(words in sentence for sentence in verify(json.dumps(false)).broken)


@pytest.mark.parametrize(
    ("motor", "most_mm", "motor_idles"),
    [
        # 1400 is 93 % of 120 · 50 / 4 = 1500, 78 % of 120 · 60 / 4 = 1800; a shaft of 19 mm: IEC 80, 2 · (80 - 5)
        ("speed = 1400", 150, "1500/1400"),
        ("speed = 1400, plate = false", None, "1500/1400"),
        # 880 is 88 % of 120 · 50 / 6 = 1000, more than 85 %, and 98 % of 120 · 60 / 8 = 900
        ("speed = 880, idle = 890", 150, "890/880"),
        ("speed = 880", 150, "1000/880"),
        ('speed = 4000, frame = "NEMA 56"', "167.8", "1"),  # 3 1/2 in: 2 · (88.9 - 5)
    ],
)
def test_the_motor_is_read_by_its_plate(motor: str, most_mm: int | str | None, motor_idles: str) -> None:
    """Height above the stand, speed of the field, and the slip of the belt behind it, by hand."""
    machine = read_machine(SOUND.replace("speed = 1400", motor))
    assert machine.stages[0].driver.most_outside == (None if most_mm is None else Fraction(most_mm))
    assert machine.stages[0].driven.most_outside is None
    assert machine.idle == {"motor": Fraction(motor_idles), "spindle": Fraction(motor_idles) / Fraction("0.99")}


def deadly(seed: int) -> Record:
    """Take the process down with it at one seed."""
    if seed == 3:
        os._exit(9)
    return {"seed": seed, "outcome": "designed", "violations": []}


def test_a_machine_that_kills_its_process_is_named_and_the_others_go_on() -> None:
    """With two processes, every machine is told of once, the deadly one as a crash."""
    found = {record["seed"]: record["outcome"] for record in run(deadly, [1, 2, 3, 4, 5, 6], 2)}
    assert found == {seed: "crash" if seed == 3 else "designed" for seed in range(1, 7)}


def test_a_campaign_goes_on_where_it_was_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What stands whole in the state file is not done again, a line cut off is; other machines are refused."""
    calls: list[int] = []

    def pretend(seed: int) -> dict[str, Any]:
        calls.append(seed)
        return {"seed": seed, "outcome": "designed", "violations": []}

    monkeypatch.setattr(campaigns, "examine", pretend)
    state = tmp_path / "state.jsonl"
    first = list(campaign([1, 2, 3], 1, state))
    state.write_text(state.read_text(encoding="utf-8")[:-9], encoding="utf-8")
    again = list(campaign([1, 2, 3, 4], 1, state))
    assert calls == [1, 2, 3, 3, 4]
    assert [record["seed"] for record in again] == [1, 2, 3, 4]
    assert again[:3] == first
    assert list(campaign([1, 2, 3, 4], 1, state)) == again
    state.write_text('{"made by": "others"}\n', encoding="utf-8")
    with pytest.raises(ValueError, match="other random machines"):
        list(campaign([1], 1, state))
