"""Whether search and checks agree, machine by machine: ``python -m tests.fuzz.agreeing 20000 --seed 1``.

Every machine is designed in this process. A design that the checks reject by a rule that the search holds is a
finding, even where another design is then shown; so is a bug. They are grouped by what failed, the file of each kept.
"""

from __future__ import annotations

import argparse
import re
import sys
import time
import traceback
from collections import Counter, defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

from optimizer.checks import Check
from optimizer.checks.stated import Machine
from optimizer.clock import Clock
from optimizer.errors import NoDesignError, ScenarioError
from optimizer.pipeline import design as in_series
from optimizer.pipeline import free
from optimizer.pipeline.no_design import NoLayoutError, RejectedError, refuse_failing
from optimizer.scenario import load_scenario
from tests.fuzz.machines import machine_text

__all__ = ["OUTSIDE", "Ending", "UntilNone", "designed", "effort"]

OUTSIDE = {
    "room around": "what is near what at every position, at both ends of travel, is worked out of a whole machine",
    "shaft strength": "pulls of all belts on a shaft, where each stands, bend it together",
    "torque out of the gear": "of a gear between two belts, by the speed of its own shaft alone",
    "nearest that the mount brings the shafts": "of a shaft that two mounts move, by where the other stands",
    "farthest that the mount brings the shafts": "of a shaft that two mounts move, by where the other stands",
    "belt-on centre distance": "rims of one position at the centre distance at which another's belt goes on",
}
"""Rules that the search does not know, with why: a design that fails one is told, and no finding."""
SECONDS = 5.0
"""What the searches of a machine are given [s]."""
EVERY = 500
"""Machines after which a line is shown."""


class Ending(NamedTuple):
    """What came of a machine."""

    code: int
    """As `design` would end."""
    rejected: tuple[Check, ...] = ()
    """Checks that designs failed which the search, refinement and rounding took."""
    bug: str = ""

    @property
    def findings(self) -> tuple[str, ...]:
        """What should not have been: a bug, or names of checks that a design failed though the search knows the rule.

        Numbers and places are left out of the names.
        """
        names = sorted({check.name for check in self.rejected if check.name not in OUTSIDE})
        return (*([re.sub(r"\d+", "#", self.bug)] if self.bug else []), *names)


class _NoneError(Exception):
    """There is no design, and what would give one is not looked for."""


class UntilNone:
    """Hears the work, and ends it where it goes on to changes that would give a design: that takes longest."""

    def begin(self, stage: str) -> None:
        """End the work where changes are asked for."""
        if stage.startswith("what "):
            raise _NoneError

    def hear(self, threshold: float, examined: int) -> None:
        """Go on."""


def designed(text: str, clock: Clock) -> Ending:
    """Design a machine; tell how that ends, and what the checks had against designs on the way."""
    with _rejections() as rejected:
        code, bug = _code_of(text, clock)
    return Ending(code, tuple(rejected), bug)


def _code_of(text: str, clock: Clock) -> tuple[int, str]:
    try:
        made = in_series.design(load_scenario(text, "machine.toml"), clock=clock)
    except ScenarioError:
        return 2, ""
    except NoLayoutError as error:
        return (4 if error.rejected else 3), ""
    except (NoDesignError, _NoneError):
        return 3, ""
    except Exception as error:  # whatever it is, it is the finding
        where = traceback.extract_tb(error.__traceback__)[-1]
        return 1, f"{type(error).__name__} in {Path(where.filename).name}: {error}"
    return (1, "a design is shown that fails its checks") if made.failed else (0, "")


@contextmanager
def _rejections() -> Iterator[list[Check]]:
    """Keep the failed checks of every design that is rejected meanwhile."""
    kept: list[Check] = []

    def keeping(machine: Machine) -> Machine:
        try:
            return refuse_failing(machine)
        except RejectedError as error:
            kept.extend(error.failed)
            raise

    with patch.object(in_series, "refuse_failing", keeping), patch.object(free, "refuse_failing", keeping):
        yield kept


def effort() -> Clock:
    """Return what the searches of a machine are given, from now on."""
    return Clock(SECONDS, watch=UntilNone())


def main() -> int:
    """Design the machines asked for, keep the files of findings, return 1 if there were any."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.agreeing", description=__doc__)
    parser.add_argument("machines", type=int, help="how many")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first machine, to see one again")
    parser.add_argument("--keep", type=Path, default=Path("fuzz-failures"), help="folder for the files of findings")
    asked = parser.parse_args()
    codes: Counter[int] = Counter()
    told: dict[str, list[int]] = defaultdict(list)
    found: dict[str, list[int]] = defaultdict(list)
    for number in range(asked.first, asked.first + asked.machines):
        text, begun = machine_text(asked.seed, number), time.process_time()
        ending, name = designed(text, effort()), f"machine {number} of seed {asked.seed}"
        codes[ending.code] += 1
        for finding in ending.findings:
            found[finding].append(number)
        for check in dict.fromkeys(check.name for check in ending.rejected if check.name in OUTSIDE):
            told[check].append(number)
        if ending.findings or ending.rejected:
            asked.keep.mkdir(parents=True, exist_ok=True)
            (asked.keep / f"machine-{asked.seed}-{number}.toml").write_text(text, encoding="utf-8")
            failed = "; ".join(f"{c.name} [{c.where}]: {c.value:g} for {c.limit:g} {c.unit}" for c in ending.rejected)
            print(f"{name} ends with {ending.code}: {ending.bug}{failed}", flush=True)
        if (taken := time.process_time() - begun) > 3 * SECONDS:
            print(f"{name} took {taken:.0f} s", flush=True)
        if (number + 1) % EVERY == 0:
            print(f"up to {number + 1:,}: {_counted(codes)}", flush=True)
    for kind, groups in (("known to be outside the search", told), ("FOUND", found)):
        for group, numbers in sorted(groups.items(), key=lambda entry: -len(entry[1])):
            print(f"{kind}: {group}, {len(numbers)} machines: {', '.join(map(str, numbers[:12]))}")
    print(f"{asked.machines:,} machines of seed {asked.seed}: {_counted(codes)}")
    return 1 if found else 0


def _counted(codes: Counter[int]) -> str:
    return ", ".join(f"{count:,} end with {code}" for code, count in sorted(codes.items()))


if __name__ == "__main__":
    sys.exit(main())
