"""Calls that are killed at random moments: ``python -m tests.faults.killing 200``.

A call is killed with SIGKILL at a random time, or where it hurts: at a random one of its steps on the file system,
before it, in the middle of a file, or after it. What it replaces must then be whole, a half-written result must not
stand under the result's name, and the next call must clear away what was left beside it. Calls are forked from this
process, which has the libraries loaded, so that time is not spent on loading them.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

import cli.folder
from cli.main import main as command_line
from tests.faults.calls import leftovers, shop, snapshot

__all__ = ["Killed", "Moment", "kill_at", "moments"]

STEPS = ("time", "mkdir", "half", "write_bytes", "fsync", "exchanged", "rename", "rmtree")
"""Where a call may be killed; `half` is in the middle of a file."""
LONGEST_S = 1.5
"""Calls that are killed at a random time are killed before this."""
DESIGN = ("design", "grinder.toml", "--quiet")
RECHECK = ("recheck", "grinder-design", "measured.toml", "--quiet", "--out", "grinder-recheck")
MEASURED = """
[[check]]
date = "2026-05-01"
centre = [{ stage = 1, position = 1, centre = 322.4 }]
"""


class Moment(NamedTuple):
    """When a call is killed."""

    step: str
    number: int
    """At which time that the step is taken, from 1."""
    after: bool
    """Whether after the step rather than before it."""
    whole: bool
    """Whether the system can exchange two folders in one step, or must be taken for one that cannot."""
    replacing: bool
    """Whether an earlier result is replaced."""
    recheck: bool
    """Whether the call is `recheck` rather than `design`."""
    seconds: float
    """When, where it is a time."""


class Killed(NamedTuple):
    """What a killed call and the one after it came to."""

    code: int
    """-9 where it was killed, 0 where it ended before its moment came."""
    wrong: tuple[str, ...]


def moments(seed: int, many: int) -> list[Moment]:
    """Return random moments, the same for the same seed."""
    random = Random(seed)
    return [
        Moment(
            random.choice(STEPS),
            random.choice((1, 1, 1, 1, 2, 2, 3, 4, 5)),
            random.random() < 0.5,
            random.random() < 0.5,
            random.random() < 0.7,
            random.random() < 0.3,
            random.uniform(0, LONGEST_S),
        )
        for _ in range(many)
    ]


def kill_at(moment: Moment, folder: Path) -> Killed:
    """Kill a call at a moment, look at what is left, call again, look again."""
    call = RECHECK if moment.recheck else DESIGN
    made = shop(folder) / call[-1 if moment.recheck else 0].replace("design", "grinder-design")
    (folder / "measured.toml").write_text(MEASURED, encoding="utf-8")
    if moment.recheck:
        _undisturbed(folder, DESIGN)
    earlier: dict[str, bytes | None] = {}
    if moment.replacing:
        _undisturbed(folder, call)
        earlier = snapshot(made)
    there = {path.name for path in folder.iterdir()}
    code = _forked(folder, (*call, "--force") if moment.replacing else call, moment)
    wrong = _left(made, earlier, code, moment)
    wrong += [f"the next call: {said}" for said in _undisturbed(folder, (*call, "--force"))]
    wrong += [f"the next call left {name}" for name in leftovers(folder)]
    wrong += [f"there is {path.name}" for path in folder.iterdir() if path.name not in {*there, made.name}]
    if earlier and snapshot(made) != earlier:
        wrong.append("the next call wrote something else")
    return Killed(code, tuple(wrong))


def _left(made: Path, earlier: dict[str, bytes | None], code: int, moment: Moment) -> list[str]:
    """Return what is wrong with what a killed call left: the result must be whole or not there."""
    if code not in (0, -signal.SIGKILL):
        return [f"the call ended with {code}"]
    if made.exists():
        # the same input gives the same bytes, so that old and new cannot, and need not, be told apart
        now = snapshot(made)
        names = {"recheck.json", "recheck.md"} if moment.recheck else {"cuts.csv", "design.json", "design.md"}
        whole = names <= now.keys() and all(now.values())
        return [] if whole and (not earlier or now == earlier) else [f"half a result: {sorted(now)}"]
    aside = [path for path in made.parent.glob(f".{made.name}.old-*/{made.name}") if snapshot(path) == earlier]
    return ["the earlier result is gone"] if moment.replacing and (moment.whole or not aside) else []


def _undisturbed(folder: Path, call: tuple[str, ...]) -> list[str]:
    code = _forked(folder, call, None)
    return [] if code in (0, 4) else [f"ended with {code}: {(folder.parent / f'{folder.name}.said').read_text()}"]


def _forked(folder: Path, call: tuple[str, ...], moment: Moment | None) -> int:
    """Run a call in a process of its own; return its exit code, or the signal that killed it as a negative number."""
    said = folder.parent / f"{folder.name}.said"
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        _run(folder, said, call, moment)
    if moment and moment.step == "time":
        time.sleep(moment.seconds)
        os.kill(child, signal.SIGKILL)  # it is not waited for yet, so that its number is still its own
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _run(folder: Path, said: Path, call: tuple[str, ...], moment: Moment | None) -> None:
    code: object = 99
    try:
        os.chdir(folder)
        file = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(file, 1)
        os.dup2(file, 2)
        if moment:
            _arm(moment)
        sys.argv = ["conewright", *call]
        command_line()
    except SystemExit as ended:
        code = ended.code
    finally:
        os._exit(code if isinstance(code, int) else 98)


def _arm(moment: Moment) -> None:
    """Make every step of the file system one at which this process may be killed."""
    seen = 0

    def deadly(plain: Callable[..., Any], name: str) -> Callable[..., Any]:
        def run(*arguments: Any, **more: Any) -> Any:
            nonlocal seen
            mine = name == moment.step or (moment.step == "half" and name == "write_bytes")
            seen += mine
            if mine and seen == moment.number:
                if moment.step == "half":
                    with arguments[0].open("wb") as file:
                        file.write(arguments[1][: len(arguments[1]) // 2])
                elif moment.after:
                    plain(*arguments, **more)
                os.kill(os.getpid(), signal.SIGKILL)
            return plain(*arguments, **more)

        return run

    exchanged = cli.folder.exchanged if moment.whole else lambda one, other: False
    for place, name in ((Path, "mkdir"), (Path, "write_bytes"), (Path, "rename"), (os, "fsync"), (shutil, "rmtree")):
        setattr(place, name, deadly(getattr(place, name), name))
    setattr(cli.folder, "exchanged", deadly(exchanged, "exchanged"))  # noqa: B010 - no name that it exports


def main() -> int:
    """Kill as many calls as asked for; return 1 if anything was lost or left."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults.killing", description=__doc__)
    parser.add_argument("times", type=int)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    # what the commands load late is loaded before the first fork
    import cli.design
    import cli.recheck  # noqa: F401 - loaded for what is forked

    codes: Counter[int] = Counter()
    failed = 0
    for number, moment in enumerate(moments(asked.seed, asked.times)):
        with TemporaryDirectory(prefix="killing-") as folder:
            killed = kill_at(moment, Path(folder) / "shop")
        codes[killed.code] += 1
        for line in killed.wrong:
            print(f"{number}: {moment}: {line}", flush=True)
        failed += bool(killed.wrong)
    print(f"{codes[-9]} calls were killed, {codes[0]} ended before their moment came; {failed} left something wrong")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
