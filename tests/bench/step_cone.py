"""The published step-cone weight problem, stated for the project's own refinement.

S. S. Rao, Engineering Optimization, 4th ed. (2009), example 1.3, pp. 19-21 (read); numbers and bounds as in problem
RC23 of Kumar, Wu, Ali, Mallipeddi, Suganthan, Das, Swarm and Evolutionary Computation 56 (2020) 100693 (code read).
Four steps on the shaft that is driven at four speeds, each as many times smaller than its mate on the input shaft as
its speed is larger than the input's; one width; the lightest pair of cones that carries 0.75 horsepower on every
step.

The report of RC23 prints the weight without π/4 and the squares; its code has both, and so has this.
"""

from __future__ import annotations

from math import pi
from time import perf_counter
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import belt_length_mm, belt_length_two_term_mm, length_gradient
from optimizer.mechanics.flat_belts import carried_power_w, tension_ratio
from optimizer.refine.program import Program, Rows, solve

__all__ = ["RATIOS", "Answer", "Lightest", "lightest", "powers_w", "step_cone"]

Floats = NDArray[np.float64]
INPUT_RPM = 350.0
OUTPUT_RPM = np.array([750.0, 450.0, 250.0, 150.0])
RATIOS = OUTPUT_RPM / INPUT_RPM
"""Diameter of the input step over that of its mate."""
CENTRE_MM = 3000.0
DENSITY_KG_M3 = 7200.0
FRICTION = 0.35
STRESS_MPA = 1.75
THICKNESS_MM = 8.0
LEAST_RATIO = 2.0
LEAST_POWER_W = 0.75 * 745.6998
MOST_MM = np.array([60.0, 60.0, 90.0, 90.0, 90.0])
"""Largest diameters of the four mates, largest width."""
LEAST_MM = 1.0
SLACK_MM = 0.1
"""By how much the usual statement lets each belt differ from the first."""

SCALE_MM = 100.0
"""A variable counts as a multiple of this."""
SCALE_KG = 10.0
BELT_MM = 20.0
"""A difference of belts counts as a multiple of this."""
SAME_KG = 1e-7
"""By how much starts may differ that count as having found the same."""

Length = Literal["two-term", "exact"]


class Answer(NamedTuple):
    """Where one start led."""

    mass_kg: float
    sizes_mm: tuple[float, ...]
    """Four mates on the output shaft, then the width."""
    belts_mm: tuple[float, ...]
    evaluations: int
    success: bool

    @property
    def apart_mm(self) -> float:
        """How far the four belts differ in length."""
        return max(self.belts_mm) - min(self.belts_mm)


class Lightest(NamedTuple):
    """The best of several starts."""

    best: Answer
    starts: int
    found: int
    """How many of them came to the same mass."""
    evaluations: int
    """In all starts together."""
    seconds: float


def lightest(length: Length, slack_mm: float = 0.0, starts: int = 10, seed: int = 1) -> Lightest:
    """Return the lightest cones from so many seeded starts, belts equal or within a slack of the first."""
    rng = np.random.default_rng(seed)
    program = step_cone(length, slack_mm)
    began = perf_counter()
    answers = [
        _answer(program, program.low + rng.random(5) * (program.high - program.low), length) for _ in range(starts)
    ]
    seconds = perf_counter() - began
    good = [a for a in answers if a.success] or answers
    best = min(good, key=lambda a: a.mass_kg)
    same = sum(abs(a.mass_kg - best.mass_kg) <= SAME_KG * best.mass_kg for a in good)
    return Lightest(best, starts, same, sum(a.evaluations for a in answers), seconds)


def step_cone(length: Length, slack_mm: float = 0.0) -> Program:
    """Return the problem: the mass as objective; equal belts, tension ratios and powers as rows."""

    def apart(vector: Floats) -> Floats:
        belts = _belts_mm(vector, length)
        return np.asarray((belts[1:] - belts[0]) / BELT_MM)

    def apart_slopes(vector: Floats) -> Floats:
        slopes = _belt_slopes(vector, length) * SCALE_MM / BELT_MM
        out = np.zeros((3, 5))
        out[:, 0] = -slopes[0]
        out[np.arange(3), np.arange(1, 4)] = slopes[1:]
        return out

    nothing = Rows(lambda vector: np.empty(0), lambda vector: np.empty((0, 5)))
    belts = Rows(apart, apart_slopes)
    grips = Rows(_grips, _grip_slopes)
    within = Rows(
        lambda z: np.concatenate([slack_mm / BELT_MM - apart(z), slack_mm / BELT_MM + apart(z), _grips(z)]),
        lambda z: np.vstack([-apart_slopes(z), apart_slopes(z), _grip_slopes(z)]),
    )
    return Program(
        objective=_mass,
        equal=nothing if slack_mm else belts,
        least=within if slack_mm else grips,
        low=np.full(5, LEAST_MM) / SCALE_MM,
        high=MOST_MM / SCALE_MM,
    )


