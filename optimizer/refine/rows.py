"""The rules of speeds and stages as rows, gathered so that all are worked out at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, permutations
from math import cos, exp, inf, log, pi, radians, sin
from typing import Literal, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from optimizer.geometry.belts import belt_length_mm, length_gradient
from optimizer.quantities.digits import meaningful
from optimizer.records import SideSizes, StageProblem
from optimizer.records.speeds import counts, log_speeds
from optimizer.refine.program import Rows
from optimizer.refine.variables import CENTRE_SCALE_MM, Spot, Variables

__all__ = [
    "LENGTH_SCALE_MM",
    "MARGIN",
    "PER_MM",
    "WINDOW_MARGIN_MM",
    "Belts",
    "Gathered",
    "Limit",
    "Measured",
    "Rim",
    "Row",
    "disc_rows",
    "joined",
    "log_ratio",
    "moving_rows",
    "slack_row",
    "speed_rows",
    "stage_rows",
]

Floats = NDArray[np.float64]
LENGTH_SCALE_MM = 20.0
"""An error of the belt's length counts as a multiple of this."""


class Measured(Protocol):
    """Variables with the measures that they stand for."""

    @property
    def size(self) -> int:
        """How many variables there are."""

    @property
    def measured(self) -> int:
        """How many measures there are."""

    def measures_mm(self, vector: Floats, /) -> Floats:
        """Return the measures of a vector."""

    def per_variable_mm(self, measures_mm: Floats, /) -> Floats:
        """Return how every measure changes with every variable, shape (measures, variables)."""


class Limit(NamedTuple):
    """What a row is there for."""

    name: str
    """The limit, such as ``stage[0].driver: the largest diameter``."""
    place: str = ""
    """Which of several it holds here, such as ``step 4``."""
    unit: str = "mm"
    per: float = 0.0
    """How much the row's value grows with the limit let out by one unit; 0 where it is not a limit to let out."""


class Rim(NamedTuple):
    """A diameter [mm] that stands in a row with the logarithm of itself and a shift."""

    place: int
    shift_mm: float


@dataclass(frozen=True)
class Row:
    """A function that must be 0 (`equal`) or not below 0: ``line·z + constant``, less ``ln(diameter + shift)``.

    `z` are the variables, or the measures in millimetres that they stand for.
    """

    line: Floats
    constant: float
    limit: Limit | None = None
    """Nothing where the row only ties the measure of evenness to the speeds, and so limits no size."""
    of: Literal["variables", "measures"] = "variables"
    rim: Rim | None = None
    equal: bool = False


@dataclass(frozen=True)
class Gathered:
    """Rows of variables first, rows of measures behind them."""

    variables: Measured
    rows: tuple[Row, ...]

    @classmethod
    def of(cls, variables: Measured, rows: Sequence[Row]) -> Gathered:
        """Put the rows in order."""
        straight = [row for row in rows if row.of == "variables"]
        return cls(variables, (*straight, *(row for row in rows if row.of == "measures")))

    @cached_property
    def count(self) -> int:
        """How many rows are of variables."""
        return sum(row.of == "variables" for row in self.rows)

    @cached_property
    def lines(self) -> Floats:
        """The lines of the rows of variables."""
        return np.array([row.line for row in self.rows[: self.count]]).reshape(self.count, self.variables.size)

    @cached_property
    def measured(self) -> Floats:
        """The lines of the rows of measures."""
        rows = self.rows[self.count :]
        return np.array([row.line for row in rows]).reshape(len(rows), self.variables.measured)

    @cached_property
    def constants(self) -> Floats:
        """The rows' constants."""
        return np.array([row.constant for row in self.rows])

    @cached_property
    def rims(self) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
        """Which rows have a rim, where its diameter stands, its shift."""
        found = [(number, row.rim) for number, row in enumerate(self.rows) if row.rim]
        return (
            np.array([number for number, _ in found], dtype=np.intp),
            np.array([rim.place for _, rim in found], dtype=np.intp),
            np.array([rim.shift_mm for _, rim in found]),
        )

    def values(self, vector: Floats) -> Floats:
        """Return the rows' values."""
        measures = self.variables.measures_mm(vector)
        places, indices, shifts = self.rims
        out = np.concatenate([self.lines @ vector, self.measured @ measures]) + self.constants
        out[places] -= np.log(measures[indices] + shifts)
        return out

    def gradients(self, vector: Floats) -> Floats:
        """Return the rows' gradients."""
        measures = self.variables.measures_mm(vector)
        places, indices, shifts = self.rims
        out = np.vstack([self.lines, self.measured @ self.variables.per_variable_mm(measures)])
        out[places, indices] -= measures[indices] / (measures[indices] + shifts)
        return out


