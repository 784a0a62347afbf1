"""Errors that a person can act on."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CannotWriteError", "ConewrightError", "Fault", "NoDesignError", "ScenarioError"]

LONGEST_PLACE = 400
"""Places with more characters are shortened where they are shown."""


@dataclass(frozen=True, order=True)
class Fault:
    """One thing that is wrong with what the maker stated.

    Examples
    --------
    >>> print(Fault("motor.speed", "the speed must be above 0", "-5", "more than 0 rpm", "write it as on the plate"))
    motor.speed: the speed must be above 0; got -5; allowed: more than 0 rpm; try: write it as on the plate
    """

    where: str
    """Place in the scenario, such as `stage[1].driver.blanks[3]`."""
    what: str
    """What is wrong, as a sentence without a full stop."""
    got: str = ""
    """The value as the maker wrote it."""
    allowed: str = ""
    """What would be accepted."""
    advice: str = ""
    """What to try."""

    def __str__(self) -> str:
        parts = [f"{_short(self.where)}: {self.what}"]
        if self.got:
            parts.append(f"got {self.got}")
        if self.allowed:
            parts.append(f"allowed: {self.allowed}")
        if self.advice:
            parts.append(f"try: {self.advice}")
        return "; ".join(parts)


def _short(place: str) -> str:
    """Return a place without the middle of what no file should have as a key."""
    return place if len(place) <= LONGEST_PLACE else f"{place[: LONGEST_PLACE // 2]}…{place[-LONGEST_PLACE // 4 :]}"


class ConewrightError(Exception):
    """Base of every error this project raises on purpose."""


class ScenarioError(ConewrightError):
    """The scenario, or a value given with the call, is wrong.

    Parameters
    ----------
    faults
        Every problem found, in the order of the file.
    """

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class NoDesignError(ConewrightError):
    """No design meets the hard rules; the message says why and what would help."""


class CannotWriteError(ConewrightError):
    """A result could not be written; nothing half-written is left."""
