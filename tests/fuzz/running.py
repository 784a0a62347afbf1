"""Cases by number: made, put to the commands that can use them, judged, tidied away."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import NamedTuple

from tests.fuzz.judging import Answer, ask, complaints
from tests.fuzz.making import case_bytes

__all__ = ["DESIGN_SECONDS", "Outcome", "run_case"]

DESIGN_SECONDS = 2
"""What `design` is given of --time [s]."""
FILE = "case.toml"


class Outcome(NamedTuple):
    """What came of a case."""

    number: int
    answers: tuple[Answer, ...]
    wrong: tuple[str, ...]
    """What may be said against the answers; nothing where all is well."""


def run_case(seed: int, number: int, folder: Path, *, designs: float, speeds: float = 1.0) -> Outcome:
    """Run a case in an empty folder, which is empty again afterwards.

    Parameters
    ----------
    seed, number
        Of the case.
    folder
        Where its file is written.
    designs, speeds
        Shares of the cases that pass `check` which are designed too, or asked for their speeds.
    """
    data = case_bytes(seed, number)
    (folder / FILE).write_bytes(data)
    answers: list[Answer] = []
    wrong: list[str] = []
    for call, writes in _calls(Random(f"{seed}/{number}/calls"), (speeds, designs)):
        if call[0] != "check" and answers[0].code != 0:
            break
        answers.append(ask(folder, *call))
        wrong += [f"{call[0]}: {said}" for said in complaints(answers[-1])]
        left = sorted(path.name for path in folder.iterdir())
        allowed = [FILE, "made"] if writes and answers[-1].code in (0, 4) else [FILE]
        if left != sorted(allowed):
            wrong.append(f"{call[0]}: it left {', '.join(left)}")
    if (folder / FILE).read_bytes() != data:
        wrong.append("the scenario was changed")
    for path in folder.iterdir():
        shutil.rmtree(path) if path.is_dir() else path.unlink()
    return Outcome(number, tuple(answers), tuple(wrong))


def _calls(random: Random, shares: tuple[float, float]) -> Iterator[tuple[tuple[str, ...], bool]]:
    """Yield the calls of a case, each with whether it writes a folder."""
    yield ("check", FILE), False
    if random.random() < shares[0]:
        yield ("speeds", FILE, *(("--json",) if random.random() < 0.5 else ())), False
    if random.random() < shares[1]:
        papers = ("--papers",) if random.random() < 0.05 else ()
        yield ("design", FILE, "--out", "made", "--time", str(DESIGN_SECONDS), *papers), True
