"""What tachometer readings tell of slip and pitch line."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

__all__ = ["Asked", "Known", "NextReading", "Quantity", "Residual", "SlipEstimate", "Suspect", "Together"]


class Asked(StrEnum):
    """What is asked of a stage."""

    SLIP = "slip"
    """Share of the speed that the belt loses."""
    SHIFT = "shift"
    """How much farther out the belt's effective pitch line runs than assumed, on the radius [mm]."""


class Known(StrEnum):
    """How well it is known."""

    YES = "known"
    NOT_READ = "not read"
    """No reading bears on it."""
    TOGETHER = "cannot be separated"
    """Readings bear on it together with something else only."""
    VAGUE = "too vague"
    """Readings bear on it, but not well enough to say anything."""


@dataclass(frozen=True)
class Quantity:
    """One slip or shift."""

    asked: Asked
    stage: int
    """Counted from 0, motor's first."""
    loaded: bool | None
    """For slips; a shift is the same idle and loaded."""
    known: Known
    value: float | None = None
    """A share for slips, [mm] on the radius for shifts; nothing unless known."""
    uncertainty: float | None = None
    """Standard uncertainty."""
    why: str = ""
    """Why it is not known, or what is odd about it."""
    advice: str = ""
    """What to measure."""

    @property
    def interval(self) -> tuple[float, float] | None:
        """Two standard uncertainties to either side, which hold the truth in about 95 of 100 cases."""
        if self.value is None or self.uncertainty is None:
            return None
        return self.value - 2 * self.uncertainty, self.value + 2 * self.uncertainty

    @property
    def name(self) -> str:
        """What it is, in words."""
        if self.asked is Asked.SHIFT:
            return f"shift of the pitch line of stage {self.stage + 1}"
        return f"slip of stage {self.stage + 1} {'loaded' if self.loaded else 'idle'}"


class Term(NamedTuple):
    """A quantity's place in `SlipEstimate.quantities`, and its factor."""

    place: int
    factor: float


@dataclass(frozen=True)
class Together:
    """A combination that is known although its parts are not.

    It is the sum over its terms of factor times ln(1 − slip), or factor times shift [mm].
    """

    terms: tuple[Term, ...]
    value: float
    uncertainty: float
    text: str
    """What it means."""


class Residual(NamedTuple):
    """One speed as read beside what all readings together say."""

    reading: int
    shaft: int
    """0 is the motor."""
    read_rpm: float
    expected_rpm: float


@dataclass(frozen=True)
class Suspect:
    """Something that alone would explain why the readings do not agree."""

    text: str
    chi_square: float
    """How much less the sum of squares would be without it."""
    reading: int | None = None
    stage: int | None = None
    position: int | None = None


@dataclass(frozen=True)
class NextReading:
    """The further reading that would tell most."""

    positions: tuple[int, ...]
    loaded: bool
    shafts: tuple[int, ...]
    """Those whose speeds to read; 0 is the motor."""
    text: str


@dataclass(frozen=True)
class SlipEstimate:
    """Slips and shifts, what they rest on, and what would make them surer."""

    quantities: tuple[Quantity, ...]
    """Slip of each stage idle and loaded, motor's stage first, then the shifts."""
    together: tuple[Together, ...]
    chi_square: float
    """Sum of squares of the residuals in standard uncertainties."""
    freedom: int
    """How many readings check the others."""
    chance: float | None
    """Chance of so large a sum if all stated uncertainties are right; nothing where nothing is checked."""
    consistent: bool | None
    """Whether the readings agree within their uncertainties; nothing where nothing is checked."""
    suspects: tuple[Suspect, ...]
    """Where they do not: what may be wrong, likeliest first."""
    residuals: tuple[Residual, ...]
    next_reading: NextReading | None
    """Nothing where all that can be known is known, and checked."""
    more_needed: int | None
    """How many further readings would tell all that this machine lets be told; nothing where beyond counting."""
    remarks: tuple[str, ...]

    def slip(self, stage: int, *, loaded: bool) -> Quantity:
        """Return the slip of a stage."""
        return next(q for q in self.quantities if q.asked is Asked.SLIP and (q.stage, q.loaded) == (stage, loaded))

    def shift(self, stage: int) -> Quantity:
        """Return the shift of a stage's pitch line [mm on the radius]."""
        return next(q for q in self.quantities if q.asked is Asked.SHIFT and q.stage == stage)
