"""One measurement in a process of its own: ``python -m tests.bench.child NAME`` prints it as JSON."""

from __future__ import annotations

import json
import resource
import sys
from math import inf
from pathlib import Path
from statistics import median
from time import perf_counter

from optimizer.search import look
from tests.bench.growing import every_measured

__all__ = ["measure", "peak_mb"]

STATUS = Path("/proc/self/status")
ROUNDS = 3
LONG_S = 4.0
"""A call that takes longer is made once."""


def measure(name: str) -> dict[str, object]:
    """Return pairs, J, seconds and memory of one measurement."""
    before = peak_mb()
    times: list[float] = []
    while len(times) < ROUNDS and (not times or times[0] < LONG_S):
        problems = every_measured()[name].make()
        start = perf_counter()
        proofs = [look(problem).found.proof for problem in problems]
        times.append(perf_counter() - start)
    return {
        "pairs": sum(proofs[0].pairs),
        "status": sorted({proof.status for proof in proofs}),
        "j": min((proof.listed for proof in proofs), default=inf),
        "seconds": median(times),
        "first_seconds": times[0],
        "before_mb": before,
        "peak_mb": peak_mb(),
    }


def peak_mb() -> float:
    """Return the most memory that this process has held since it began [MB].

    Where the system keeps the high-water mark of the program itself it is taken: that of the process may be what its
    parent held when it started it.
    """
    if STATUS.is_file():
        for line in STATUS.read_text(encoding="ascii").splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used / (1024 * 1024 if sys.platform == "darwin" else 1024)


if __name__ == "__main__":
    print(json.dumps(measure(sys.argv[1])))
