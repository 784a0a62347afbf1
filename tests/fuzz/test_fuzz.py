"""The part of the fuzzing that the gate runs: 2,000 cases, the same ones every time."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.pipeline.effort import stop_after
from tests.fuzz.agreeing import designed
from tests.fuzz.machines import machine_text
from tests.fuzz.making import case_bytes
from tests.fuzz.running import run_case

SEED, CASES, PARTS = 7, 2_000, 8
MACHINES, MOST_EXAMINED = 24, 200_000
"""Machines that are designed, and combinations that each search looks at: a count, so that all gates are the same."""


@pytest.mark.parametrize("part", range(PARTS))
def test_no_scenario_brings_a_command_down(tmp_path: Path, part: int) -> None:
    """Whatever a file holds, a call ends with a code of the list, in time, with place and advice, leaving nothing."""
    for number in range(part, CASES, PARTS):
        outcome = run_case(SEED, number, tmp_path, designs=0.02, speeds=0.1)
        if outcome.wrong:
            kept = Path(f"fuzz-{SEED}-{number}.toml")
            kept.write_bytes(case_bytes(SEED, number))
            pytest.fail(f"case {number} of seed {SEED}, written to {kept}: {'; '.join(outcome.wrong)}")


def test_same_seed_makes_the_same_case() -> None:
    """A case can be made again from its seed and its number; another number makes another."""
    assert case_bytes(7, 11) == case_bytes(7, 11)
    assert case_bytes(7, 11) != case_bytes(7, 12)


def test_search_and_checks_agree() -> None:
    """No machine is shown that its checks reject, and none is rejected by a rule that the search holds."""
    codes = set()
    for number in range(MACHINES):
        ending = designed(machine_text(SEED, number), stop_after(MOST_EXAMINED))
        assert not ending.findings, f"machine {number} of seed {SEED}: {ending}"
        codes.add(ending.code)
    assert {0, 2} <= codes