def powers_w(sizes_mm: Floats) -> Floats:
    """Return the power that each step carries."""
    mates_mm, width_mm = sizes_mm[:4], sizes_mm[4]
    speeds_m_s = pi * mates_mm / 1000 * OUTPUT_RPM / 60
    return np.asarray(carried_power_w(STRESS_MPA * THICKNESS_MM * width_mm, FRICTION, _wraps_rad(mates_mm), speeds_m_s))


def _answer(program: Program, start: Floats, length: Length) -> Answer:
    solution = solve(program, start)
    belts = _belts_mm(solution.vector, length)
    kept = program.least.values(solution.vector).min() > -1e-9
    even = float(np.abs(program.equal.values(solution.vector)).max(initial=0.0)) < 1e-9
    return Answer(
        mass_kg=_mass(solution.vector)[0] * SCALE_KG,
        sizes_mm=tuple(float(x) for x in solution.vector * SCALE_MM),
        belts_mm=tuple(float(x) for x in belts),
        evaluations=solution.evaluations,
        success=bool(kept and even),
    )


def _mass(vector: Floats) -> tuple[float, Floats]:
    """Return ``ρ·w·π/4·Σ d²·(1 + ratio²)`` in units of the scale, with its gradient."""
    weights = 1 + RATIOS**2
    factor = DENSITY_KG_M3 * pi / 4 * (SCALE_MM / 1000) ** 3 / SCALE_KG
    mates, width = vector[:4], float(vector[4])
    whole = float(weights @ mates**2)
    return factor * width * whole, factor * np.append(2 * width * weights * mates, whole)


def _belts_mm(vector: Floats, length: Length) -> Floats:
    mates_mm = vector[:4] * SCALE_MM
    worked_out = belt_length_two_term_mm if length == "two-term" else belt_length_mm
    return np.asarray(worked_out(mates_mm * RATIOS, mates_mm, CENTRE_MM))


def _belt_slopes(vector: Floats, length: Length) -> Floats:
    """Return how each belt grows per millimetre of its mate."""
    mates_mm = vector[:4] * SCALE_MM
    if length == "exact":
        driver, driven, _ = length_gradient(mates_mm * RATIOS, mates_mm, CENTRE_MM)
    else:
        lean = (mates_mm * RATIOS - mates_mm) / 2 / CENTRE_MM
        driver, driven = pi / 2 + lean, pi / 2 - lean
    return np.asarray(driver * RATIOS + driven)


def _wraps_rad(mates_mm: Floats) -> Floats:
    """Return the arc of contact on each mate, above half a turn where the mate is the larger."""
    return np.asarray(pi - 2 * np.arcsin((RATIOS - 1) * mates_mm / (2 * CENTRE_MM)))


def _grips(vector: Floats) -> Floats:
    """Return by how much, as a logarithm, tension ratio and power pass what is asked."""
    sizes_mm = vector * SCALE_MM
    ratios = np.asarray(tension_ratio(FRICTION, _wraps_rad(sizes_mm[:4])))
    return np.concatenate([np.log(ratios / LEAST_RATIO), np.log(powers_w(sizes_mm) / LEAST_POWER_W)])


def _grip_slopes(vector: Floats) -> Floats:
    mates_mm, width = vector[:4] * SCALE_MM, float(vector[4])
    share = (RATIOS - 1) / (2 * CENTRE_MM)
    wrap_slopes = -2 * share / np.sqrt(1 - (share * mates_mm) ** 2) * SCALE_MM
    grown = FRICTION * wrap_slopes
    ratios = np.asarray(tension_ratio(FRICTION, _wraps_rad(mates_mm)))
    out = np.zeros((8, 5))
    places = np.arange(4)
    out[places, places] = grown
    out[4 + places, places] = grown / (ratios - 1) + 1 / vector[:4]
    out[4:, 4] = 1 / width
    return out
