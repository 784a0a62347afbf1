"""How long whole commands take beside the mere import of their libraries."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from math import inf
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import NamedTuple

from tests.bench.store import ROOT, Store

__all__ = ["PART", "calls", "run_commands"]

PART = "commands"
SCENARIOS = ROOT / "scenarios"
CALL = "from cli.main import main; main()"
FLOOR = "the imports: numpy, scipy.optimize, pydantic, typer"
IMPORTS = "import numpy, scipy.optimize, pydantic, typer"
UNKNOWN_COMMAND = 2
LONG_S, LONG_ROUNDS = 8.0, 2
"""A call that takes longer is repeated less often."""


class Call(NamedTuple):
    """A process with what its time is held against."""

    arguments: Sequence[str]
    beside: str = FLOOR
    most: float | None = None
    """How many times as long as the other it may take."""
    codes: tuple[int, ...] = (0,)
    scenario: str = ""
    """Text of a scenario that is written beside it as `wide.toml`."""


def calls() -> dict[str, Call]:
    """Return every timed process by name, each after the one it is held against."""
    mill, cramped = str(SCENARIOS / "pattern-mill.toml"), str(SCENARIOS / "cramped-mill.toml")
    text = (SCENARIOS / "pattern-mill.toml").read_text(encoding="utf-8")
    wide = text.replace("positions = [1, 2]", "positions = [1, 2, 3]").replace(
        "positions = [3, 4]", "positions = [3, 4, 5, 6]"
    )
    design = "design, the mill"
    return {
        FLOOR: Call((IMPORTS,)),
        "--help": Call((CALL, "--help")),
        "check, the mill": Call((CALL, "check", mill)),
        design: Call((CALL, "design", mill, "--force"), most=2.5),
        "compare, the mill": Call((CALL, "compare", mill), most=4.0),
        "compare, all orders from 1x3 to 3x6": Call((CALL, "compare", "wide.toml"), most=8.0, scenario=wide),
        "design --changes, the mill": Call((CALL, "design", mill, "--force", "--changes"), design, 20.0),
        "design --papers, the mill": Call((CALL, "design", mill, "--force", "--papers"), design),
        "design, the cramped mill, which has none": Call((CALL, "design", cramped), design, 20.0, codes=(3,)),
    }


def run_commands(chosen: Mapping[str, Call], store: Store, rounds: int, say: Callable[[str], None]) -> None:
    """Time every call in turn, a few rounds of all, and keep medians with their ratios within the run."""
    times: dict[str, list[float]] = {}
    with TemporaryDirectory() as folder:
        first = {name: _timed(name, call, folder) for name, call in chosen.items()}  # so that every file has been read
        for number in range(rounds):
            for name, before in first.items():
                if before is not None and (number < LONG_ROUNDS or before < LONG_S):
                    times.setdefault(name, []).append(_timed(name, chosen[name], folder) or inf)
    for name, call in chosen.items():
        if name not in times:
            say(f"{name:<52} there is no such command yet")
            continue
        ratio = median(times[name]) / median(times[call.beside])
        say(f"{name:<52} {median(times[name]):6.2f} s {ratio:6.2f} x {call.beside}")
        row = {"seconds": median(times[name]), "ratio": ratio, "beside": call.beside, "most": call.most}
        store.keep(PART, name, {**row, "rounds": len(times[name])})


def _timed(name: str, call: Call, folder: str) -> float | None:
    """Return the seconds that a call took as a process of its own, or nothing where there is no such command."""
    environment = {"PYTHONPATH": str(ROOT), "PATH": ""}
    if call.scenario:
        (Path(folder) / "wide.toml").write_text(call.scenario, encoding="utf-8")
    start = perf_counter()
    ran = subprocess.run(
        [sys.executable, "-c", *call.arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    taken = perf_counter() - start
    if ran.returncode == UNKNOWN_COMMAND and "No such" in ran.stderr:
        return None
    if ran.returncode not in call.codes:
        raise RuntimeError(f"{name} ended with code {ran.returncode}: {ran.stderr}")
    return taken
