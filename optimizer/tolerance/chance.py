"""What errors of turning a machine forgives: sizes to aim at, what is allowed, the chance that all is well."""

from __future__ import annotations

from math import erf, inf, log, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.special import gammaincc

from optimizer.quantities.digits import first_least
from optimizer.tolerance.turning import (
    EVENNESS,
    PARTS,
    SIZES,
    SPEEDS,
    Rows,
    Turning,
    row_changes,
    slopes,
    speed_weights,
    spreads_mm,
)

__all__ = [
    "RULE",
    "SAFE",
    "SAMPLES",
    "SEED",
    "Allowed",
    "Cut",
    "Deviations",
    "Drawn",
    "Validity",
    "aims_mm",
    "alone",
    "by_chance",
    "chance_by_cuts",
    "chance_to_spoil",
    "deviations",
    "drawn",
    "kept",
    "left_on_mm",
    "normal",
    "shares",
    "together",
    "validity",
    "windows_mm",
]

Array = NDArray[np.float64]


class Allowed(NamedTuple):
    """How far every size may be off, infinite where nothing holds it."""

    down_mm: Array
    up_mm: Array
    down_row: NDArray[np.intp]
    """The row that holds a size from being smaller, −1 where none does."""
    up_row: NDArray[np.intp]


def alone(rows: Rows) -> Allowed:
    """Return how far one size may be off while all others are as drawn: ``min over rows of left/slope``.

    Examples
    --------
    >>> one = Rows(np.array([0, 1]), np.zeros((2, 1)), np.array([0.6, 0.5]), np.array([[2.0], [-1.0]]))
    >>> [float(side[0]) for side in alone(one)[:2]]
    [0.5, 0.3]
    """
    return _least(rows, np.ones_like(rows.slope))


def together(rows: Rows, accuracy_mm: Array) -> Allowed:
    """Return how far every size may be off while all others are off too, at worst.

    What a row has left is shared out in proportion to what each size uses at its stated accuracy t:
    ``t_i · min over rows of left/Σ_j |slope_j|·t_j``; any mixture of such errors keeps every row.
    """
    used = np.abs(rows.slope) @ accuracy_mm
    return _least(rows, _scaled(rows, used, accuracy_mm))


def by_chance(rows: Rows, accuracy_mm: Array) -> Allowed:
    """Return how far every size may be off, at two standard deviations, where errors are independent.

    ``t_i · min over rows of left/sqrt(Σ_j (slope_j·t_j)²)``: every row by itself then keeps 39 of 40 machines.
    """
    used = np.sqrt(rows.slope**2 @ accuracy_mm**2)
    return _least(rows, _scaled(rows, used, accuracy_mm))


def shares(rows: Rows, accuracy_mm: Array) -> Array:
    """Return the share of what is allowed that every size uses by its own error, limits of size left out.

    ``max over rows of |slope_i|·t_i/left``; above 1 the stated accuracy alone can spoil the machine.
    """
    kept = rows.but(rows.part != SIZES)
    if not kept.left.size:
        return np.zeros(accuracy_mm.size)
    with np.errstate(divide="ignore", invalid="ignore"):
        found = np.abs(kept.slope) * accuracy_mm / np.maximum(kept.left, 0.0)[:, None]
    return np.asarray(np.nanmax(np.where(kept.slope == 0, 0.0, found), axis=0))


