"""The part of the fuzzing that the gate runs: 2,000 cases, the same ones every time."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.making import case_bytes
from tests.fuzz.running import run_case

SEED, CASES, PARTS = 7, 2_000, 8


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
