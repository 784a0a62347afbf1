"""What is fuzzed: scenarios, answers to `new`, readings for `recheck`, designs that were tampered with."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.fuzz.answers import run_answers
from tests.fuzz.readings import run_readings
from tests.fuzz.running import Outcome, run_case
from tests.fuzz.tampered import run_tampered

__all__ = ["FAMILIES"]


def _run_scenario(seed: int, number: int, folder: Path, share: float) -> Outcome:
    return run_case(seed, number, folder, designs=share)


FAMILIES: dict[str, Callable[[int, int, Path, float], Outcome]] = {
    "scenarios": _run_scenario,
    "answers": run_answers,
    "readings": run_readings,
    "tampered": run_tampered,
}
"""By name: what runs a case of a seed and a number in a folder, a share of those that can be read to the end."""