def _scaled(rows: Rows, used: Array, accuracy_mm: Array) -> Array:
    """Return the slope that every size would have alone, were it to leave the others their part."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(used[:, None] / (np.abs(rows.slope) * accuracy_mm))


def _least(rows: Rows, factor: Array) -> Allowed:
    """Return the least of ``left/(slope · factor)`` over the rows that grow, and over those that fall."""
    with np.errstate(divide="ignore", invalid="ignore"):
        room = np.maximum(rows.left, 0.0)[:, None] / (np.abs(rows.slope) * factor)
    room = np.where(rows.slope == 0, np.inf, room)
    falls = np.vstack([np.where(rows.slope < 0, room, np.inf), np.full(rows.slope.shape[1], np.inf)])
    grows = np.vstack([np.where(rows.slope > 0, room, np.inf), np.full(rows.slope.shape[1], np.inf)])
    down, up = falls.min(axis=0), grows.min(axis=0)
    return Allowed(
        down,
        up,
        np.where(np.isfinite(down), np.round(falls, 9).argmin(axis=0), -1),
        np.where(np.isfinite(up), np.round(grows, 9).argmin(axis=0), -1),
    )


DIRECTIONS = (512, 4096)
"""Least and greatest number of directions, each with its opposite."""
DIRECTION_ROWS = 2_000_000
"""Directions times rows at most, where that leaves enough directions."""
WAYS_SEED = 20_260_101
LED_BY = 3.0
"""Standard deviations by which the two positions farthest apart must lead any other two."""
FAR = 8.0
"""Rows with more standard deviations left than this are passed by no set of errors."""
TINY = 1e-9
NEAR = 5.0
"""Rows with more standard deviations left than this play no part."""
BENT = 0.02
"""Greatest share of a change that its slope may leave unexplained."""
BENT_TAIL = 0.04
"""The same times the square of the standard deviations left: it is that which moves the chance."""
AT = (2.0, 4.0)
"""Least and greatest number of standard deviations at which that is looked at."""
RULE = (
    "Every demand is worked out exactly at the likeliest errors that use up what it has left, 2 to 4 standard "
    "deviations away, and at the opposite; its slope must leave at most 2 % of the change unexplained, for the chance "
    "at most 4 % divided by the square of the standard deviations left. Spread of centre distances: the two positions "
    "farthest apart lead any other two by 3 standard deviations."
)
"""The rule by which first-order figures claim to be valid."""


class Deviations(NamedTuple):
    """Standard deviations to first order."""

    speeds: Array
    """Of the logarithm of every speed."""
    spreads_mm: Array
    """Of the spread of every stage's own centre distances; not a number where it is not known to first order."""


class Validity(NamedTuple):
    """Whether first-order figures hold."""

    speeds: bool
    spreads: NDArray[np.bool_]
    """For every stage."""
    chance: bool


def deviations(turning: Turning, rows: Rows, sd_mm: Array) -> Deviations:
    """Return the standard deviations: the root of the sum of ``(slope · σ)²``."""
    rising = rows.part == SPEEDS
    speeds = np.sqrt(rows.slope[rising][: turning.log_rpm.size] ** 2 @ sd_mm**2)
    led = [_leading(turning, number, sd_mm) for number in range(len(turning.stages))]
    return Deviations(speeds, np.array([sd for sd, _ in led]))


