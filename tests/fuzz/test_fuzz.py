"""The part of the fuzzing that the gate runs: 2,000 cases of every family, the same ones every time."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.clock import Clock
from tests.fuzz.agreeing import UntilNone, designed
from tests.fuzz.answers import answers_bytes
from tests.fuzz.families import FAMILIES
from tests.fuzz.machines import machine_text
from tests.fuzz.making import case_bytes
from tests.fuzz.readings import readings_case
from tests.fuzz.running import Outcome, run_case
from tests.fuzz.tampered import tampered_case

SEED, CASES, PARTS = 7, 2_000, 8
MACHINES, MOST_EXAMINED = 24, 200_000
"""Machines that are designed, and combinations that each search looks at: a count, so that all gates are the same."""
SHARES = {"answers": 0.2, "readings": 0.02, "tampered": 0.04}
"""Of the cases that can be read, those that are run to the end: `new` itself, a recheck, papers."""


def _hold(outcome: Outcome) -> None:
    if outcome.wrong:
        kept = Path(f"fuzz-{SEED}-{outcome.number}-{outcome.file}")
        kept.write_bytes(outcome.data)
        pytest.fail(f"case {outcome.number} of seed {SEED}, written to {kept}: {'; '.join(outcome.wrong)}")


@pytest.mark.parametrize("part", range(PARTS))
def test_no_scenario_brings_a_command_down(tmp_path: Path, part: int) -> None:
    """Whatever a file holds, a call ends with a code of the list, in time, with place and advice, leaving nothing."""
    for number in range(part, CASES, PARTS):
        _hold(run_case(SEED, number, tmp_path, designs=0.02, speeds=0.1))


@pytest.mark.parametrize("part", range(PARTS // 2))
@pytest.mark.parametrize("family", SHARES)
def test_nothing_that_is_read_brings_a_command_down(tmp_path: Path, family: str, part: int) -> None:
    """Answers, readings, designs with the old digest or one that fits: the same holds as of scenarios."""
    for number in range(part, CASES, PARTS // 2):
        _hold(FAMILIES[family](SEED, number, tmp_path, SHARES[family]))


def test_same_seed_makes_the_same_case() -> None:
    """A case can be made again from its seed and its number; another number makes another."""
    for made in (case_bytes, answers_bytes, readings_case, tampered_case):
        assert made(7, 11) == made(7, 11)
        assert made(7, 11) != made(7, 12)


def test_search_and_checks_agree() -> None:
    """No machine is shown that its checks reject, and none is rejected by a rule that the search holds."""
    codes = set()
    for number in range(MACHINES):
        ending = designed(machine_text(SEED, number), Clock(most=MOST_EXAMINED, watch=UntilNone()))
        assert not ending.findings, f"machine {number} of seed {SEED}: {ending}"
        codes.add(ending.code)
    assert {0, 2} <= codes
