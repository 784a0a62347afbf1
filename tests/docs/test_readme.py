"""What the README promises comes true in processes of their own."""

from __future__ import annotations

import shlex
import subprocess
from pathlib import Path

import pytest

from tests.docs.pages import ROOT
from tests.docs.readme_page import README_SCENARIO, comment_of
from tests.processes import Ended, forked

README = (ROOT / "README.md").read_text(encoding="utf-8")
PROGRAM = ".venv/bin/conewright "
CALLS = [line.removeprefix(PROGRAM) for line in README.splitlines() if line.startswith(PROGRAM)]
SETUP = [line for line in README.splitlines() if line.startswith("python3 -m venv")]


def run(folder: Path, *arguments: str) -> Ended:
    """Call the command line from a folder that has the shipped scenarios in it."""
    (folder / "scenarios").symlink_to(ROOT / "scenarios")
    return forked(folder, *arguments)


@pytest.mark.parametrize("call", CALLS)
def test_commands_of_the_readme_run(tmp_path: Path, call: str) -> None:
    """Every command that the README shows after the set-up ends well and prints something."""
    ran = run(tmp_path, *shlex.split(call))
    assert ran.code == 0, ran.err
    assert ran.out.strip()


def test_readme_shows_every_command_that_reads_a_scenario() -> None:
    """Check, speeds, design, compare and papers stand there with a shipped scenario each."""
    assert {call.split()[0] for call in CALLS} == {"check", "speeds", "design", "compare", "papers"}


def test_readme_has_two_set_up_commands() -> None:
    """One designs a shipped scenario, one runs the gate and is marked for continuous integration."""
    first, second = SETUP
    assert first.endswith(".venv/bin/conewright design scenarios/pattern-mill.toml")
    assert second.endswith(".venv/bin/python -m tests.gate")
    assert f"<!-- test command -->\n```\n{second}\n```" in README


def test_the_command_for_continuous_integration_is_the_marked_one() -> None:
    """The script of continuous integration looks for the mark that the README has."""
    assert "<!-- test command -->" in (ROOT / ".ci/run").read_text(encoding="utf-8")


def test_continuous_integration_runs_the_test_command_of_the_readme() -> None:
    """The line of `.ci/run` that takes the command from the README finds the one that runs the gate, whole."""
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    (taking,) = (line for line in script.splitlines() if line.startswith("command="))
    taken = subprocess.run(
        ["bash", "-c", f'{taking}\necho "$command"'], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert taken.stdout.strip() == SETUP[1]
    assert taken.stdout.strip().endswith("python -m tests.gate")


def test_preferring_grip_pays_as_the_readme_and_the_scenario_say() -> None:
    """The made table has the same counts in the bands, at least a tenth more grip, and J at most 0.02 more."""
    block = README.split("<!-- begin grip -->")[1].split("<!-- end grip -->")[0]
    plain, gripping = ([cell.strip() for cell in row.strip("|").split("|")] for row in block.strip().splitlines()[2:])
    assert plain[1] == gripping[1]
    assert float(gripping[-1]) >= 1.1 * float(plain[-1])
    assert float(gripping[2].rstrip(" %")) - float(plain[2].rstrip(" %")) <= 2.0
    comment = comment_of(README_SCENARIO)
    assert f"a grip of {plain[-1]}:" in comment
    assert f"finds {gripping[-1]}, at least a tenth more" in comment