def chance_to_spoil(rows: Rows, sd_mm: Array) -> float | None:
    """Return the chance that some row is passed, to first order; nothing where one is passed as drawn.

    Along a random direction in units of the standard deviations the rows are first passed at a distance r; of n
    independent normal errors the sum of squares is beyond r² with the chance ``Q(n/2, r²/2)``. That is averaged over
    directions, each with its opposite. Source: directional simulation, P. Bjerager, J. Eng. Mech. 114 (1988),
    from memory.

    Examples
    --------
    One size held to two standard deviations on one side: 2.275 % (normal distribution).

    >>> one = Rows(np.array([0]), np.zeros((1, 1)), np.array([2.0]), np.array([[1.0]]))
    >>> round(chance_to_spoil(one, np.ones(1)), 6)
    0.02275
    """
    if np.any(rows.left < -1e-9):
        return None
    scaled = rows.slope * sd_mm
    length = np.sqrt(np.sum(scaled**2, axis=1))
    left = np.maximum(rows.left, 0.0)
    near = (length > 0) & (left < FAR * length)
    if not np.any(near):
        return 0.0
    held = scaled[near] / np.maximum(left[near], TINY * length[near])[:, None]
    held = held[:, np.any(held != 0, axis=0)]
    count = held.shape[1]
    tries = int(np.clip(DIRECTION_ROWS // held.shape[0], *DIRECTIONS))
    ways = np.random.default_rng(WAYS_SEED).standard_normal((tries, count))
    ways /= np.sqrt(np.sum(ways**2, axis=1))[:, None]
    along = ways @ held.T
    steepest = np.concatenate([along.max(axis=1), -along.min(axis=1)])
    reach = 1 / np.maximum(steepest, TINY)
    return float(np.mean(gammaincc(count / 2, reach**2 / 2)))


def validity(turning: Turning, rows: Rows, sd_mm: Array) -> Validity:
    """Return where first-order figures hold, by this rule.

    Every row is worked out exactly at the likeliest errors that use up what it has left, at least 2, at most 4
    standard deviations away, and at the opposite. What its slope leaves unexplained there must be at most 2 % of the
    change; for the chance that share times the square of the standard deviations left at most 0.04, as it moves the
    chance by about that share. The spread of centre distances is known to first order where the two positions
    farthest apart lead any other two by 3 standard deviations of the difference.
    """
    scaled = rows.slope * sd_mm
    length = np.sqrt(np.sum(scaled**2, axis=1))
    moved = length > 1e-12
    with np.errstate(divide="ignore", invalid="ignore"):
        spare = np.where(moved, np.maximum(rows.left, 0.0) / length, np.inf)
    near = moved & ((spare < NEAR) | (rows.part == SPEEDS))
    bent = _bent(turning, rows.but(near), sd_mm, np.clip(spare[near], *AT))
    speeds = rows.part[near] == SPEEDS
    tail = np.where(spare[near] < NEAR, bent * np.maximum(spare[near], 1.0) ** 2, 0.0)
    good = bool(np.all(bent[speeds] <= BENT))
    led = np.array([_leading(turning, number, sd_mm)[1] for number in range(len(turning.stages))])
    fit = bool(np.all(rows.left >= -1e-9))
    return Validity(good, led, fit and bool(np.all(tail <= BENT_TAIL)))


def _bent(turning: Turning, rows: Rows, sd_mm: Array, away: Array) -> Array:
    """Return the share of each row's change that its slope does not explain, so many standard deviations away."""
    if not rows.left.size:
        return np.zeros(0)
    scaled = rows.slope * sd_mm
    length = np.sqrt(np.sum(scaled**2, axis=1))
    errors = (away / length)[:, None] * scaled * sd_mm
    expected = away * length
    worst = np.zeros(rows.left.size)
    for sign in (1.0, -1.0):
        exact = np.sum(rows.weights * row_changes(turning, sign * errors), axis=1)
        worst = np.maximum(worst, np.abs(exact - sign * expected) / expected)
    return worst


def _leading(turning: Turning, number: int, sd_mm: Array) -> tuple[float, bool]:
    """Return the standard deviation of a stage's spread, and whether two positions lead all others."""
    stage, first = turning.stages[number], turning.firsts[number]
    if not stage.turned:
        return float("nan"), False
    own = stage.drawn_mm
    high, low = first_least(-own), first_least(own)
    if high == low:
        return float("nan"), False
    by_error = slopes(turning)[first : first + stage.positions] * sd_mm
    sd = float(np.linalg.norm(by_error[high] - by_error[low]))
    for end, sense in ((high, 1.0), (low, -1.0)):
        for other in range(stage.positions):
            if other == end:
                continue
            lead = sense * float(own[end] - own[other])
            if lead < LED_BY * float(np.linalg.norm(by_error[end] - by_error[other])):
                return sd, False
    return sd, sd > 0


def normal(deviations_left: float) -> float:
    """Return the chance that a normal error stays below so many standard deviations.

    Examples
    --------
    >>> round(normal(2.0), 5)
    0.97725
    """
    return (1 + erf(deviations_left / sqrt(2))) / 2


SAFE = 3.0
"""Standard deviations of room beyond which an aim is moved no farther."""
SEEN = 5.0
"""Standard deviations by which no aim is moved farther."""
ROWS_AT_FIRST, ROUNDS = 64, 8
"""Rows that are looked at first, those with least room; how often those that are broken then are added."""
BROKEN = 1e-9
WEIGHT = 1e3
"""What one standard deviation of room is worth, in standard deviations of aims moved."""


def aims_mm(rows: Rows, sd_mm: Array) -> Array:
    """Return by how much every size should be aimed off the drawing, above 0 where larger [mm].

    The aims that leave the row with least room the most standard deviations, up to 3 of them, moved no farther than
    that takes: a linear program, ``max t: slope·x + t·σ_row ≤ left, t ≤ 3``, and the least sum of ``|x|/σ`` at that t.

    Examples
    --------
    A size that stands at its upper limit is aimed three standard deviations below it:

    >>> one = Rows(np.array([3]), np.zeros((1, 1)), np.array([0.0]), np.array([[1.0]]))
    >>> aims_mm(one, np.array([0.1])).round(6).tolist()
    [-0.3]
    """
    scaled = rows.slope * sd_mm
    length = np.sqrt(np.sum(scaled**2, axis=1))
    moved = length > 1e-12
    if not np.any(moved) or float(np.min(rows.left[moved] / length[moved])) >= SAFE:
        return np.zeros(sd_mm.size)
    held, room = scaled[moved] / length[moved][:, None], rows.left[moved] / length[moved]
    some = np.argsort(np.round(room, 9), kind="stable")[:ROWS_AT_FIRST]
    for _ in range(ROUNDS):
        units, worst = _solved(held[some], room[some])
        broken = np.flatnonzero(held @ units + worst > room + BROKEN)
        if not broken.size:
            break
        some = np.union1d(some, broken)
    return np.asarray(np.where(np.abs(units) < BROKEN, 0.0, units) * sd_mm)


def _solved(held: Array, room: Array) -> tuple[Array, float]:
    """Return the aims in standard deviations, with the room they leave, by some of the rows; as drawn if unsolved."""
    count = held.shape[1]
    matrix = np.hstack([held, -held, np.ones((held.shape[0], 1))])
    cost = np.concatenate([np.ones(2 * count), [-WEIGHT]])
    bounds = [(0.0, SEEN)] * (2 * count) + [(-inf, SAFE)]
    solved = linprog(cost, A_ub=matrix, b_ub=room, bounds=bounds, method="highs")
    if solved.status != 0 or solved.x is None:
        return np.zeros(count), -inf
    return solved.x[:count] - solved.x[count:-1], float(solved.x[-1])


def windows_mm(rows: Rows, sd_mm: Array, aim_mm: Array) -> tuple[Array, Array]:
    """Return how far below and above its aim every size may be found, all others off too [mm]."""
    left = np.maximum(rows.left - rows.slope @ aim_mm, 0.0)
    allowed = together(Rows(rows.part, rows.weights, left, rows.slope), 2 * sd_mm)
    return allowed.down_mm, allowed.up_mm


def left_on_mm(down_mm: float, up_mm: float, sd_mm: float) -> float:
    """Return how much above the aim the first cut should stop, when one measures and cuts once more [mm].

    Below the window nothing can be put back; above it a second cut aims at the middle m of the window and hits it with
    the chance ``P = 2·Φ(a/σ) − 1``, a being half its width. The chance of both together,
    ``P(in) + P(above)·P``, is greatest for a first cut aimed at ``m − σ²·ln(1 − P)/(2·a)``. Where less than one in a
    thousand would fall below the window anyway, less is enough.

    Examples
    --------
    A window of two standard deviations either way: ``ln(0.0455) = −3.09``, so 0.77 of one is left on.

    >>> round(left_on_mm(2.0, 2.0, 1.0), 3), round(left_on_mm(6.0, 6.0, 1.0), 3), left_on_mm(inf, 1.0, 1.0)
    (0.773, 0.0, 0.0)
    """
    if down_mm == inf or sd_mm <= 0:
        return 0.0
    high = min(up_mm, down_mm + 20 * sd_mm)
    half, middle = max((down_mm + high) / 2, 1e-6 * sd_mm), (high - down_mm) / 2
    missed = 2 * (1 - normal(half / sd_mm))
    best = middle - sd_mm**2 * log(max(missed, 1e-300)) / (2 * half)
    return min(max(best, 0.0), max(3.1 * sd_mm - down_mm, 0.0))


SAMPLES = 4096
SEED = 20_260_102
ROUNDING = 1e-9
"""By how much a demand may be passed without being broken [mm, or share]."""


class Drawn(NamedTuple):
    """What many sets of errors came to."""

    all_well: float
    """Share of the sets that keep every demand."""
    parts: tuple[float, ...]
    """Share that keeps those of each part, in the order of `PARTS`."""
    speed_sd: Array
    """Standard deviation of the logarithm of every speed."""
    spread_sd_mm: Array
    """Standard deviation of the spread of every stage's own centre distances."""
    spread_mm: Array
    """Spread of every stage that 19 of 20 sets stay below."""


class Cut(NamedTuple):
    """How sizes are cut: where one aims first, when one cuts again, where one aims then, all from the drawing."""

    first_mm: Array
    above_mm: Array
    """A size found above this is cut once more, where all is not well."""
    second_mm: Array


def drawn(turning: Turning, rows: Rows, sd_mm: Array, samples: int = SAMPLES, seed: int = SEED) -> Drawn:
    """Return what independent normal errors about the drawing come to, worked out exactly.

    Parameters
    ----------
    turning, rows
        The machine, and what it is held to.
    sd_mm
        Standard deviation of every turned size's running diameter [mm].
    samples, seed
        How many sets are tried, and the seed of the random numbers.
    """
    errors = np.random.default_rng(seed).standard_normal((samples, turning.sizes)) * sd_mm
    changed = row_changes(turning, errors)
    broken = _broken(turning, rows, changed)
    parts = tuple(1 - float(np.mean(broken[:, part])) for part in range(len(PARTS)))
    speeds = changed @ speed_weights(turning).T
    spreads = spreads_mm(turning, changed)
    return Drawn(
        1 - float(np.mean(np.any(broken, axis=1))),
        parts,
        np.std(speeds, axis=0),
        np.std(spreads, axis=0),
        np.quantile(spreads, 0.95, axis=0),
    )


def kept(turning: Turning, rows: Rows, errors_mm: Array) -> NDArray[np.bool_]:
    """Return which sets of errors keep every demand."""
    well: NDArray[np.bool_] = ~np.any(_broken(turning, rows, row_changes(turning, errors_mm)), axis=1)
    return well


def chance_by_cuts(
    turning: Turning, rows: Rows, sd_mm: Array, cut: Cut, samples: int = SAMPLES, seed: int = SEED
) -> float:
    """Return the chance that all is well where one measures all sizes and cuts those left large once more."""
    source = np.random.default_rng(seed)
    first = cut.first_mm + source.standard_normal((samples, turning.sizes)) * sd_mm
    again = source.standard_normal((samples, turning.sizes)) * sd_mm
    well = kept(turning, rows, first)
    if np.all(well):
        return 1.0
    bad, again = first[~well], again[~well]
    second = np.where(bad > cut.above_mm, np.minimum(cut.second_mm + again, bad), bad)
    return float((np.sum(well) + np.sum(kept(turning, rows, second))) / samples)


def _broken(turning: Turning, rows: Rows, changed: Array) -> NDArray[np.bool_]:
    """Return which parts every set breaks, one row a set, one column a part.

    A row that even the greatest changes of all sets together cannot use up is not looked at.
    """
    greatest = np.abs(rows.weights) @ np.max(np.abs(changed), axis=0)
    some = rows.but((greatest > rows.left) & (rows.part != EVENNESS))
    passed = changed @ some.weights.T > some.left + ROUNDING
    found = np.zeros((changed.shape[0], len(PARTS)), dtype=np.bool_)
    for part in range(len(PARTS)):
        own = some.part == part
        found[:, part] = np.any(passed[:, own], axis=1) if np.any(own) else False
    if np.any((greatest > rows.left) & (rows.part == EVENNESS)):
        found[:, EVENNESS] = _uneven(turning, changed)
    return found


def _uneven(turning: Turning, changed: Array) -> NDArray[np.bool_]:
    """Return in which sets no even series has every speed within the unevenness allowed.

    A series of slope s does where ``|y_k − y_i − (k − i)·s| ≤ 2·δ`` for any two speeds: where the greatest of all the
    least slopes is at most the least of all the greatest.
    """
    low, high = np.triu_indices(turning.series.size, 1)
    apart = high - low
    weights, logs = speed_weights(turning)[turning.series], turning.log_rpm[turning.series]
    rise = (weights[high] - weights[low]) / apart[:, None]
    drawn_rise = (logs[high] - logs[low]) / apart
    slope = changed @ rise.T + drawn_rise
    spare = 2 * (turning.unevenness_most + ROUNDING) / apart
    uneven: NDArray[np.bool_] = np.max(slope - spare, axis=1) > np.min(slope + spare, axis=1)
    return uneven
