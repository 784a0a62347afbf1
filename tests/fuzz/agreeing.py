"""Whether search and checks agree, machine by machine: ``python -m tests.fuzz.agreeing 20000 --seed 1``.

Every machine is designed in this process. A design that the checks reject is a finding, as is a bug; they are grouped
by what failed, the file of each kept.
"""

from __future__ import annotations

import argparse
import re
import sys
import time
import traceback
from collections import Counter, defaultdict
from pathlib import Path
from typing import NamedTuple

from optimizer.errors import NoDesignError, ScenarioError
from optimizer.pipeline.design import design
from optimizer.pipeline.effort import MOST_EXAMINED, stop_after, stop_at_time, stop_when_any
from optimizer.pipeline.none import NoLayoutError
from optimizer.pipeline.options import DesignOptions
from optimizer.scenario import load_scenario
from optimizer.search import Stop
from tests.fuzz.machines import machine_text

__all__ = ["Ending", "designed"]

SECONDS = 5.0
"""What the searches of a machine are given [s]."""
EVERY = 500
"""Machines after which a line is shown."""


class Ending(NamedTuple):
    """What came of a machine."""

    code: int
    """As `design` would end."""
    failed: tuple[str, ...] = ()
    """Checks that its design fails, with places and figures; or the bug."""

    @property
    def group(self) -> str:
        """Names of what failed, without place and figures."""
        return " + ".join(sorted({re.split(r" \[|: ", line)[0] for line in self.failed}))


class _NoneError(Exception):
    """There is no design, and what would give one is not looked for."""


class _UntilNone:
    """Hears the work, and ends it where it goes on to changes that would give a design: that takes longest."""

    def begin(self, stage: str) -> None:
        if stage.startswith("what "):
            raise _NoneError

    def hear(self, threshold: float, examined: int) -> None:
        pass


def designed(text: str, stop: Stop, options: DesignOptions | None = None) -> Ending:
    """Design a machine; tell how that ends."""
    try:
        made = design(load_scenario(text, "machine.toml"), options, stop=stop, watch=_UntilNone())
    except ScenarioError:
        return Ending(2)
    except NoLayoutError as error:
        failed = tuple(
            f"{c.name} [{c.where}]: {c.value} for {c.limit} {c.unit}" for each in error.rejected for c in each.failed
        )
        return Ending(4 if failed else 3, failed)
    except (NoDesignError, _NoneError):
        return Ending(3)
    except Exception as error:  # whatever it is, it is the finding
        where = traceback.extract_tb(error.__traceback__)[-1]
        return Ending(1, (f"{type(error).__name__} in {Path(where.filename).name}: {error}",))
    failed = tuple(f"{c.name} [{c.where}]: {c.value} for {c.limit} {c.unit}" for c in made.failed)
    return Ending(4 if failed else 0, failed)


def main() -> int:
    """Design the machines asked for, keep the files of findings, return 1 if there were any."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.agreeing", description=__doc__)
    parser.add_argument("machines", type=int, help="how many")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first machine, to see one again")
    parser.add_argument("--keep", type=Path, default=Path("fuzz-failures"), help="folder for the files of findings")
    asked = parser.parse_args()
    codes: Counter[int] = Counter()
    groups: dict[str, list[int]] = defaultdict(list)
    start = time.perf_counter()
    for number in range(asked.first, asked.first + asked.machines):
        text = machine_text(asked.seed, number)
        stop = stop_when_any(stop_after(MOST_EXAMINED), stop_at_time(SECONDS, time.monotonic))
        begun = time.process_time()
        ending = designed(text, stop)
        codes[ending.code] += 1
        if ending.failed:
            groups[ending.group].append(number)
            asked.keep.mkdir(parents=True, exist_ok=True)
            (asked.keep / f"machine-{asked.seed}-{number}.toml").write_text(text, encoding="utf-8")
            name = f"machine {number} of seed {asked.seed}"
            print(
                f"machine {number} of seed {asked.seed} ends with {ending.code}: {'; '.join(ending.failed)}", flush=True
            )
        if (taken := time.process_time() - begun) > 3 * SECONDS:
            print(f"machine {number} of seed {asked.seed} took {taken:.0f} s", flush=True)
        if (number + 1) % EVERY == 0:
            print(
                f"{number + 1:,} machines, {dict(sorted(codes.items()))}, {time.perf_counter() - start:.0f} s",
                flush=True,
            )
    for name, numbers in sorted(groups.items(), key=lambda group: -len(group[1])):
        print(f"{len(numbers)} x {name}: {', '.join(map(str, numbers[:12]))}")
    print(f"{asked.machines:,} machines of seed {asked.seed}: {dict(sorted(codes.items()))}")
    return 1 if groups else 0


if __name__ == "__main__":
    sys.exit(main())
