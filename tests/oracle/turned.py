"""Machines drawn at random, and what errors of turning do to them, by code that shares nothing with the project's.

A belt's own centre distance comes from Newton's method on the length of an open belt as textbooks print it; the
unevenness from its definition, half the spread about the best of all chords.
"""

from __future__ import annotations

from itertools import combinations
from math import prod
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.scenario import Scenario, load_scenario

__all__ = ["Outcome", "Random", "outcome", "outcome_of", "random_machine"]

Array = NDArray[np.float64]

HEAD = """
title = "Drawn at random"
units = "mm"
[motor]
speed = 1400
[[band]]
name = "all"
from = 5
to = 60000
[series]
end_miss = 1
unevenness = 1
[making]
pins_within = {within!r}
speed_within = {speeds!r}
rim_speed = 200
"""
SHAFT = """
[[shaft]]
name = "{name}"
mount = "slide"
"""
STAGE = """
[[stage]]
from = "{start}"
to = "{end}"
positions = {positions}
centres = [{low!r}, {high!r}]
travel = {window!r}
fit = 0
slip = 0
wrap = 1
clearance = 0
belt_speed = 100
belt = {{ section = "A", lengths = [{length!r}], measured = "datum" }}
budget = {{ tolerance = 0, stretch = 0, climb = 0 }}
driver = {{ free = [20, 900], smallest = 20, measured = "datum" }}
driven = {{ free = [20, 900], smallest = 20, measured = "datum" }}
"""
"""Nothing is held back from the travel, so that it is the window; limits of speed, wrap, rims are far away."""
RIM_MM = 6.6
"""Outside less datum diameter of section A, whose datum line is its pitch line here: GOST 20889-88, read."""


class Random(NamedTuple):
    """A machine with the figures it was drawn from."""

    scenario: Scenario
    built: BuiltMachine
    driver_mm: tuple[Array, ...]
    """Pitch diameters, a stage each."""
    driven_mm: tuple[Array, ...]
    length_mm: tuple[float, ...]
    centres_mm: tuple[tuple[float, float], ...]
    window_mm: tuple[float, ...]
    speed_within: float
    within_mm: float


class Outcome(NamedTuple):
    """What errors come to."""

    log_speeds: Array
    spreads_mm: tuple[Array, ...]
    well: NDArray[np.bool_]


def length_mm(driver: Array, driven: Array, centre: Array) -> Array:
    """Return the length of an open belt as a handbook prints it."""
    lean = np.arcsin((driver - driven) / (2 * centre))
    return np.asarray(2 * centre * np.cos(lean) + np.pi / 2 * (driver + driven) + lean * (driver - driven))


def centre_mm(driver: Array, driven: Array, length: float) -> Array:
    """Return the centre distance of a belt by Newton's method; the derivative of the length is ``2·cos(lean)``."""
    centre = (length - np.pi / 2 * (driver + driven)) / 2
    for _ in range(10):
        lean = np.arcsin((driver - driven) / (2 * centre))
        centre = centre - (length_mm(driver, driven, centre) - length) / (2 * np.cos(lean))
    return centre


def random_machine(seed: int) -> Random:
    """Return a machine of one or two stages with two to four positions each, all turned.

    Its own centre distances lie apart by some share of the window, its speeds off an even series by some per cent.
    """
    draw = np.random.default_rng(seed)
    counts = [int(count) for count in draw.integers(2, 5, size=draw.integers(1, 3))]
    step = draw.uniform(1.08, min(1.5, 10 ** (1 / (prod(counts) - 1))))
    within, speeds = round(draw.uniform(0.05, 0.8), 3), round(draw.uniform(0.002, 0.02), 5)
    shafts = ["motor", "countershaft", "spindle"] if len(counts) == 2 else ["motor", "spindle"]
    drawn = []
    for number, count in enumerate(counts):
        rise = step if number == 0 else step ** counts[0]
        window = round(within * float(np.exp(draw.uniform(-1.2, 3.5))), 3)
        drawn.append(_stage(draw, count, rise, window))
    text = HEAD.format(within=within, speeds=speeds) + "".join(SHAFT.format(name=name) for name in shafts[:-1])
    built = []
    for number, (driver, driven, length, centres, window) in enumerate(drawn):
        text += STAGE.format(
            start=shafts[number],
            end=shafts[number + 1],
            positions=len(driver),
            low=centres[0],
            high=centres[1],
            window=window,
            length=length,
        )
        built.append(_built(number, driver, driven, length))
    return Random(
        scenario=load_scenario(text, "random.toml"),
        built=BuiltMachine(stages=tuple(built)),
        driver_mm=tuple(stage[0] for stage in drawn),
        driven_mm=tuple(stage[1] for stage in drawn),
        length_mm=tuple(stage[2] for stage in drawn),
        centres_mm=tuple(stage[3] for stage in drawn),
        window_mm=tuple(stage[4] for stage in drawn),
        speed_within=speeds,
        within_mm=within,
    )


