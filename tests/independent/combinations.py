"""Random legal choices of sizes for a design's layout, to hold its bounds against.

Three kinds are drawn. *Listed*: sizes on the grid, turned pairs scaled within half a grid step, any belt. *Ticks*:
sizes on whole ticks near the final ones, on the design's own belts. *Real*: any diameters within the limits. Each is
scaled or moved onto one belt first; then every hard rule is looked at, and whatever breaks one is thrown away.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import combinations, product
from math import inf, log, pi
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.independent.drawer import Step, belts_go_round, discs_go_round, sheaves_go_round
from tests.independent.facing import Final, Pairs, facing_pairs
from tests.independent.stage_numbers import Array, Numbers, centres, numbers_of, scales_for, stage_keeps
from tests.independent.stated import Machine, Side

__all__ = ["Choice", "Sampled", "Space", "draw_choices", "draw_near", "judge"]

PLACES = 30
"""Places of the window, with a belt for every stage, at which choices of one kind are drawn."""
ROWS = 250
"""Choices drawn at one belt and one place of the window."""
HAIR = 1e-9
SAME_MM = 1e-9


@dataclass
class Sampled:
    """How many legal choices were drawn of every kind, the least J among them, and those that beat a bound."""

    legal: dict[str, int] = field(default_factory=dict)
    least: dict[str, float] = field(default_factory=dict)
    violations: list[str] = field(default_factory=list)


class Choice(NamedTuple):
    """Choices of one stage on one belt: a row a choice, a column a position."""

    belt: int
    a: Array
    b: Array
    centre: Array


@dataclass(frozen=True)
class Space:
    """A machine in one layout."""

    machine: Machine
    offsets: tuple[tuple[int, ...], ...]
    stages: tuple[Numbers, ...]

    @staticmethod
    def of(machine: Machine, offsets: Sequence[Sequence[int]], lengths: Sequence[Fraction | None]) -> Space:
        """Return the space of a layout; belts of any length lie near those given."""
        stages = tuple(numbers_of(machine, n, length) for n, length in enumerate(lengths))
        return Space(machine, tuple(tuple(int(o) for o in row) for row in offsets), stages)

    @property
    def scarce(self) -> bool:
        """Whether anything is in hand, of which there may not be enough."""
        hand = self.machine.hand
        return bool(hand.pieces or hand.discs or hand.belts)

    @property
    def limits(self) -> Mapping[str, float]:
        """Limits of the series, weights."""
        return {key: float(value) for key, value in self.machine.series.items() if value is not None}

    @property
    def span(self) -> tuple[float, float]:
        """Logarithms of the bands' bottom and top."""
        bands = self.machine.bands
        return log(min(band.low for band in bands)), log(max(band.high for band in bands))

    @property
    def base(self) -> float:
        """Logarithm of the spindle's speed, were all ratios 1, slips and fixed ratios included."""
        gains = [log(s.gain) + log(1 - s.slip) for s in self.machine.stages]
        return log(self.machine.motor_rpm) + log(self.machine.gain_out) + sum(gains)

    @property
    def speeds(self) -> int:
        """How many speeds the layout makes."""
        return int(np.prod([len(row) for row in self.offsets]))

    def logs(self, choices: Sequence[Choice]) -> Array:
        """Return the logarithms of the speeds, in their order in the series."""
        found = np.full((len(choices[0].a), self.speeds), self.base)
        for chosen in product(*(range(len(row)) for row in self.offsets)):
            place = sum(row[p] for row, p in zip(self.offsets, chosen, strict=True))
            for choice, p in zip(choices, chosen, strict=True):
                found[:, place] += np.log(choice.a[:, p] / choice.b[:, p])
        return found


