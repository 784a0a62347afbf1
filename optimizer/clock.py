"""What one call may take: time, memory, combinations a search; asked by everything that loops or calls a solver."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from math import inf
from time import monotonic
from typing import Protocol

__all__ = ["ENDLESS", "FOR_SEARCH", "MOST_EXAMINED", "Clock", "LimitReachedError", "Watcher"]

MOST_EXAMINED = 20_000_000
"""Combinations looked at in one search before it ends unproved; a count, not a time, so that results repeat."""
FOR_SEARCH = 0.7
"""Share of the time after which searches end, so that some is left to bring the best so far to what can be turned."""
GRACE_S, GRACE_MB = 1.0, 100.0
"""Time [s] and memory [MB] left after the end to any design at all, and to bring it to sizes that can be turned."""


class Watcher(Protocol):
    """Hears how far the work is."""

    def begin(self, stage: str) -> None:
        """Take the name of the part of the work that begins."""

    def hear(self, threshold: float, examined: int) -> None:
        """Take how far a search is: no design below the threshold, so many combinations looked at."""


class LimitReachedError(Exception):
    """A limit ended the work; the message is the reason."""


@dataclass
class _State:
    """What a clock and those made from it have in common."""

    interrupted: bool = False
    ended: str = ""


class Clock:
    """Runs from when it is made; whoever takes long asks it, and ends with the best so far when it is over.

    It is made once a call and handed down. As long as it ends nothing it decides nothing, so that results repeat.

    Parameters
    ----------
    seconds, megabytes
        Time and memory that the call may take.
    most
        Combinations that one search may look at.
    watch
        Hears how far the work is.
    now_s, held_mb
        Tell the time [s] and the memory that the process holds [MB].

    Examples
    --------
    >>> now = iter([100.0, 159.0, 161.0])
    >>> clock = Clock(60.0, now_s=lambda: next(now))
    >>> clock.over(), clock.over()
    ('', 'the 60 s it was given were over')
    >>> Clock(megabytes=2000, held_mb=lambda: 2100.0).full()
    'the 2,000 MB of memory it was given were held'
    """

    def __init__(
        self,
        seconds: float = inf,
        megabytes: float = inf,
        *,
        most: float = MOST_EXAMINED,
        watch: Watcher | None = None,
        now_s: Callable[[], float] = monotonic,
        held_mb: Callable[[], float | None] = lambda: None,
    ) -> None:
        self.most = most
        self._seconds, self._megabytes = seconds, megabytes
        self._watch, self._now_s, self._held_mb = watch, now_s, held_mb
        self._end_s = now_s() + seconds if seconds < inf else inf
        self._state = _State()

    def counting(self, most: float) -> Clock:
        """Return the same clock for searches that may look at no more than so many combinations."""
        other = copy(self)
        other.most = min(self.most, most)
        return other

    def until(self, share: float) -> Clock:
        """Return a clock that is over after a share of the time, so that the rest is left to what follows."""
        other = copy(self)
        other._end_s = self._end_s - (1 - share) * self._seconds if self._end_s < inf else inf
        return other

    def with_grace(self) -> Clock:
        """Return a clock by which a result that is known is brought to its end, a little after the time is over."""
        other = copy(self)
        other.most, other._state = inf, _State()
        other._end_s = (self._now_s() if self.interrupted else self._end_s) + GRACE_S
        if self._megabytes < inf:
            other._megabytes = max(self._megabytes, self._held_mb() or 0.0) + GRACE_MB
        return other

    @property
    def ended(self) -> str:
        """The latest reason that ended anything."""
        return self._state.ended

    @property
    def interrupted(self) -> bool:
        """Whether the work was interrupted."""
        return self._state.interrupted

    def interrupt(self) -> None:
        """End the work where it stands."""
        self._state.interrupted = True

    @property
    def left_s(self) -> float:
        """The time that is left [s], above 0, for solvers that keep time themselves."""
        return inf if self._end_s == inf else max(self._end_s - self._now_s(), 1e-3)

    def over(self) -> str:
        """Return why nothing more is to be begun; nothing while there is time."""
        if self._state.interrupted:
            return "it was stopped before the end"
        return f"the {self._seconds:g} s it was given were over" if self._end_s < inf and self._out_of_time() else ""

    def full(self, more_bytes: float = 0) -> str:
        """Return why no more memory is to be taken, or not so much more; nothing where there is room."""
        held = self._held_mb() if self._megabytes < inf else None
        full = held is not None and held + more_bytes / 1e6 > self._megabytes
        return f"the {self._megabytes:,.0f} MB of memory it was given were held" if full else ""

    def ask(self) -> None:
        """Go on while there is time.

        Raises
        ------
        LimitReachedError
            Time is over, or the work was interrupted.
        """
        self.end(self.over())

    def ask_room(self, more_bytes: float = 0) -> None:
        """Go on while there is time, and room for so much more memory.

        Raises
        ------
        LimitReachedError
            There is not.
        """
        self.end(self.over() or self.full(more_bytes))

    def ask_after(self, examined: int) -> None:
        """Go on with a search that has looked at so many combinations.

        Raises
        ------
        LimitReachedError
            They are more than it may look at, or time or memory ended it.
        """
        self.end(f"{self.most:,} combinations were looked at" if examined > self.most else "")
        self.ask_room()

    def end(self, reason: str) -> None:
        """End the work where there is a reason.

        Raises
        ------
        LimitReachedError
            With the reason.
        """
        if reason:
            self._state.ended = reason
            raise LimitReachedError(reason)

    def begin(self, stage: str) -> None:
        """Let the watcher know what begins."""
        if self._watch:
            self._watch.begin(stage)

    def hear(self, threshold: float, examined: int) -> None:
        """Let the watcher know how far a search is."""
        if self._watch:
            self._watch.hear(threshold, examined)

    def _out_of_time(self) -> bool:
        return self._now_s() > self._end_s


ENDLESS = Clock(most=inf)
"""A clock that ends nothing."""