def outcome(machine: Random, draw: np.random.Generator, samples: int) -> Outcome:
    """Return what independent normal errors come to, two standard deviations being the stated accuracy."""
    count = 2 * sum(mm.size for mm in machine.driver_mm)
    return outcome_of(machine, draw.standard_normal((samples, count)) * machine.within_mm / 2)


def outcome_of(machine: Random, errors_mm: Array) -> Outcome:
    """Return what sets of errors come to, a row a set; stages in order, driver before driven, slowest first."""
    samples, used = errors_mm.shape[0], 0
    logs, spreads = np.zeros((samples, 1)), []
    well = np.ones(samples, dtype=bool)
    for number, (driver, driven) in enumerate(zip(machine.driver_mm, machine.driven_mm, strict=True)):
        real = []
        for sizes in (driver, driven):
            real.append(sizes + errors_mm[:, used : used + sizes.size])
            used += sizes.size
        own = centre_mm(real[0], real[1], machine.length_mm[number])
        low, high = machine.centres_mm[number]
        spreads.append(np.ptp(own, axis=1))
        well &= (spreads[-1] <= machine.window_mm[number]) & np.all((own >= low) & (own <= high), axis=1)
        logs = (logs[:, :, None] + np.log(real[0] / real[1])[:, None, :]).reshape(samples, -1)
    drawn = np.zeros(1)
    for driver, driven in zip(machine.driver_mm, machine.driven_mm, strict=True):
        drawn = (drawn[:, None] + np.log(driver / driven)[None, :]).reshape(-1)
    order = np.argsort(drawn)
    drawn, logs = drawn[order], logs[:, order]
    off = np.exp(logs - drawn) - 1
    well &= np.all(np.abs(off) <= machine.speed_within, axis=1)
    if drawn.size > 2:
        uneven, ratio = unevenness(drawn[None, :])
        advised = 0.10 * (np.exp(ratio[0]) - 1)
        if uneven[0] <= advised:
            well &= unevenness(logs)[0] <= advised
    return Outcome(logs, tuple(spreads), well)


def unevenness(logs: Array) -> tuple[Array, Array]:
    """Return half the least spread about any chord, with that chord's slope, of every row of speeds."""
    best, slopes = np.full(logs.shape[0], np.inf), np.zeros(logs.shape[0])
    places = np.arange(logs.shape[1])
    for low, high in combinations(places, 2):
        slope = (logs[:, high] - logs[:, low]) / (high - low)
        half = np.ptp(logs - slope[:, None] * places, axis=1) / 2
        slopes = np.where(half < best, slope, slopes)
        best = np.minimum(best, half)
    return best, slopes


def _stage(
    draw: np.random.Generator, count: int, rise: float, window: float
) -> tuple[Array, Array, float, tuple[float, float], float]:
    """Return driver, driven, length, centre distances allowed, window."""
    middle = draw.uniform(400, 700)
    first = draw.uniform(0.35, 0.8) / rise ** ((count - 1) / 2)
    ratios = first * rise ** np.arange(count) * np.exp(draw.uniform(-0.004, 0.004, count))
    length = round(float(length_mm(np.array(60.0), np.array(60.0 / ratios[0]), np.array(middle))), 3)
    apart = draw.uniform(0, 1) * window * draw.permutation(np.linspace(0, 0.95, count))
    sizes = np.array([_size(ratio, length, middle + off) for ratio, off in zip(ratios, apart, strict=True)])
    wide = draw.uniform(0.3, 3.0) * window
    limits = round(float(middle + apart.min() - wide), 3), round(float(middle + apart.max() + wide), 3)
    return sizes, sizes / ratios, length, limits, window


def _size(ratio: float, length: float, centre: float) -> float:
    """Return the driver that takes the belt at a centre distance: the length grows with both diameters."""
    low, high = 5.0, min(600.0, 1.9 * centre / max(abs(1 - 1 / ratio), 1e-3))
    for _ in range(100):
        half = (low + high) / 2
        if length_mm(np.array(half), np.array(half / ratio), np.array(centre)) < length:
            low = half
        else:
            high = half
    return (low + high) / 2


def _built(number: int, driver: Array, driven: Array, length: float) -> BuiltStage:
    return BuiltStage(
        key=f"stage[{number}]",
        section="A",
        marking="drawn",
        datum_length_mm=length,
        driver_outside_mm=tuple((driver + RIM_MM).tolist()),
        driven_outside_mm=tuple((driven + RIM_MM).tolist()),
        driver_turned=(True,) * driver.size,
        driven_turned=(True,) * driven.size,
    )
