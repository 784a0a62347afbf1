"""What refinement may make least."""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import NDArray

from optimizer.records import SideSizes
from optimizer.refine.program import Objective
from optimizer.refine.variables import Variables

__all__ = ["least_disc", "least_j", "least_timber"]

Floats = NDArray[np.float64]
NEAR = 1e-5
"""Weight of the distance from the start: settles which of many equally good answers is taken."""
STAND_IN = 0.1
"""Weight of the volume of steps that keep their discs."""


def least_j(variables: Variables, start: Floats) -> Objective:
    """Return the weighted sum of end miss and unevenness, ``w_e·ε + w_u·δ``."""
    targets = variables.problem.targets
    line = np.zeros(variables.size)
    _, _, delta, miss = variables.series
    line[delta], line[miss] = targets.unevenness_weight, targets.end_weight
    return _with_distance(variables, start, lambda vector: (float(line @ vector), line))


def least_disc(variables: Variables, start: Floats) -> Objective:
    """Return the logarithm of the largest disc, which `disc_rows` tie to the diameters."""
    line = np.zeros(variables.size)
    line[variables.disc] = 1.0
    return _with_distance(variables, start, lambda vector: (float(line @ vector), line))


def least_timber(variables: Variables, start: Floats, *, keep_discs: bool = False) -> Objective:
    """Return the volume of the discs as a share of that at the start.

    ``Σ π/4·(outside + truing)²·width`` over the turned steps: smooth, as if a disc of any size could be had. Where
    discs come in set sizes it stands in for their true volume, a step function of the diameter. Where they are to keep
    their discs, such steps count less than those from discs of any size, since turning them smaller saves nothing.
    """
    sides = _turned_sides(variables)
    extra_mm = np.array([side.outside_shift_mm + side.truing_mm for side in sides])
    counted = STAND_IN if keep_discs else 1.0
    widths_mm = np.array([side.width_mm * (counted if side.discs_mm else 1.0) for side in sides])
    turned = slice(0, variables.turned)

    def volume(vector: Floats) -> tuple[float, Floats]:
        pitch_mm = np.exp(vector[turned])
        blank_mm = pitch_mm + extra_mm
        gradient = np.zeros(variables.size)
        gradient[turned] = pi / 2 * blank_mm * pitch_mm * widths_mm
        return float(pi / 4 * (blank_mm**2 @ widths_mm)), gradient

    whole = volume(start)[0] or 1.0

    def share(vector: Floats) -> tuple[float, Floats]:
        value, gradient = volume(vector)
        return value / whole, gradient / whole

    return _with_distance(variables, start, share)


def _turned_sides(variables: Variables) -> list[SideSizes]:
    """Return the side of every turned diameter, in the order of the variables."""
    found = {
        index: side
        for spot in variables.spots
        for index, side in (
            (spot.driver, variables.problem.stages[spot.stage].driver),
            (spot.driven, variables.problem.stages[spot.stage].driven),
        )
        if index >= 0
    }
    return [found[index] for index in sorted(found)]


def _with_distance(variables: Variables, start: Floats, wanted: Objective) -> Objective:
    """Return what is wanted with a small weight on the distance of all sizes from the start."""
    sizes = slice(0, variables.first)

    def objective(vector: Floats) -> tuple[float, Floats]:
        value, gradient = wanted(vector)
        away = vector[sizes] - start[sizes]
        out = gradient.copy()
        out[sizes] += 2 * NEAR * away
        return value + NEAR * float(away @ away), out

    return objective
