"""How long commands take beside the mere import of their libraries: ``python -m tests.bench_start``."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

from tests.docs.pages import ROOT

__all__ = ["main"]

ROUNDS = 5
SCENARIO = str(ROOT / "scenarios/pattern-mill.toml")
CALL = "from cli.main import main; main()"
IMPORTS = "import numpy, scipy.optimize, pydantic, typer"
CALLS: dict[str, Sequence[str]] = {
    "import numpy, scipy.optimize, pydantic, typer": (IMPORTS,),
    "conewright design": (CALL, "design", SCENARIO, "--force"),
    "conewright check": (CALL, "check", SCENARIO),
    "conewright --help": (CALL, "--help"),
}


def main() -> int:
    """Time every call in turn, a few rounds of all, and print medians with their ratio to the imports."""
    times: dict[str, list[float]] = {name: [] for name in CALLS}
    with TemporaryDirectory() as folder:
        for name, call in CALLS.items():  # once unmeasured, so that every file has been read before
            _timed(name, call, folder)
        for _ in range(ROUNDS):
            for name, call in CALLS.items():
                times[name].append(_timed(name, call, folder))
    (base, *_) = (median(taken) for taken in times.values())
    print(f"median of {ROUNDS} rounds, ratio to the first line in the same run")
    for name, taken in times.items():
        print(f"{name:<46} {median(taken):6.2f} s {median(taken) / base:6.2f}")
    return 0


def _timed(name: str, call: Sequence[str], folder: str) -> float:
    """Return the seconds that a call took as a process of its own."""
    environment = {"PYTHONPATH": str(ROOT), "PATH": ""}
    start = perf_counter()
    ran = subprocess.run(
        [sys.executable, "-c", *call], cwd=folder, env=environment, capture_output=True, text=True, check=False
    )
    taken = perf_counter() - start
    if ran.returncode:
        raise SystemExit(f"{name} ended with code {ran.returncode}: {ran.stderr}")
    return taken


if __name__ == "__main__":
    sys.exit(main())
