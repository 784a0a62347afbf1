"""What the shipped scenarios promise comes true in processes of their own."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from tests.docs.pages import ROOT
from tests.docs.readme_page import command_for, shipped, stated_code
from tests.processes import forked
from tests.sampled import EVERYTHING

ELSEWHERE = ("slot-cutter", "bench-shaper")
"""Shipped scenarios that take long; tests/cli/test_in_hand.py and a command of the README design them too."""


@pytest.mark.parametrize(
    "scenario",
    [path for path in shipped() if EVERYTHING or path.stem not in ELSEWHERE],
    ids=lambda path: str(path.stem),
)
def test_shipped_scenarios_end_as_their_comments_say(tmp_path: Path, scenario: Path) -> None:
    """Every shipped scenario is designed, compared or told with code 0, or with the one that its comment states."""
    name = f"scenarios/{scenario.name}"
    command = command_for(scenario)
    wanted = stated_code(scenario)
    (tmp_path / "scenarios").symlink_to(ROOT / "scenarios")
    ran = forked(tmp_path, command, name)
    assert ran.code == wanted, ran.err
    assert "FAILED" not in ran.out
    folder = tmp_path / f"{scenario.stem}-design"
    assert folder.is_dir() is (command == "design" and wanted == 0)


def test_the_smallest_shipped_scenario_has_at_most_25_lines() -> None:
    """A simple machine needs a simple file."""
    lines = (ROOT / "scenarios/bench-drill.toml").read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 25


def test_shipped_scenarios_show_what_a_file_can_say() -> None:
    """Between them: all units, both mains frequencies, all sources of diameters, one and two stages, a fixed ratio."""
    files = [tomllib.loads(path.read_text(encoding="utf-8")) for path in shipped()]
    stages = [stage for file in files for stage in file["stage"]]
    keys = {key for stage in stages for side in ("driver", "driven") for key in stage.get(side, {})}
    assert {file["units"] for file in files} == {"mm", "cm", "in"}
    assert keys >= {"ready", "blanks", "free", "kept"}
    assert {len(file["stage"]) for file in files} == {1, 2, 3}
    assert any("ratio" in stage for stage in stages)
    notes = " ".join(path.read_text(encoding="utf-8") for path in shipped())
    assert all(re.search(rf"poles, {hertz} Hz", notes) for hertz in (50, 60))


def test_every_shipped_scenario_says_what_it_teaches() -> None:
    """The opening comment of every longer scenario says it in so many words; the short one has no line to spare."""
    for path in shipped():
        text = path.read_text(encoding="utf-8")
        assert text.startswith("# ")
        assert "# What it teaches: " in text or path.stem == "bench-drill"