class Belts:
    """The length of the belt at every position of a stage with one centre distance, less what it must be."""

    def __init__(self, variables: Variables) -> None:
        """Take note of where sizes and centre distances stand."""
        self.variables = variables
        self.stages = []
        for rules, stage, spots in zip(
            variables.problem.stages, variables.candidate.stages, variables.by_stage, strict=True
        ):
            if 0 <= spots[0].centre < variables.size:
                places = np.array([(s.driver, s.driven, s.centre) for s in spots]).T
                known = np.array([(s.sizes.driver_mm, s.sizes.driven_mm) for s in spots]).T
                self.stages.append((places, known, stage.belt.length_mm, rules.crossed))

    def values(self, vector: Floats) -> Floats:
        """Return every belt's error, as a multiple of the scale."""
        out = [np.empty(0)]
        if self.stages:
            measures = self.variables.measures_mm(vector)
            for places, known, length, crossed in self.stages:
                sizes = _sizes(measures, places, known, crossed)
                out.append((belt_length_mm(*sizes, crossed=crossed) - length) / LENGTH_SCALE_MM)
        return np.concatenate(out)

    def gradients(self, vector: Floats) -> Floats:
        """Return the errors' gradients."""
        out = [np.empty((0, self.variables.size))]
        if self.stages:
            measures = self.variables.measures_mm(vector)
            per_variable = self.variables.per_variable_mm(measures) / LENGTH_SCALE_MM
            for places, known, _length, crossed in self.stages:
                parts = length_gradient(*_sizes(measures, places, known, crossed), crossed=crossed)
                block = np.zeros((places.shape[1], self.variables.measured))
                for place, part in zip(places, parts, strict=True):
                    turned = np.flatnonzero(place >= 0)
                    block[turned, place[turned]] = part[turned]
                out.append(block @ per_variable)
        return np.vstack(out)


def joined(parts: Sequence[Rows]) -> Rows:
    """Return rows of several kinds as one."""
    return Rows(
        lambda vector: np.concatenate([part.values(vector) for part in parts]),
        lambda vector: np.vstack([part.gradients(vector) for part in parts]),
    )


def _sizes(measures: Floats, places: NDArray[np.int64], known: Floats, crossed: bool) -> tuple[Floats, Floats, Floats]:
    """Return diameters and centre distances, the latter never so short that no belt goes round."""
    a, b = (np.where(place >= 0, measures[place], size) for place, size in zip(places[:2], known, strict=True))
    reach = (a + b) / 2 if crossed else np.abs(a - b) / 2
    return a, b, np.maximum(measures[places[2]], reach + 1e-6)


MARGIN = 1e-8
"""How far inside its limits the solver is asked to stay, so that its own tolerance breaks no rule."""


def speed_rows(variables: Variables) -> Iterator[Row]:
    """Yield every row of the speeds."""
    ways = _ways(variables)
    speeds: dict[int, tuple[Floats, float]] = {}
    for place, row, constant in ways:
        speeds.setdefault(place, (row, constant))
    yield from _series(variables, ways)
    yield from _wants(variables, [speeds[place] for place in sorted(speeds)])


def slack_row(variables: Variables, most: float) -> Row:
    """Return the row of a J that may not be passed."""
    targets = variables.problem.targets
    line = np.zeros(variables.size)
    _, _, delta, miss = variables.series
    line[delta], line[miss] = -targets.unevenness_weight, -targets.end_weight
    return Row(line, most - MARGIN, Limit("J within the slack", unit="percent", per=0.01))


def log_ratio(variables: Variables, spot: Spot) -> tuple[Floats, float]:
    """Return line and constant of a position's log ratio, slip included."""
    row, constant = np.zeros(variables.size), log(1 - variables.problem.stages[spot.stage].slip)
    for index, size, sign in ((spot.driver, spot.sizes.driver_mm, 1), (spot.driven, spot.sizes.driven_mm, -1)):
        if index >= 0:
            row[index] += sign
        else:
            constant += sign * log(size)
    return row, constant


def _ways(variables: Variables) -> list[tuple[int, Floats, float]]:
    """Return place, line and constant of every way of making a speed."""
    problem = variables.problem
    base = log(problem.motor_rpm * problem.gain_out) + sum(log(s.gain) for s in problem.stages)
    ratios = [[log_ratio(variables, spot) for spot in spots] for spots in variables.by_stage]
    switches, found = len(problem.switches), []
    for place, chosen in problem.layout.ways:
        shares = zip(problem.switches, chosen, strict=False)
        parts = [ratios[stage][position] for stage, position in enumerate(chosen[switches:])]
        constant = base + sum(log(switch.shares[setting]) for switch, setting in shares)
        line = np.sum([part[0] for part in parts], axis=0)
        found.append((place, line, constant + sum(part[1] for part in parts)))
    return found


