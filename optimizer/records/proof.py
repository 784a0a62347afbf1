"""What a search says of its result."""

from __future__ import annotations

from math import inf
from typing import Literal

from pydantic import Field

from optimizer.records.candidate import Candidate
from optimizer.scenario.base import Model

__all__ = ["Closing", "Extreme", "Found", "Proof"]


class Proof(Model):
    """How good a layout's best listed design is, with what was searched to know it."""

    status: Literal["proved", "not proved", "no design", "set aside"]
    """`proved`: no listed design is better; `no design`: there is none; `not proved`: a limit ended the search;
    `set aside`: none has a J up to what was asked."""
    reason: str = ""
    """Why it is not proved, or what rules every design out."""
    ideal: float = 0.0
    """0 where a geometric series from bottom to top meets the wants, otherwise the least J any series could have."""
    structural: float = 0.0
    """Lower bound of J for any real diameters within the limits."""
    listed: float = inf
    """J of the best design over the listed sizes."""
    bound: float = 0.0
    """No listed design has a J below this."""
    combinations: int = 0
    """Number of combinations of belts and listed sizes in the layout."""
    examined: int = 0
    """Combinations that were looked at one by one; the bound ruled out the rest."""
    pairs: tuple[int, ...] = ()
    """Pairs of sizes that fit some belt, for every stage."""
    held_bytes: int = 0
    """Greatest memory that pairs and tabulated choices took at once; what is looked at streams past in blocks."""

    @property
    def gap(self) -> float:
        """How much better than the result a listed design could still be."""
        return 0.0 if self.status == "proved" else self.listed - self.bound

    @property
    def ruled_out(self) -> int:
        """Combinations that the bound ruled out unseen."""
        return self.combinations - self.examined


class Extreme(Model):
    """The design that is best at one thing among those within the slack of the best J."""

    best_at: Literal["least timber", "smallest largest disc", "best grip"]
    value: float
    """Timber [mm³], diameter of the largest disc [mm], or grip."""
    proved: bool
    candidate: Candidate


class Found(Model):
    """The result of searching one layout."""

    candidate: Candidate | None = None
    proof: Proof
    extremes: tuple[Extreme, ...] = Field(default=())


class Closing(Model):
    """What a last search over sizes on ticks says of a design."""

    status: Literal["none better", "better", "not proved"]
    reason: str = ""
    """Why it is not proved."""
    candidate: Candidate | None = None
    """The best turnable design, where it is better."""
    j: float = inf
    """Its J."""
    bound: float = 0.0
    """No turnable design on these belts has a J below this."""
    examined: int = 0
    combinations: int = 0
    """Combinations of sizes on ticks."""