def judge(space: Space, choices: Sequence[Choice]) -> tuple[NDArray[np.bool_], Array]:
    """Return which rows are legal as a whole, and their J."""
    good = np.ones(len(choices[0].a), dtype=bool)
    rpm: Array = np.full(len(good), float(space.machine.motor_rpm))
    for numbers, choice in zip(space.stages, choices, strict=True):
        good &= stage_keeps(numbers, choice.belt, (choice.a, choice.b, choice.centre))
        rpm = rpm * float(numbers.stage.gain)
        ratio = (choice.a / choice.b).max(axis=1) * float(1 - numbers.stage.slip)
        belt = pi * choice.a.max(axis=1) * rpm / 60_000
        rim = pi * (choice.a.max(axis=1) + numbers.driver.rim) * rpm / 60_000
        rpm = rpm * ratio
        other = pi * (choice.b.max(axis=1) + numbers.driven.rim) * rpm / 60_000
        good &= (belt <= float(numbers.stage.belt_speed) * (1 - HAIR)) & (rim <= numbers.driver.rim_m_s * (1 - HAIR))
        good &= (other <= numbers.driven.rim_m_s * (1 - HAIR)) & (rpm <= numbers.driven_rpm * (1 - HAIR))
    logs, limits = space.logs(choices), space.limits
    miss, delta = _end_miss(space, logs), _unevenness(logs)
    good &= (np.diff(logs, axis=1) >= max(log(1 + limits["distinct"]), 1e-6) + HAIR).all(axis=1)
    good &= (miss <= limits["end_miss"] - HAIR) & (delta <= limits["unevenness"] - HAIR)
    if "never_above" in limits:
        good &= logs[:, -1] <= log(limits["never_above"]) - HAIR
    bottom, top = space.span
    for band in space.machine.bands:
        low, high = log(band.low), log(band.high)
        low -= log(1 + limits["ends"]) if low == bottom else 0.0
        high += log(1 + limits["ends"]) if high == top else 0.0
        good &= ((logs >= low + 2 * HAIR) & (logs <= high - 2 * HAIR)).sum(axis=1) >= band.want
    return good, limits["end_weight"] * miss + limits["unevenness_weight"] * delta


def _end_miss(space: Space, logs: Array) -> Array:
    bottom, top = space.span
    if logs.shape[1] == 1:
        return np.abs(logs[:, 0] - (bottom + top) / 2)
    return np.maximum(np.abs(logs[:, 0] - bottom), np.abs(logs[:, -1] - top))


def _unevenness(logs: Array) -> Array:
    worst = np.zeros(len(logs))
    for i, j, k in combinations(range(logs.shape[1]), 3):
        chord = (logs[:, i] * (k - j) + logs[:, k] * (j - i)) / (k - i)
        worst = np.maximum(worst, np.abs(logs[:, j] - chord) / 2)
    return worst


def draw_choices(machine: Machine, document: Mapping[str, Any], seed: int, places: int = PLACES) -> Sampled:
    """Draw choices of every kind for a design, and hold its bounds against them."""
    sheets = document["machine"]["stages"]
    lengths = [Fraction(sheet["datum_length_mm"]) for sheet in sheets]
    space = Space.of(machine, document["layout"]["offsets"], lengths)
    finals = [
        Final(
            np.array([float(p["driver"]["pitch_mm"]) for p in sheet["positions"]]),
            np.array([float(p["driven"]["pitch_mm"]) for p in sheet["positions"]]),
            float(sheet["pitch_length_mm"]),
        )
        for sheet in sheets
    ]
    proof, closing = document["proof"], document["closing"]
    bounds = {"listed": float(proof["bound"]), "real": float(proof["structural"])}
    if closing["status"] in ("none better", "better"):
        bounds["ticks"] = float(closing["bound"])
    taken = next((told for told in document.get("hand_belts", ()) if told["used"]), None)
    if taken is None:
        return draw_near(space, finals, bounds, (seed, places))
    # the bound holds for belts in hand on the stages that are named, bought ones on the others; on any belts it is
    # lower by what they cost
    anywhere = draw_near(space, finals, {"listed": bounds["listed"] - float(taken["cost"])}, (seed, places))
    hands = [number + 1 in taken["stages"] for number in range(len(space.stages))]
    chosen = [stage.only(hand) for stage, hand in zip(space.stages, hands, strict=True)]
    sampled = draw_near(replace(space, stages=tuple(chosen)), finals, bounds, (seed, places))
    sampled.violations += anywhere.violations
    return sampled


