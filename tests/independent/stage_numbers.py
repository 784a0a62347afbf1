"""A belt stage in plain floats and arrays: the sizes that may face each other, whether choices of them are legal."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor, inf, pi

import numpy as np
from numpy.typing import NDArray

from tests.independent.limits import SAME_BELT, Belt, belts_of, inward, rim_speed, turned_outside, window
from tests.independent.stated import Machine, Side, Stage

__all__ = ["Array", "Numbers", "centres", "numbers_of", "scales_for", "stage_keeps"]

Array = NDArray[np.float64]
HAIR = 1e-7
"""Millimetres by which a drawn choice must keep clear of every limit, so that rounding decides nothing."""


@dataclass(frozen=True)
class SideNumbers:
    """One side in pitch diameters [mm]."""

    listed: Array
    """Sizes on the grid, where both sides are turned."""
    ticks: Array
    """Sizes on whole ticks."""
    fixed: Array
    """Pulleys ready or in hand."""
    kept: tuple[float | None, ...]
    bounds: tuple[float, float]
    """Least and greatest that may be turned."""
    rim: float
    """Outside less pitch diameter."""
    rim_m_s: float
    cone: bool
    most: float
    """Largest of any source."""

    @property
    def turned(self) -> bool:
        """Whether steps may be turned."""
        return self.ticks.size > 0


@dataclass(frozen=True)
class Numbers:
    """One stage."""

    stage: Stage
    driver: SideNumbers
    driven: SideNumbers
    grids: tuple[float, float]
    lengths: Array
    """Pitch lengths of the belts that may be taken."""
    belts: tuple[Belt, ...]
    """Those belts."""
    windows: Array
    inwards: Array
    rise: float
    driven_rpm: float
    """Limit of the driven shaft, with those that it drives by fixed ratios."""

    def only(self, in_hand: bool) -> Numbers:
        """Return the stage with nothing but belts in hand, or nothing but bought ones."""
        there = [any(abs(b.length - own) < SAME_BELT for own in self.stage.hand_lengths) for b in self.belts]
        rows = [n for n, belt in enumerate(self.belts) if (there[n] if in_hand else belt.sold)]
        return replace(
            self,
            belts=tuple(self.belts[n] for n in rows),
            lengths=self.lengths[rows],
            windows=self.windows[rows],
            inwards=self.inwards[rows],
        )


def numbers_of(machine: Machine, number: int, near_length: Fraction | None) -> Numbers:
    """Return a stage in figures; of belts of any length, those within three steps of one."""
    stage = machine.stages[number]
    if stage.lengths == "any":
        middle = near_length if near_length is not None else Fraction(0)
        near = (b for k in range(-3, 4) for b in belts_of(stage, round(middle / stage.every + k) * stage.every))
        found = sorted({b for b in near if b.length > 0})
    else:
        found = list(belts_of(stage))
    found = [belt for belt in found if window(stage, belt) - min(stage.fit, belt.length / 1000) >= 0]
    shift = pi * float(stage.section.pitch_shift)
    return Numbers(
        stage=stage,
        driver=_side(machine, stage.driver, stage.driver_shaft),
        driven=_side(machine, stage.driven, stage.driven_shaft),
        grids=(float(stage.driver.grid), float(stage.driven.grid)),
        lengths=np.array([float(belt.length) + shift for belt in found]),
        belts=tuple(found),
        windows=np.array([float(window(stage, belt)) for belt in found]),
        inwards=np.array([float(inward(stage, belt)) for belt in found]),
        rise=float(machine.making["rise"]),
        driven_rpm=_driven_rpm(machine, stage),
    )


def _driven_rpm(machine: Machine, stage: Stage) -> float:
    limit, gain, following = inf, 1.0, False
    for start, end, ratio in machine.chain:
        if start == stage.driver_shaft and ratio is None:
            following = True
        elif following and ratio is not None:
            gain *= float(ratio)
        else:
            following = False
        shaft = machine.shafts.get(end)
        if following and shaft is not None and shaft.never_above is not None:
            limit = min(limit, float(shaft.never_above) / gain)
    return limit


def _side(machine: Machine, side: Side, shaft: str) -> SideNumbers:
    section = side.section
    shift = section.pitch_shift - side.given_shift
    rim = section.rim_shift(side.groove) - section.pitch_shift
    limits = turned_outside(machine, side, shaft)
    listed: list[Fraction] = []
    ticks: list[Fraction] = []
    if limits is not None and limits[1] is not None:
        low, high = (limit - rim - shift for limit in (limits[0], limits[1]))
        start, tick = side.free[0] if side.free else Fraction(0), machine.making["turn_to"]
        first, last = ceil((low - start) / side.grid), floor((high - start) / side.grid)
        listed = [start + k * side.grid for k in range(first, last + 1)]
        ticks = [k * tick for k in range(ceil(low / tick), floor(high / tick) + 1)]
        if ticks and (not listed or ticks[-1] > listed[-1]):
            listed.append(ticks[-1])
    least = side.least_datum + side.given_shift
    sources = (
        (["turned"] if side.turned else []) + (["kept"] if side.kept else []) + (["ready"] if side.pulleys else [])
    )
    return SideNumbers(
        listed=_floats(listed, shift),
        ticks=_floats(ticks, shift),
        fixed=_floats(sorted({size for size in side.pulleys if size >= least}), shift),
        kept=tuple(None if size is None else float(size + shift) for size in side.kept),
        bounds=(float(limits[0] - rim), float((limits[1] or 0) - rim)) if limits else (inf, -inf),
        rim=float(rim),
        # the slowest of what may stand on the side: stricter than each step by itself
        rim_m_s=min(float(rim_speed(machine, side, source)) for source in sources) / float(machine.idle[shaft]),
        cone=limits is not None,
        most=inf if side.most_outside is None else float(side.most_outside - rim),
    )


def _floats(sizes: list[Fraction], shift: Fraction) -> Array:
    return np.array([float(size + shift) for size in sizes])


def belt_lengths(a: Array, b: Array, centre: Array, crossed: bool) -> Array:
    """Return exact belt lengths."""
    lean = (a + b) / 2 if crossed else (a - b) / 2
    found: Array = 2 * np.sqrt(centre**2 - lean**2) + pi * (a + b) / 2 + 2 * lean * np.arcsin(lean / centre)
    return found


def centres(a: Array, b: Array, length: Array | float, crossed: bool) -> Array:
    """Return own centre distances, not a number where the belt does not go round.

    The length is convex in the centre distance, so that after one of Newton's steps all others come down to the root
    without passing it. The start solves the series of two terms.
    """
    lean = np.abs((a + b) / 2 if crossed else (a - b) / 2)
    with np.errstate(invalid="ignore", divide="ignore"):
        half = (length - pi * (a + b) / 2) / 2
        at = np.fmax((half + np.sqrt(half**2 - 2 * lean**2)) / 2, lean * (1 + 1e-6))
        for _ in range(6):
            at = at - (belt_lengths(a, b, at, crossed) - length) / (2 * np.sqrt(1 - (lean / at) ** 2))
        found: Array = np.where(np.abs(belt_lengths(a, b, at, crossed) - length) < 1e-9, at, np.nan)
    return found


def scales_for(a: Array, b: Array, centre: Array, belt: tuple[float, bool]) -> Array:
    """Return the scale of both diameters at which a belt, of a length, crossed or not, is taut at a centre distance."""
    length, crossed = belt
    lean = np.abs((a + b) / 2 if crossed else (a - b) / 2)
    scale = np.ones_like(a)
    with np.errstate(invalid="ignore"):
        for _ in range(6):
            over = belt_lengths(a * scale, b * scale, centre, crossed) - length
            scale = scale - over / (pi * (a + b) / 2 + 2 * lean * np.arcsin(lean * scale / centre))
    return scale


def stage_keeps(numbers: Numbers, belt: int, sizes: tuple[Array, Array, Array]) -> NDArray[np.bool_]:
    """Tell for every row of choices (driver, driven, centre distance; a column a position) whether it is legal."""
    a, b, centre = sizes
    stage, driver, driven = numbers.stage, numbers.driver, numbers.driven
    low, high = (float(limit) for limit in stage.centres)
    if low == high:
        half = min(float(stage.fit), (numbers.lengths[belt] - pi * float(stage.section.pitch_shift)) / 1000) / 2
        low, high = low - half, high + half
    rims = (a + driver.rim + b + driven.rim) / 2
    gap = max(float(stage.clearance), float(numbers.inwards[belt]))
    with np.errstate(invalid="ignore"):
        lean = (a + b) / 2 / centre if stage.crossed else -np.abs(a - b) / 2 / centre
        wrap = 180 + 2 * np.degrees(np.arcsin(lean))
        good = (centre >= low + HAIR) & (centre <= high - HAIR) & (centre >= rims + gap + HAIR)
        good &= wrap >= float(stage.wrap) + HAIR
    within: NDArray[np.bool_] = np.ptp(centre, axis=1) <= numbers.windows[belt] - HAIR
    kept: NDArray[np.bool_] = good.all(axis=1) & ~np.isnan(centre).any(axis=1) & within
    for side, own, way in ((driver, a, 1), (driven, b, -1)):
        kept &= (own <= side.most + 1e-9).all(axis=1)
        if side.cone and own.shape[1] > 1:
            steps = np.diff(own, axis=1) * way
            least = max(numbers.rise, 1e-6) + (HAIR if numbers.rise else 0)
            kept &= ((np.abs(steps) < 1e-9) | (steps >= least)).all(axis=1)
    return kept