def _series(variables: Variables, ways: list[tuple[int, Floats, float]]) -> Iterator[Row]:
    targets = variables.problem.targets
    start, ratio, delta, miss = variables.series
    for k, row, constant in ways:
        for sign in (1.0, -1.0):
            line = -sign * row
            line[start], line[ratio], line[delta] = sign, sign * k, 1.0
            yield Row(line, -sign * constant)
    lo, hi = log(targets.lo_rpm), log(targets.hi_rpm)
    ends = [(0, lo), (-1, hi)] if ways[-1][0] else [(0, (lo + hi) / 2)]
    for k, end in ends:
        _, row, constant = ways[k]
        for sign in (1.0, -1.0):
            line = -sign * row
            line[miss] = 1.0
            yield Row(line, sign * (end - constant))


def _wants(variables: Variables, speeds: list[tuple[Floats, float]]) -> Iterator[Row]:
    """Yield bands, distinctness and the limits of the speeds; a band keeps the speeds nearest its middle."""
    targets = variables.problem.targets
    logs = log_speeds(variables.problem, variables.candidate.stages)
    for band in targets.bands:
        low, high = log(band.low_rpm), log(band.high_rpm)
        inside = [k for k, value in enumerate(logs) if counts(band, exp(value))]
        inside.sort(key=lambda k: meaningful(abs(logs[k] - (low + high) / 2)))
        for k in inside[: band.want]:
            row, constant = speeds[k]
            below = Limit(f"band {band.name}: its lower edge", f"speed {k + 1}", "rpm", 1 / band.low_rpm)
            above = Limit(f"band {band.name}: its upper edge", f"speed {k + 1}", "rpm", 1 / band.high_rpm)
            yield Row(row, constant - low - MARGIN, below)
            yield Row(-row, high - constant - MARGIN, above)
    apart = Limit("speeds distinct", "", "percent", 0.01 / (1 + targets.distinct))
    for (lower, below_log), (upper, above_log) in pairwise(speeds):
        yield Row(upper - lower, above_log - below_log - log(1 + targets.distinct) - MARGIN, apart)
    if targets.never_above_rpm < inf:
        row, constant = speeds[-1]
        limit = Limit("never above", "", "rpm", 1 / targets.never_above_rpm)
        yield Row(-row, log(targets.never_above_rpm) - constant, limit)
    if targets.never_below_rpm > 0:
        row, constant = speeds[0]
        limit = Limit("never below", "", "rpm", 1 / targets.never_below_rpm)
        yield Row(row, constant - log(targets.never_below_rpm), limit)


WINDOW_MARGIN_MM = 1e-5
"""How far inside the window [mm] the solver is asked to stay, so that its own tolerance breaks no rule."""
PER_M_S = log(60_000 / pi)
PER_MM = 1 / CENTRE_SCALE_MM
"""A length in a row counts as this share of its millimetres."""


def stage_rows(variables: Variables, number: int) -> Iterator[Row]:
    """Yield what limits the sizes and centre distances of a stage."""
    rules, spots = variables.problem.stages[number], variables.by_stage[number]
    for spot in spots:
        if spot.centre >= 0:
            yield from _position(variables, rules, spot)
    yield from _windows(variables, rules, spots)
    for side, sign, cone in ((rules.driver, 1.0, "driver"), (rules.driven, -1.0, "driven")):
        if side.cone:
            yield from _rises(
                variables, side, sign, [(getattr(s, cone), getattr(s.sizes, f"{cone}_mm")) for s in spots]
            )


def moving_rows(variables: Variables) -> Iterator[Row]:
    """Yield belt, rim and shaft speeds with every shaft at its fastest."""
    problem = variables.problem
    entering, constant = np.zeros(variables.size), log(problem.motor_rpm)
    for rules, spots in zip(problem.stages, variables.by_stage, strict=True):
        constant += log(rules.gain)
        fastest, more = log_ratio(variables, spots[-1])
        for spot in spots:
            place = f"position {spot.position + 1}"
            ratio, kept = log_ratio(variables, spot)
            if rules.driven_rpm < inf:
                room = log(rules.driven_rpm) - constant - kept
                limit = Limit(f"{rules.key}: speed of the driven shaft", place, "rpm", 1 / rules.driven_rpm)
                yield Row(-entering - ratio, room, limit)
            driver, driven = (spot.driver, spot.sizes.driver_mm), (spot.driven, spot.sizes.driven_mm)
            left, right = rules.driver, rules.driven
            for name, most, (index, size), shift, line, known in (
                ("belt speed", rules.belt_speed_m_s, driver, 0.0, entering, constant),
                ("driver's rim speed", left.rim_speed_m_s, driver, left.outside_shift_mm, entering, constant),
                (
                    "driven's rim speed",
                    right.rim_speed_m_s,
                    driven,
                    right.outside_shift_mm,
                    entering + fastest,
                    constant + more,
                ),
            ):
                if most < inf:
                    room = log(most) + PER_M_S - known
                    limit = Limit(f"{rules.key}: {name}", place, "m/s", 1 / most)
                    if index >= 0:
                        yield Row(-line, room, limit, rim=Rim(index, shift))
                    else:
                        yield Row(-line, room - log(size + shift), limit)
        entering, constant = entering + fastest, constant + more


