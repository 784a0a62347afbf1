"""Machines that tax time and memory, as whole commands; and how many random machines are proved in little time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, process_time
from typing import NamedTuple
from unittest.mock import patch

from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.pipeline.design import design
from optimizer.scenario import load_scenario
from tests.bench.store import ROOT, Row, Store
from tests.random_machines import random_machine

__all__ = ["CASES", "MACHINES", "RANDOM", "TAXING", "TaxingCase", "run_random", "run_taxing", "taxing_part"]

TAXING, RANDOM = "taxing", "random"
MACHINES = 400
PROVED_S, MOST_S = 20.0, 50.0
"""Time of the processor [s] within which a random machine should be proved, and that it is given."""
CALL = "from cli.main import main; main()"


class TaxingCase(NamedTuple):
    """A machine with what the time and memory were before one clock kept them."""

    name: str
    before: str


CASES = [
    TaxingCase("one-belt-fiftieth-mm", "4.9 GB with 300 MB allowed"),
    TaxingCase("uneven-bands-2x4", ""),
    TaxingCase("clustered-bands-2x6", ""),
    TaxingCase("twelve-bands-3x4", ""),
    TaxingCase("least-grip-to-4x6", "above 150 s with 30 s allowed"),
    TaxingCase("four-stages", "above 150 s with 30 s allowed"),
    TaxingCase("any-length-3x4", "above 150 s with 30 s allowed"),
    TaxingCase("sixty-double-sheaves", "1.6 GB after 22 s with 5 s and 1 GB allowed"),
    TaxingCase("shared-cone-5", ""),
    TaxingCase("free-speeds-4x4", ""),
    TaxingCase("wide-cones-half-mm", "31 s with 5 s allowed"),
    TaxingCase("eight-overlapping-bands", "129 s with 10 s allowed"),
    TaxingCase("sixty-fourth-mm", "1.4 GB, above 22 s with 5 s and 1 GB allowed"),
    TaxingCase("tenth-mm-grid", "1.4 GB, above 22 s with 5 s and 1 GB allowed"),
]


def run_taxing(cases: Sequence[TaxingCase], store: Store, say: Callable[[str], None]) -> None:
    """Design every machine by the command, without options, and keep seconds, memory and what came out."""
    for case in cases:
        row = _designed(ROOT / "tests" / "bench" / "taxing" / f"{case.name}.toml")
        say(f"{case.name:<26} {row['seconds']:6.1f} s {row['mb']:6.0f} MB  {row['said']}")
        store.keep(TAXING, case.name, {**row, "before": case.before})


def _designed(file: Path) -> Row:
    with TemporaryDirectory() as folder:
        start = perf_counter()
        running = subprocess.Popen(
            [sys.executable, "-c", CALL, "design", str(file), "--out", "made"],
            cwd=folder,
            env={"PYTHONPATH": str(ROOT), "PATH": ""},
            stdout=subprocess.DEVNULL,
            stderr=(Path(folder) / "said").open("w"),
        )
        _, status, used = os.wait4(running.pid, 0)
        running.returncode = os.waitstatus_to_exitcode(status)
        if running.returncode not in (0, 3, 4):
            raise RuntimeError(f"{file.stem} ended with code {running.returncode}")
        made = Path(folder) / "made" / "design.json"
        proof = json.loads(made.read_bytes())["proof"] if made.is_file() else None
        return {
            "seconds": perf_counter() - start,
            "processor_s": used.ru_utime + used.ru_stime,
            "mb": used.ru_maxrss * 1024 / 1e6,
            "said": _none_words(Path(folder) / "said") if proof is None else _proof_words(proof),
        }


def _none_words(said: Path) -> str:
    return "open, none found" if "was ended" in said.read_text(encoding="utf-8") else "no design"


def _proof_words(proof: Mapping[str, float | str]) -> str:
    return "proved" if proof["status"] == "proved" else f"gap {100 * float(proof['gap']):.3f} %"


def run_random(store: Store, say: Callable[[str], None], most: int = MACHINES) -> None:
    """Design seeded random machines and keep the shares that are proved in time, and left open without a design."""
    endings = [_random_ending(seed) for seed in range(most)]
    shares = {name: endings.count(name) / most for name in ("proved", "late", "open")}
    say(f"{most} random machines: " + ", ".join(f"{name} {share:.1%}" for name, share in shares.items()))
    store.keep(RANDOM, f"{most} machines", shares)


def _random_ending(seed: int) -> str:
    """Return whether a machine is proved within the time, later or with a gap, or left open without a design."""
    clock, start = Clock(MOST_S, now_s=process_time), process_time()
    try:
        # what would give a design where there is none is another question
        with patch("optimizer.pipeline.no_design.changes_for_none", return_value=None):
            proved = (
                design(load_scenario(random_machine(seed).text, "machine.toml"), clock=clock).proof.status == "proved"
            )
    except NoDesignError as error:
        if "the search was ended" in str(error):
            return "open"
        proved = True
    return "proved" if proved and process_time() - start <= PROVED_S else "late"


def taxing_part(store: Store) -> list[str]:
    """Return the page's part, as Markdown."""
    rows = store.rows(TAXING)
    if not rows:
        return []
    lines = ["| machine | s | s of the processor | MB | what came out | before |", "|---|---|---|---|---|---|"]
    for name, row in rows.items():
        figures = (f"{row['seconds']:.1f}", f"{row['processor_s']:.1f}", f"{row['mb']:.0f}", row["said"], row["before"])
        lines.append(f"| {name} | " + " | ".join(figures) + " |")
    text = (
        "Whole `design` without options, so with 50 s and 1 GB; the machines stand in `tests/bench/taxing`. Measured "
        "in\nparts, while other work shared the two cores: what ended by the clock may come further on an idle machine."
    )
    shares = [
        f"Of {name}, random and seeded: {row['proved']:.1%} proved within {PROVED_S:g} s of the processor, "
        f"{row['late']:.1%} later or with a gap, {row['open']:.1%} left open without a design."
        for name, row in store.rows(RANDOM).items()
    ]
    return [text, "\n".join(lines), *shares]
