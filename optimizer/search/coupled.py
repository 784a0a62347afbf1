"""What mounts whose one setting must fit several belts ask of the choices of their stages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optimizer.records import Problem
from optimizer.records.coupling import Coupling, SharedBelt, settings_of
from optimizer.search.index import PairIndex

__all__ = ["Aims", "Coupled", "Meeting"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
TOLERANCE_MM = 1e-9
ANCHORS = 9
"""Settings that are tried for the rays of a design."""
Meeting = tuple[Floats, ...]
"""For every shared mount the greatest of the least settings of some choices, then the least of their greatest."""
Aims = list[tuple[float, float] | None]
"""For every belt stage the span of own centre distances that its rays are to be trimmed into."""


@dataclass(frozen=True)
class Coupled:
    """The settings of shared mounts at which pairs run.

    Two choices of different stages may stand together where every position of one has a setting in common with every
    position of the other: where the greatest of the least settings of one is no more than the least of the greatest
    settings of the other, both ways round. So two figures a stage and mount are all that joins stages, and what is
    joined has such figures again.
    """

    problem: Problem
    indexes: tuple[PairIndex, ...]
    """The pairs of the belt stages."""

    @classmethod
    def of(cls, problem: Problem, indexes: tuple[PairIndex, ...]) -> Coupled | None:
        """Return what is asked; nothing where every belt has a mount of its own."""
        return cls(problem, indexes) if problem.couplings else None

    @cached_property
    def settings(self) -> dict[tuple[int, int], tuple[Floats, Floats]]:
        """By number of the mount and of the stage, least and greatest setting of every pair.

        For a ray those of its whole span of centre distances.
        """
        found = {}
        for number, coupling in enumerate(self.problem.couplings):
            for belt in coupling.belts:
                pairs = self.indexes[belt.stage].pairs
                forgives = self._figures(belt, "forgives_mm")[pairs.belt]
                ends = [settings_of(belt, centre, forgives) for centre in (pairs.centre_low, pairs.centre_high)]
                found[number, belt.stage] = np.minimum(ends[0][0], ends[1][0]), np.maximum(ends[0][1], ends[1][1])
        return found

    def nothing(self, count: int) -> Meeting:
        """Return the figures of so many choices that ask nothing."""
        return (np.full(count, -np.inf), np.full(count, np.inf)) * len(self.problem.couplings)

    def meeting(self, stage: int, rows: Ints) -> Meeting:
        """Return the figures of choices of one stage, an array (choices, positions) of rows of its pairs."""
        found: list[Floats] = []
        for number in range(len(self.problem.couplings)):
            if (number, stage) in self.settings:
                low, high = self.settings[number, stage]
                found += [low[rows].max(axis=1), high[rows].min(axis=1)]
            else:
                found += [np.full(len(rows), -np.inf), np.full(len(rows), np.inf)]
        return tuple(found)

    def holds(self, rows: Sequence[Ints]) -> NDArray[np.bool_]:
        """Tell which designs can be fitted and worn out within the travel, the movement never turning round.

        Of rays it is asked whether some of their scales can.
        """
        good = np.ones(len(rows[0]), dtype=bool)
        for coupling in self.problem.couplings:
            good &= self._goes_far_enough(coupling, rows)
        return good

    def aims(self, rows: Sequence[Ints]) -> Iterator[Aims]:
        """Yield what the rays of a design, given by the rows of every belt stage, might be trimmed into."""
        spans = [list(self._targets(number, rows)) for number in range(len(self.problem.couplings))]
        for targets in zip(*spans, strict=True):
            aims: Aims = [None] * len(rows)
            for coupling, number, (low, high) in zip(self.problem.couplings, range(len(spans)), targets, strict=True):
                for belt in coupling.belts:
                    own = self.meeting(belt.stage, rows[belt.stage][None, :])[2 * number : 2 * number + 2]
                    aims[belt.stage] = self._aim(belt, rows[belt.stage], (low, high), bool(own[0][0] > own[1][0]))
            yield aims

    def _figures(self, belt: SharedBelt, name: str) -> Floats:
        return np.array([getattr(choice, name) for choice in self.problem.stages[belt.stage].belts])

    def _goes_far_enough(self, coupling: Coupling, rows: Sequence[Ints]) -> NDArray[np.bool_]:
        good = np.ones(len(rows[0]), dtype=bool)
        inward, outward = np.full(good.size, np.inf), np.full(good.size, -np.inf)
        for belt in coupling.belts:
            pairs, chosen = self.indexes[belt.stage].pairs, rows[belt.stage]
            kind = pairs.belt[chosen[:, 0]]
            low, high = belt.path.span_mm
            least, most = pairs.centre_high[chosen].min(axis=1), pairs.centre_low[chosen].max(axis=1)
            if belt.moves:
                least = least - self._figures(belt, "inward_mm")[kind]
                most = most + self._figures(belt, "outward_mm")[kind]
                inward = np.minimum(inward, belt.path.setting_mm(least))
                outward = np.maximum(outward, belt.path.setting_mm(most))
            good &= (least >= low - TOLERANCE_MM) & (most <= high + TOLERANCE_MM)
        moving = [belt for belt in coupling.belts if belt.moves]
        for belt in moving if len(moving) > 1 else ():
            kind = self.indexes[belt.stage].pairs.belt[rows[belt.stage][:, 0]]
            most = belt.travel_mm + self._figures(belt, "forgives_mm")[kind]
            good &= belt.path.centre_mm(outward) - belt.path.centre_mm(inward) <= most + TOLERANCE_MM
        return good

    def _targets(self, number: int, rows: Sequence[Ints]) -> Iterator[tuple[float, float]]:
        """Yield spans of settings that every position of all stages but one should hold, that one's only touch."""
        own, natural = [], []
        for belt in self.problem.couplings[number].belts:
            chosen = rows[belt.stage]
            low, high = (side[chosen] for side in self.settings[number, belt.stage])
            own.append((float(low.max()), float(high.min())))
            natural.append(float((low + high).mean()) / 2)
        first, last = max(low for low, _ in own), min(high for _, high in own)
        if first > last:
            yield from [(last, first)] * (ANCHORS + 1)
            return
        middle = float(np.clip(np.mean(natural), first, last))
        anchors = np.linspace(first, last, ANCHORS)
        yield from [(t, t) for t in (middle, *anchors[np.argsort(np.abs(anchors - middle), kind="stable")].tolist())]

    def _aim(self, belt: SharedBelt, rows: Ints, target: tuple[float, float], spread: bool) -> tuple[float, float]:
        """Return the own centre distances whose settings hold a span, or, of a spread stage, touch it."""
        choice = self.problem.stages[belt.stage].belts[int(self.indexes[belt.stage].pairs.belt[rows[0]])]
        ends = sorted(float(belt.path.centre_mm(setting)) for setting in target)
        near, far = ends if spread else ends[::-1]
        return near - choice.forgives_mm / 2, far + choice.forgives_mm / 2