def disc_rows(variables: Variables) -> Iterator[Row]:
    """Yield, for every turned step, that its disc is no larger than the largest."""
    for spot in variables.spots:
        rules = variables.problem.stages[spot.stage]
        for index, side in ((spot.driver, rules.driver), (spot.driven, rules.driven)):
            if index >= 0:
                line = np.zeros(variables.size)
                line[variables.disc] = 1.0
                yield Row(line, 0.0, rim=Rim(index, side.outside_shift_mm + side.truing_mm))


def _position(variables: Variables, rules: StageProblem, spot: Spot) -> Iterator[Row]:
    place = f"position {spot.position + 1}"

    def plane(name: str, parts: tuple[float, float, float], constant: float, unit: tuple[str, float]) -> Row:
        line = np.zeros(variables.measured)
        for index, part, size in (
            (spot.driver, parts[0], spot.sizes.driver_mm),
            (spot.driven, parts[1], spot.sizes.driven_mm),
            (spot.centre, parts[2], spot.sizes.centre_mm),
        ):
            if index >= 0:
                line[index] += part * PER_MM
            else:
                constant += part * size
        return Row(line, constant * PER_MM, Limit(f"{rules.key}: {name}", place, *unit), of="measures")

    if spot.centre >= variables.size:
        low, high = rules.centre_mm
        yield plane("the smallest centre distance", (0.0, 0.0, 1.0), -low, ("mm", PER_MM))
        yield plane("the largest centre distance", (0.0, 0.0, -1.0), high, ("mm", PER_MM))
    yield plane("clearance of the rims", (-0.5, -0.5, 1.0), -rules.clearance_mm, ("mm", PER_MM))
    if not rules.crossed and rules.least_wrap_deg > 0:
        off = radians(90 - rules.least_wrap_deg / 2)
        per_degree = cos(off) * pi / 360 * spot.sizes.centre_mm * PER_MM
        yield plane("wrap of the driver", (0.5, -0.5, sin(off)), 0.0, ("degree", per_degree))
        yield plane("wrap of the driven", (-0.5, 0.5, sin(off)), 0.0, ("degree", per_degree))


def _windows(variables: Variables, rules: StageProblem, spots: tuple[Spot, ...]) -> Iterator[Row]:
    window = variables.candidate.stages[spots[0].stage].belt.window_mm
    limit = Limit(f"{rules.key}: travel left for the positions' own centre distances", "", "mm", PER_MM)
    for one, other in permutations(spots, 2):
        if one.centre == other.centre:  # one for all, or neither moves
            continue
        line, constant = np.zeros(variables.measured), window - WINDOW_MARGIN_MM
        for spot, sign in ((one, -1.0), (other, 1.0)):
            if spot.centre >= 0:
                line[spot.centre] += sign * PER_MM
            else:
                constant += sign * spot.sizes.centre_mm
        yield Row(line, constant * PER_MM, limit, of="measures")


def _rises(variables: Variables, side: SideSizes, sign: float, steps: list[tuple[int, float]]) -> Iterator[Row]:
    """Yield neighbouring steps: equal where they were, else apart by the rise."""
    for number, ((low, below), (high, above)) in enumerate(pairwise(steps), 1):
        if max(low, high) < 0:
            continue
        if abs(above - below) <= 1e-9:
            yield _alike(variables.size, (low, below), (high, above))
            continue
        line, constant = np.zeros(variables.measured), -side.rise_mm
        for index, size, turn in ((low, below, -sign), (high, above, sign)):
            if index >= 0:
                line[index] = turn * PER_MM
            else:
                constant += turn * size
        limit = Limit(f"{side.key}: least rise between steps", f"{number} and {number + 1}", "mm", PER_MM)
        yield Row(line, constant * PER_MM, limit, of="measures")


def _alike(size: int, *steps: tuple[int, float]) -> Row:
    line, constant = np.zeros(size), 0.0
    for (index, known), sign in zip(steps, (1.0, -1.0), strict=True):
        if index >= 0:
            line[index] = sign
        else:
            constant += sign * log(known)
    return Row(line, constant, equal=True)
