"""Mounts whose one movement changes several belts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.settings import Slide, Swing
from optimizer.scenario.base import Model

__all__ = ["SETTING_TOLERANCE_MM", "Coupling", "Ends", "SharedBelt", "settings_of"]

Floats = NDArray[np.float64]
SETTING_TOLERANCE_MM = 1e-6
"""How far settings may miss each other before it counts [mm]."""


class SharedBelt(Model):
    """One of the belts that a shared mount changes."""

    stage: int
    """Number of its belt stage, motor first, from 0."""
    path: Slide | Swing
    """Centre distance by setting of the mount."""
    travel_mm: float = 0.0
    """How far its centre distance may change; 0 where the movement does not tension it."""

    @property
    def moves(self) -> bool:
        """Whether the movement is there to tension it."""
        return self.travel_mm > 0


class Coupling(Model):
    """A mount whose one setting must fit several belts."""

    key: str
    """Place in the scenario, such as `shaft[1]`."""
    shaft: str
    """Name of the shaft whose mount it is."""
    belts: tuple[SharedBelt, ...]

    def belt_of(self, stage: int) -> SharedBelt | None:
        """Return what is known of a stage's belt; nothing where this mount is not all that changes it."""
        return next((belt for belt in self.belts if belt.stage == stage), None)

    def travels_most_mm(self, ends: Ends) -> Iterator[tuple[SharedBelt, float]]:
        """Yield for every belt that is tensioned how far its centre distance changes from one end to the other."""
        for belt in self.belts:
            if belt.moves:
                low, high = belt.path.centre_mm(ends.belt_on_mm), belt.path.centre_mm(ends.worn_out_mm)
                yield belt, float(high - low)


class Ends(NamedTuple):
    """How far the mount goes: to where every belt can be put on, to where none is loose at the end of its life."""

    belt_on_mm: float
    worn_out_mm: float


def settings_of(belt: SharedBelt, centre_mm: Floats, forgives_mm: Floats | float) -> tuple[Floats, Floats]:
    """Return least and greatest setting of the mount at which a belt runs [mm].

    Those of the centre distances from ``own − forgives/2`` to ``own + forgives/2``.

    Parameters
    ----------
    belt
        The belt.
    centre_mm
        Own centre distances.
    forgives_mm
        How much of a difference in centre distance the belt forgives.

    Examples
    --------
    >>> belt = SharedBelt(stage=0, path=Slide(along_mm=-300.0, across_mm=0.0))
    >>> [float(end) for end in settings_of(belt, np.array(310.0), 0.5)]
    [-10.25, -9.75]
    """
    near = belt.path.setting_mm(np.asarray(centre_mm) - np.asarray(forgives_mm) / 2)
    far = belt.path.setting_mm(np.asarray(centre_mm) + np.asarray(forgives_mm) / 2)
    return (near, far) if belt.path.grows else (far, near)
