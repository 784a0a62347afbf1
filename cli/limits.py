"""What time and memory a call may take, beside the count of combinations that ends a search."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from math import isfinite
from pathlib import Path

from optimizer.clock import Clock, Watcher
from optimizer.errors import Fault, NoDesignError, ScenarioError

__all__ = ["LEAST_MB", "LONGEST_S", "MEGABYTES", "SECONDS", "Limits", "held_mb"]

SECONDS = 50.0
"""Time that searches are given where --time does not say [s]; the documents are ready soon after."""
LONGEST_S = 1_000_000.0
"""Longest time that can be given [s]: eleven days."""
MEGABYTES = 1_000
"""Memory that a call is given where --memory does not say [MB], 10⁶ bytes each."""
LEAST_MB = 300
"""Least memory that can be given [MB]: the program and its libraries take about 150."""
_STATM = Path("/proc/self/statm")


@dataclass(frozen=True)
class Limits:
    """Time and memory of a call; a search that reaches one ends with the best design so far and its gap."""

    seconds: float = SECONDS
    megabytes: int = MEGABYTES

    def checked(self) -> Limits:
        """Return the limits.

        Raises
        ------
        ScenarioError
            They are none that a search could keep.
        """
        faults = []
        if not (isfinite(self.seconds) and 0 < self.seconds <= LONGEST_S):
            allowed = f"above 0 up to {LONGEST_S:g}"
            faults.append(Fault("--time", "this is no time to search in", f"{self.seconds:g}", allowed, "--time 60"))
        if self.megabytes < LEAST_MB:
            allowed = f"{LEAST_MB} or more"
            faults.append(Fault("--memory", "this is too little", str(self.megabytes), allowed, "leave it out"))
        if faults:
            raise ScenarioError(faults)
        return self

    @contextmanager
    def clock(self, watch: Watcher) -> Iterator[Clock]:
        """Give the clock of a call, its time running from now on; ^C ends it, a second one the program."""
        self.checked()
        clock = Clock(self.seconds, self.megabytes, watch=watch, held_mb=held_mb)
        before = signal.getsignal(signal.SIGINT)

        def interrupted(*_: object) -> None:
            signal.signal(signal.SIGINT, before)
            clock.interrupt()

        if threading.current_thread() is threading.main_thread():
            signal.signal(signal.SIGINT, interrupted)
        try:
            yield clock
        except NoDesignError:
            if clock.interrupted:
                raise KeyboardInterrupt from None
            raise
        finally:
            if threading.current_thread() is threading.main_thread():
                signal.signal(signal.SIGINT, before)


def held_mb() -> float | None:
    """Return the memory that this process holds [MB]; nothing where the system does not tell.

    Linux tells what is held now; other systems with `getrusage` what was held at most.
    """
    with suppress(OSError, ValueError, IndexError):
        return int(_STATM.read_bytes().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
    with suppress(ImportError):
        import resource
        import sys

        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        return most / 1e6 if sys.platform == "darwin" else most * 1024 / 1e6
    return None
