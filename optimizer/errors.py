"""Errors that a person can act on."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CannotWriteError", "ConewrightError", "Fault", "NoDesignError", "ScenarioError"]


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
        parts = [f"{self.where}: {self.what}"]
        if self.got:
            parts.append(f"got {self.got}")
        if self.allowed:
            parts.append(f"allowed: {self.allowed}")
        if self.advice:
            parts.append(f"try: {self.advice}")
        return "; ".join(parts)


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