def draw_near(space: Space, finals: Sequence[Final], bounds: Mapping[str, float], effort: tuple[int, int]) -> Sampled:
    """Draw choices of every kind that has a bound, at so many places, and hold the bounds against them."""
    seed, places = effort
    rng = np.random.default_rng(seed)
    sampled = Sampled()
    for kind, bound in bounds.items():
        pairs = [facing_pairs(numbers, final, kind) for numbers, final in zip(space.stages, finals, strict=True)]
        for _ in range(places):
            drawn = _draw(space, finals, pairs, (kind, rng))
            if drawn is None:
                continue
            good, j = judge(space, drawn)
            if space.scarce:
                for row in np.flatnonzero(good & (j < bound - HAIR)):
                    good[row] = _goes_round(space, drawn, int(row))
            sampled.legal[kind] = sampled.legal.get(kind, 0) + int(good.sum())
            if not good.any():
                continue
            best = int(np.flatnonzero(good)[np.argmin(j[good])])
            sampled.least[kind] = min(sampled.least.get(kind, inf), float(j[best]))
            if j[best] < bound - HAIR:
                told = _told(space, drawn, best, float(j[best]))
                sampled.violations.append(f"the bound {bound:.9g} of {kind} sizes is beaten by {told}")
    return sampled


def _told(space: Space, drawn: Sequence[Choice], row: int, j: float) -> str:
    parts = [
        f"belt {numbers.lengths[c.belt]:.6g}: "
        + ", ".join(f"{a:.9g}/{b:.9g} at {d:.9g}" for a, b, d in zip(c.a[row], c.b[row], c.centre[row], strict=True))
        for numbers, c in zip(space.stages, drawn, strict=True)
    ]
    return f"J {j:.9g} of pitch diameters {'; '.join(parts)}"


def _goes_round(space: Space, drawn: Sequence[Choice], row: int) -> bool:
    """Tell whether what a row takes in hand is there; what might be in hand is taken to be."""
    cones: dict[str, tuple[Side, str, list[Step]]] = {}
    belts = {}
    for numbers, choice in zip(space.stages, drawn, strict=True):
        stage = numbers.stage
        shift = stage.section.pitch_shift
        for name, side, sizes in (("driver", stage.driver, choice.a[row]), ("driven", stage.driven, choice.b[row])):
            steps = []
            for size in sizes:
                datum = Fraction(round(float(size) - float(shift), 8))
                given = datum + side.given_shift
                known = (("kept", side.kept), ("ready", side.ready), ("in hand", side.hand))
                steps.append(Step(datum, next((source for source, sizes in known if _among(given, sizes)), "turned")))
            cones[f"{stage.key}.{name}"] = side, stage.section_name, steps
        belt = numbers.belts[choice.belt]
        belts[stage.key] = stage.section_name, belt.length, belt.sold
    machine = space.machine
    return sheaves_go_round(machine, cones) and discs_go_round(machine, cones) and belts_go_round(machine, belts)


def _among(size: Fraction, sizes: Sequence[Fraction | None]) -> bool:
    return any(other is not None and abs(size - other) < Fraction("1e-6") for other in sizes)


def _draw(
    space: Space,
    finals: Sequence[Final],
    pairs: Sequence[list[Pairs]],
    how: tuple[str, np.random.Generator],
) -> list[Choice] | None:
    """Return choices near one geometric series, on one belt a stage, at one place of its window."""
    kind, rng = how
    bottom, top = space.span
    noise = rng.choice([0.0, 0.002, 0.01, 0.03])
    ends = (bottom + top) / 2 if space.speeds == 1 else bottom
    step = (top - bottom) / max(1, space.speeds - 1) + noise * rng.standard_normal() / max(1, space.speeds - 1)
    own = np.array([float(np.log(a[0] / b[0])) for a, b, _ in finals])
    shift = rng.choice([0.0, 0.01, 0.1]) * rng.standard_normal(len(own))
    starts = own + (ends + noise * rng.standard_normal() - space.base - own.sum()) / len(own) + shift - shift.mean()
    drawn = []
    for number, numbers in enumerate(space.stages):
        if not len(numbers.lengths):
            return None
        belt = int(np.argmin(np.abs(numbers.lengths - finals[number].length)))
        if kind != "ticks" and rng.random() < 0.3:
            belt = int(rng.integers(len(numbers.lengths)))
        wanted = starts[number] + step * np.array(space.offsets[number])
        options = pairs[number]
        choice = _draw_stage(numbers, (belt, wanted), options[int(rng.integers(len(options)))], how)
        if choice is None:
            return None
        drawn.append(choice)
    return drawn


