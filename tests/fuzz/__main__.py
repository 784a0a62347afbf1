"""The fuzzer as a command: ``python -m tests.fuzz 50000 --family answers --seed 1``."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from tests.fuzz.families import FAMILIES
from tests.fuzz.running import Outcome

EVERY = 1_000
"""Cases after which a line is shown."""


def main() -> int:
    """Run the cases asked for, keep the files of those that failed, return 1 if there were any."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("cases", type=int, help="how many")
    parser.add_argument("--family", choices=FAMILIES, default="scenarios", help="what is fuzzed")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first case, to see one again")
    parser.add_argument("--share", type=float, default=0.05, help="share of the legal cases that are run to the end")
    parser.add_argument("--keep", type=Path, default=Path("fuzz-failures"), help="folder for files that failed")
    asked = parser.parse_args()
    codes: Counter[tuple[str, int]] = Counter()
    slowest: dict[str, tuple[float, int]] = {}
    failed = 0
    start = perf_counter()
    with TemporaryDirectory(prefix="fuzz-") as folder:
        for number in range(asked.first, asked.first + asked.cases):
            outcome = FAMILIES[asked.family](asked.seed, number, Path(folder), asked.share)
            for answer in outcome.answers:
                codes[answer.command, answer.code] += 1
                slowest[answer.command] = max(slowest.get(answer.command, (0.0, 0)), (answer.seconds, number))
            if outcome.wrong:
                failed += 1
                _report(outcome, asked.seed, asked.keep)
            if (number + 1) % EVERY == 0:
                print(f"{number + 1:,} cases, {failed} failed, {perf_counter() - start:.0f} s", flush=True)
    for (command, code), count in sorted(codes.items()):
        print(f"{command} ended with {code}: {count:,}")
    for command, (seconds, number) in sorted(slowest.items()):
        print(f"slowest {command}: {seconds:.2f} s, case {number}")
    print(f"{asked.cases:,} {asked.family} of seed {asked.seed}, {failed} failed, {perf_counter() - start:.0f} s")
    return 1 if failed else 0


def _report(outcome: Outcome, seed: int, keep: Path) -> None:
    keep.mkdir(parents=True, exist_ok=True)
    file = keep / f"{seed}-{outcome.number}-{outcome.file}"
    file.write_bytes(outcome.data)
    print(f"case {outcome.number} of seed {seed} ({file}):", flush=True)
    for line in outcome.wrong:
        print(f"    {line}")
    bug = [line for answer in outcome.answers if answer.code == 1 for line in answer.err.splitlines()[-14:]]
    print("".join(f"    | {line}\n" for line in bug), end="")


if __name__ == "__main__":
    sys.exit(main())
