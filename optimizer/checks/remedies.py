"""What weight, what spring, which place of the hinge would draw a belt enough and not too much."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import cos, hypot, radians, sin
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.carrying import BeltLoad, loads
from optimizer.checks.hanging import Balance, balances
from optimizer.checks.levers import unit_efforts
from optimizer.checks.stated import Machine
from optimizer.scenario import Shaft

__all__ = ["OFFSET_MM", "Span", "does", "hinge_spans", "mass_span", "pull_span"]

Floats = NDArray[np.float64]
OFFSET_MM = 10.0
"""Distance of the places along its line at which a hinge is tried."""
FARTHEST_MM = 500.0
"""How far from its place a hinge is tried at the most; no farther than its arm is long."""


class Span(NamedTuple):
    """From the least that is enough to the most that is not too much; the least is above it where none is both."""

    least: float
    most: float

    @property
    def some(self) -> bool:
        """Whether anything is enough and not too much."""
        return self.least <= self.most


def pull_span(balance: Balance) -> Span | None:
    """Return by how much more a spring must draw the shaft [N], below 0 where it is drawn too hard already.

    About a hinge it draws square to the line from hinge to shaft, the way that tightens; along a slide, along it.
    Nothing where no state tells what the belt asks for.
    """
    return _span(balance, unit_efforts(balance.scene)[1])


def mass_span(balance: Balance) -> Span | None:
    """Return how many kilograms more must hang at the mount's centre, below 0 where it hangs too heavy already.

    Nothing on a slide, and where weight at that place would slacken the belt at some position.
    """
    effort, _ = unit_efforts(balance.scene)
    return None if effort is None else _span(balance, balance.levers.sense * effort)


def _span(balance: Balance, unit: Floats) -> Span | None:
    """Return the amounts that keep every state between enough and too much, by their effort for one."""
    known = ~np.isnan(balance.load.difference_n) & ~np.isnan(balance.rest_n)
    if not known.any() or np.any(unit[known] < 1e-6):
        return None
    rest, loaded = balance.most_efforts()
    with np.errstate(invalid="ignore"):
        start = balance.at_rest if balance.locked else balance.loaded
        least = np.fmax((balance.least_effort() - start) / unit, -balance.at_rest / unit)
        most = np.fmin((rest - balance.at_rest) / unit, (loaded - balance.loaded) / unit)
    return Span(float(np.max(least[known])), float(np.min(most[known])))


def does(balance: Balance) -> bool:
    """Tell whether a mount draws its belt enough and not too much in every state."""
    span = pull_span(balance)
    known = ~np.isnan(balance.rest_n)
    return span is not None and bool(known.all()) and span.least <= 1e-9 and span.most >= -1e-9


def hinge_spans(machine: Machine, balance: Balance) -> tuple[Span, ...]:
    """Return how far along its line the hinge could stand for all to be enough and not too much [mm].

    Places are tried every `OFFSET_MM` as far as the arm is long; everything else stays where it is, the centre of the
    mass too. Nothing for a slide, and where weight is not stated.
    """
    mount = balance.scene.mount
    if mount.hinge is None or mount.at_mm is None or balance.unstated or pull_span(balance) is None:
        return ()
    arm = hypot(mount.at_mm[0] - mount.hinge.at_mm[0], mount.at_mm[1] - mount.hinge.at_mm[1])
    steps = int(min(arm, FARTHEST_MM) // OFFSET_MM)
    belts = loads(machine)
    good = [step for step in range(-steps, steps + 1) if _would_do(machine, belts, mount, step * OFFSET_MM)]
    return tuple(Span(first * OFFSET_MM, last * OFFSET_MM) for first, last in _runs(good))


def _runs(steps: list[int]) -> Iterator[tuple[int, int]]:
    """Yield the first and last of every run of neighbouring steps."""
    for index, step in enumerate(steps):
        if index == 0 or steps[index - 1] != step - 1:
            end = next((i for i in range(index, len(steps) - 1) if steps[i + 1] != steps[i] + 1), len(steps) - 1)
            yield step, steps[end]


def _would_do(machine: Machine, belts: tuple[BeltLoad, ...], mount: Shaft, offset_mm: float) -> bool:
    """Tell whether a hinge moved along its line draws the belt enough and not too much."""
    assert mount.hinge is not None and mount.at_mm is not None
    way = radians(mount.hinge.line_deg)
    x, y = mount.hinge.at_mm[0] + offset_mm * cos(way), mount.hinge.at_mm[1] + offset_mm * sin(way)
    if hypot(x - mount.at_mm[0], y - mount.at_mm[1]) < OFFSET_MM:
        return False
    centre = mount.hinge.centre_mm or mount.at_mm
    moved = mount.model_copy(update={"hinge": mount.hinge.model_copy(update={"at_mm": (x, y), "centre_mm": centre})})
    shafts = tuple(moved if shaft.name == mount.name else shaft for shaft in machine.scenario.shafts)
    elsewhere = replace(machine, scenario=machine.scenario.model_copy(update={"shafts": shafts}))
    found = (other for other in balances(elsewhere, belts)[0] if other.scene.mount.name == mount.name)
    return any(map(does, found))
