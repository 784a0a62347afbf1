"""What a maker states of a mount that weight, a spring or a screw pulls: its hinge, its masses, its pull."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import dist
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from pydantic import BeforeValidator, Field

from optimizer.errors import Fault
from optimizer.quantities import ANGLE, FORCE, MASS, QuantityError, as_written, show_length
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import Default, Point, Quantity

if TYPE_CHECKING:
    from optimizer.scenario.shop import Shaft

__all__ = ["Force", "Hinge", "Mass", "Pulls", "Spring", "arm_faults", "as_pulls", "pull_faults"]

SHORTEST_ARM_MM = 1.0
"""No hinge stands nearer to its shaft: places are measured to a millimetre or so."""

Mass = Annotated[float, Quantity(MASS, most=5000.0)]
Force = Annotated[float, Quantity(FORCE, most=100_000.0)]


def as_pulls(value: object) -> object:
    """Turn one pull into the same at both ends of travel."""
    if isinstance(value, list | tuple):
        if len(value) != 2:
            raise QuantityError(
                "this takes one value, or two: with the shafts nearest, with them farthest apart",
                as_written(value),
                "[nearest, farthest]",
            )
        return value
    return (value, value)


Pulls = Annotated[tuple[Force, Force], BeforeValidator(as_pulls)]
"""Pull with the shafts nearest and farthest apart [N]; one where both are the same."""


class Spring(Stated):
    """A spring that draws a hinged mount."""

    header: ClassVar[str] = "the spring of a hinge"
    stand_ins: ClassVar[Mapping[str, Any]] = {"pull": 0, "at": (0.0, 0.0), "to": (1.0, 0.0)}

    pull_n: Force = Field(alias="pull")
    """Its pull where it hangs, as a spring balance reads it."""
    at_mm: Point = Field(alias="at")
    """Where it takes hold of the mount, `[x, y]`, while the shafts stand as their `at` says."""
    to_mm: Point = Field(alias="to")
    """What it is fastened to at its other end, on what carries the hinge, `[x, y]`."""

    @rule("at_mm", "to_mm")
    def _has_a_length(self, _: str) -> Iterator[Fault]:
        if self.at_mm == self.to_mm:
            yield Fault("to", "both ends of the spring are one point", as_written(self.to_mm), "its other end")


class Hinge(Stated):
    """The hinge of a shaft's mount with what hangs on it, at the same place of the mount as the shaft's `at`."""

    header: ClassVar[str] = "the hinge of a [[shaft]]"
    stand_ins: ClassVar[Mapping[str, Any]] = {"at": (0.0, 0.0)}

    at_mm: Point = Field(alias="at")
    """Place of the hinge's axis, `[x, y]`."""
    mass_kg: Mass | None = Field(None, alias="mass")
    """Mass of all that turns about the hinge with this shaft but a motor with `motor.mass` and riders with hinges."""
    centre_mm: Point | None = Field(None, alias="centre")
    """Where that mass balances over an edge, `[x, y]`; the shaft's own place where nothing is stated."""
    spring: Spring | None = None
    """A spring that draws the mount as well."""
    line_deg: Annotated[float, Quantity(ANGLE, most=360.0), Default("level; judgement")] = Field(0.0, alias="line")
    """Line through `at` along which the hinge could be put elsewhere, turned from x toward y."""


def pull_faults(shaft: Shaft) -> Iterator[Fault]:
    """Yield a fault for everything that pulls a mount of another kind."""
    if shaft.locked and shaft.mount == "fixed":
        yield Fault("locked", "only a mount that moves is locked", "true", 'mount = "slide" or "hinge"')
    if shaft.hinge is not None and shaft.mount != "hinge":
        yield Fault("hinge", "only a hinged mount has a hinge", as_written(shaft.mount), 'mount = "hinge"')
    if shaft.pull_n is not None and shaft.mount != "slide":
        yield Fault("pull", "only a slide is drawn by a pull", as_written(shaft.mount), 'mount = "slide"')


def arm_faults(shaft: Shaft, units: str) -> Iterator[Fault]:
    """Yield a fault where a hinge stands on the axis of its shaft, which it then does not move."""
    if shaft.hinge is not None and shaft.at_mm is not None and dist(shaft.hinge.at_mm, shaft.at_mm) < SHORTEST_ARM_MM:
        yield Fault(
            "hinge.at",
            "the hinge stands on the shaft's own axis",
            as_written(shaft.hinge.at_mm),
            f"{show_length(SHORTEST_ARM_MM, units)} from it or more",
        )
