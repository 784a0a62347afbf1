"""Mounts whose one movement changes several belts, and the rule that one setting fits them all at every position."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.settings import Slide, Swing
from optimizer.scenario.base import Model

if TYPE_CHECKING:
    from optimizer.records.speeds import HasBelt

__all__ = ["Coupling", "Ends", "SharedBelt", "coupling_faults", "ends_of", "settings_of", "travel_faults"]

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


def ends_of(coupling: Coupling, stages: Sequence[HasBelt]) -> Ends:
    """Return how far the mount goes inward and outward of where the belts run, for those that it tensions."""
    inward, outward = [], []
    for belt in coupling.belts:
        if belt.moves:
            sizes = stages[belt.stage]
            centres = [p.centre_mm for p in sizes.positions]
            inward.append(float(belt.path.setting_mm(min(centres) - sizes.belt.inward_mm)))
            outward.append(float(belt.path.setting_mm(max(centres) + sizes.belt.outward_mm)))
    return Ends(min(inward, default=0.0), max(outward, default=0.0))


def coupling_faults(couplings: Sequence[Coupling], stages: Sequence[HasBelt]) -> Iterator[str]:
    """Yield a sentence for positions that no setting of their mount fits, and where the mount would go too far.

    As intervals of a line have a point in common where every two of them do, it is enough to look at two belts at a
    time.
    """
    for coupling in couplings:
        spans = []
        for belt in coupling.belts:
            sizes = stages[belt.stage]
            centres = np.array([p.centre_mm for p in sizes.positions])
            spans.append(settings_of(belt, centres, sizes.belt.forgives_mm))
        for (one, a), (other, b) in combinations(zip(coupling.belts, spans, strict=True), 2):
            apart = np.maximum(a[0][:, None] - b[1][None, :], b[0][None, :] - a[1][:, None])
            if apart.max() > SETTING_TOLERANCE_MM:
                p, q = np.unravel_index(int(np.argmax(apart)), apart.shape)
                yield (
                    f"{coupling.key}: no setting fits position {p + 1} of belt stage {one.stage + 1} and position "
                    f"{q + 1} of belt stage {other.stage + 1}: they lie {apart.max():.3f} mm apart"
                )
        yield from travel_faults(coupling, stages)


def travel_faults(coupling: Coupling, stages: Sequence[HasBelt]) -> Iterator[str]:
    """Yield a sentence for every belt that takes its mount too far."""
    for belt in coupling.belts:
        yield from _turning(coupling, belt, stages[belt.stage])
    if sum(belt.moves for belt in coupling.belts) > 1:
        for belt, far in coupling.travels_most_mm(ends_of(coupling, stages)):
            most = belt.travel_mm + stages[belt.stage].belt.forgives_mm
            if far > most + SETTING_TOLERANCE_MM:
                yield (
                    f"{coupling.key}: fitting and wearing out all belts moves belt stage {belt.stage + 1} by "
                    f"{far:.3f} mm, more than {most:.3f} mm"
                )


def _turning(coupling: Coupling, belt: SharedBelt, sizes: HasBelt) -> Iterator[str]:
    """Yield what the belt needs over its life that lies beyond where the movement turns round."""
    centres = [p.centre_mm for p in sizes.positions]
    low, high = belt.path.span_mm
    for name, centre in (
        ("to fit", min(centres) - (sizes.belt.inward_mm if belt.moves else 0.0)),
        ("at the end of the life of", max(centres) + (sizes.belt.outward_mm if belt.moves else 0.0)),
    ):
        if not low - SETTING_TOLERANCE_MM <= centre <= high + SETTING_TOLERANCE_MM:
            yield (
                f"{coupling.key}: {name} the belt of stage {belt.stage + 1} the centre distance must be "
                f"{centre:.3f} mm, beyond where the movement turns round"
            )
