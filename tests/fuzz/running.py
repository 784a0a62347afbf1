"""Cases by number: made, put to the commands that can use them, judged, tidied away."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from random import Random
from typing import NamedTuple

from tests.fuzz.judging import Answer, ask, complaints
from tests.fuzz.making import case_bytes

__all__ = ["DESIGN_SECONDS", "Call", "Outcome", "command", "put", "run_case"]

DESIGN_SECONDS = 2
"""What `design` is given of --time [s]."""
FILE = "case.toml"


class Outcome(NamedTuple):
    """What came of a case."""

    number: int
    answers: tuple[Answer, ...]
    wrong: tuple[str, ...]
    """What may be said against the answers; nothing where all is well."""
    file: str
    """Name of the case's file."""
    data: bytes
    """What was in it."""


class Call(NamedTuple):
    """What a case is put to."""

    ask: Callable[[Path], Answer]
    writes: tuple[str, ...] = ()
    """What it may leave where it ends well."""


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
    calls = _calls(Random(f"{seed}/{number}/calls"), (speeds, designs))
    return put((FILE, case_bytes(seed, number)), number, folder, calls)


def put(file: tuple[str, bytes], number: int, folder: Path, calls: Iterable[Call]) -> Outcome:
    """Put a file to some calls in an empty folder, which is empty again afterwards; to the first alone if it fails.

    Parameters
    ----------
    file
        Its name and what is in it.
    number
        Of the case.
    folder
        Where it is written.
    calls
        The first reads it; the others are made where that ends well.
    """
    name, data = file
    (folder / name).write_bytes(data)
    answers: list[Answer] = []
    wrong: list[str] = []
    for call in calls:
        answer = call.ask(folder)
        answers.append(answer)
        wrong += [f"{answer.command}: {said}" for said in complaints(answer)]
        left = {path.name for path in folder.iterdir()} - {name}
        if not left <= (set(call.writes) if answer.code in (0, 4) else set()):
            wrong.append(f"{answer.command}: it left {', '.join(sorted(left))}")
        _clear(folder, name)
        if answers[0].code not in (0, 4):
            break
    if (folder / name).read_bytes() != data:
        wrong.append("the file was changed")
    _clear(folder, "")
    return Outcome(number, tuple(answers), tuple(wrong), name, data)


def command(*arguments: str, writes: tuple[str, ...] = ()) -> Call:
    """Return a call of the command line."""
    return Call(lambda folder: ask(folder, *arguments), writes)


def _clear(folder: Path, but: str) -> None:
    for path in folder.iterdir():
        if path.name != but:
            shutil.rmtree(path) if path.is_dir() else path.unlink()


def _calls(random: Random, shares: tuple[float, float]) -> Iterator[Call]:
    """Yield the calls of a case."""
    yield command("check", FILE)
    if random.random() < shares[0]:
        yield command("speeds", FILE, *(("--json",) if random.random() < 0.5 else ()))
    if random.random() < shares[1]:
        papers = ("--papers",) if random.random() < 0.05 else ()
        call = ("design", FILE, "--out", "made", "--time", str(DESIGN_SECONDS), *papers)
        yield command(*call, writes=("made",))
