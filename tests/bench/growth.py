"""How time and memory grow with sizes, steps and belts."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from math import inf

import numpy as np

from tests.bench.growing import Measured
from tests.bench.store import ROOT, Row, Store

__all__ = ["PART", "exponent", "run_growth"]

PART = "growth"
GIVEN_UP_S = 180.0


def run_growth(measured: Sequence[Measured], store: Store, say: Callable[[str], None]) -> None:
    """Measure each in a process of its own, and keep what it says."""
    for one in measured:
        row = _in_a_child(one.name)
        say(f"{one.name:<56} {row['pairs']:>9,} pairs {row['seconds']:9.3f} s {row['peak_mb']:6.0f} MB {row['status']}")
        store.keep(PART, one.name, row)


def exponent(pairs: Sequence[float], seconds: Sequence[float]) -> float:
    """Return the power of the pairs with which time grows: the slope of a line through the logarithms.

    Examples
    --------
    >>> round(exponent([100, 1000, 10000], [0.01, 0.1, 1.0]), 6)
    1.0
    """
    return float(np.polyfit(np.log(pairs), np.log(seconds), 1)[0])


def _in_a_child(name: str) -> Row:
    command = [sys.executable, "-m", "tests.bench.child", name]
    try:
        ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True, timeout=GIVEN_UP_S)
    except subprocess.TimeoutExpired:
        return {"pairs": 0, "status": ["given up"], "j": inf, "seconds": inf, "before_mb": 0.0, "peak_mb": inf}
    row: Row = json.loads(ran.stdout)
    return row