def _draw_stage(
    numbers: Numbers, aim: tuple[int, Array], pairs: Pairs, how: tuple[str, np.random.Generator]
) -> Choice | None:
    belt, wanted = aim
    kind, rng = how
    length, crossed = float(numbers.lengths[belt]), numbers.stage.crossed
    low, high = (float(limit) for limit in numbers.stage.centres)
    window = float(numbers.windows[belt])
    near = centres(pairs.a * (1 + pairs.reach), pairs.b * (1 + pairs.reach), length, crossed)
    far = centres(pairs.a * (1 - pairs.reach), pairs.b * (1 - pairs.reach), length, crossed)
    place = rng.uniform(low - 0.2 * window, max(high - 0.8 * window, low))
    fits = ~((far < place) | (near > place + window)) & ~np.isnan(far)
    logs = pairs.log_ratio
    columns = []
    for p, want in enumerate(wanted):
        rows = np.flatnonzero(fits & ((pairs.place == p) | (pairs.place < 0)))
        if not rows.size:
            return None
        rows = rows[np.argsort(np.abs(logs[rows] - want), kind="stable")]
        few = min(len(rows), int(rng.choice([1, 2, 4, 12])))
        columns.append(rows[rng.integers(few, size=ROWS)])
    chosen = np.stack(columns, axis=1)
    a, b, reach = pairs.a[chosen], pairs.b[chosen], pairs.reach[chosen]
    if kind == "real":
        return _real(numbers, (belt, wanted), (a, b), (place + window / 2, rng))
    scale = _scale_to(numbers, (a, b, reach), length, (place, place + window))
    parted = np.zeros(len(a), dtype=bool)
    for sizes in (a, b):  # neighbours that are equal in the list stay so
        same = np.abs(np.diff(sizes, axis=1)) < SAME_MM
        parted |= (same & (np.abs(np.diff(sizes * scale, axis=1)) > SAME_MM)).any(axis=1)
    a, b = a * scale, b * scale
    return Choice(belt, a, b, np.where(parted[:, None], np.nan, centres(a, b, length, crossed)))


def _scale_to(numbers: Numbers, rays: tuple[Array, Array, Array], length: float, span: tuple[float, float]) -> Array:
    """Return the scale nearest to 1 that brings every ray's centre distance into a span, as far as its reach goes."""
    a, b, reach = rays
    crossed = numbers.stage.crossed
    for side, sizes in ((numbers.driver, a), (numbers.driven, b)):
        if side.turned:
            room = np.minimum(np.abs(side.bounds[1] / sizes - 1), np.abs(1 - side.bounds[0] / sizes))
            reach = np.minimum(reach, room)
    own = centres(a, b, length, crossed)
    with np.errstate(invalid="ignore"):
        wanted = np.clip(own, *span)
        scale = scales_for(a, b, wanted, (length, crossed))
        scale = np.clip(scale, 1 - reach, 1 + reach)
    return np.where(own == wanted, 1.0, scale)


def _real(
    numbers: Numbers, aim: tuple[int, Array], near: tuple[Array, Array], where: tuple[float, np.random.Generator]
) -> Choice:
    """Return any diameters: ratios as wanted, give or take, and where both sides are turned one centre distance."""
    belt, wanted = aim
    a, b = near
    centre, rng = where
    length, crossed = float(numbers.lengths[belt]), numbers.stage.crossed
    ratio = np.exp(wanted + rng.choice([0.0, 0.0003, 0.003]) * rng.standard_normal(a.shape))
    driver, driven = numbers.driver, numbers.driven
    if (
        driver.turned
        and not (driver.kept or driver.fixed.size)
        and driven.turned
        and not (driven.kept or driven.fixed.size)
    ):
        b = a / ratio
        scale = scales_for(a, b, np.full(a.shape, centre), (length, crossed))
        a, b = a * scale, b * scale
    elif driven.turned and not (driven.kept or driven.fixed.size):
        b = a / ratio
    elif driver.turned and not (driver.kept or driver.fixed.size):
        a = b * ratio
    inside = np.ones(a.shape, dtype=bool)
    for side, sizes in ((driver, a), (driven, b)):
        if side.turned and not (side.kept or side.fixed.size):
            inside &= (sizes >= side.bounds[0]) & (sizes <= side.bounds[1])
    return Choice(belt, a, b, np.where(inside, centres(a, b, length, crossed), np.nan))
