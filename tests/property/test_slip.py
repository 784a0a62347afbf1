"""Machines with known slips and pitch lines, read with known errors: the estimate must tell what they are, or that not.

The machine that is read is written here anew, from diameters and losses, without anything of the estimate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.stats import binom

from optimizer.recheck.slip import Certainty, SlipEstimate, SlipFigure, Unknown, estimate
from optimizer.recheck.slip_fit import MOST_MORE
from optimizer.recheck.slip_model import MotorSpeed, SlipMachine, SlipStage, SpeedReading
from tests.sampled import EVERYTHING, examples, sampled

CASES = 500 if EVERYTHING else 250
CHANCE = 1e-3
"""Chance at which the calibration may fail by bad luck of the seeds, to either side."""


@dataclass(frozen=True)
class TrueStage:
    """What a stage really is."""

    driver_mm: NDArray[np.float64]
    driven_mm: NDArray[np.float64]
    shift_mm: float
    slips: tuple[float, float]
    """Idle, loaded."""
    gain: float

    def turned(self, position: int, loaded: bool) -> float:
        """Return the speed of its driven shaft over that of the shaft before."""
        driver, driven = self.driver_mm[position] + 2 * self.shift_mm, self.driven_mm[position] + 2 * self.shift_mm
        return float(self.gain * driver / driven * (1 - self.slips[loaded]))


@dataclass(frozen=True)
class Case:
    """A true machine, how its maker measured it, and what was read on it."""

    true: tuple[TrueStage, ...]
    machine: SlipMachine
    readings: tuple[SpeedReading, ...]

    def truth(self, quantity: SlipFigure) -> float:
        """Return what a quantity really is."""
        stage = self.true[quantity.stage]
        return stage.shift_mm if quantity.asked is Unknown.SHIFT else stage.slips[bool(quantity.loaded)]


def made(seed: int) -> Case:
    """Return a case: one or two stages, one to four positions, one to nine readings, some shafts not read."""
    rng = np.random.default_rng(seed)
    true, stages = [], []
    for _ in range(int(rng.integers(1, 3))):
        count = int(rng.integers(1, 5))
        driver, driven = np.sort(rng.uniform(60, 200, count)), np.sort(rng.uniform(60, 200, count))[::-1]
        idle = float(rng.uniform(0, 0.03))
        gain = float(rng.choice([1.0, 0.5]))
        loaded = idle + float(rng.uniform(0, 0.03))
        true.append(TrueStage(driver, driven, float(rng.uniform(-2, 2)), (idle, loaded), gain))
        doubt = float(rng.uniform(0.03, 0.3))
        seen = [tuple(float(x) for x in side + rng.normal(0, doubt, count)) for side in (driver, driven)]
        stages.append(SlipStage(seen[0], seen[1], (doubt,) * count, (doubt,) * count, gain))
    plate = MotorSpeed(1420, 8, 5)
    full_load = float(rng.normal(plate.rpm, plate.uncertainty_rpm))
    readings = []
    for _ in range(int(rng.integers(1, 10))):
        places = tuple(int(rng.integers(len(stage.driver_mm))) for stage in stages)
        at_work = bool(rng.random() < 0.5)
        speeds = [float(rng.normal(full_load, plate.drift_rpm) if at_work else rng.uniform(1485, 1498))]
        for stage, place in zip(true, places, strict=True):
            speeds.append(speeds[-1] * stage.turned(place, at_work))
        readings.append(_read(speeds, places, at_work, rng))
    return Case(tuple(true), SlipMachine(tuple(stages), plate if rng.random() < 0.7 else None), tuple(readings))


def _read(speeds: list[float], places: tuple[int, ...], loaded: bool, rng: np.random.Generator) -> SpeedReading:
    """Return speeds as an instrument shows them: in whole revolutions, or with an error of the bell curve."""
    doubt = float(rng.choice([0.1, 0.3, 1.0]))
    if rng.random() < 0.4:
        shown, doubt = [float(round(speed)) for speed in speeds], float(1 / np.sqrt(12))
    else:
        shown = [float(speed + rng.normal(0, doubt)) for speed in speeds]
    read: list[float | None] = list(shown)
    if rng.random() < 0.35:
        read[0] = None
    if len(read) == 3 and rng.random() < 0.6:
        read[1] = None
    return SpeedReading(places, tuple(read), doubt, loaded)


@cache
def told() -> tuple[tuple[Case, SlipEstimate], ...]:
    """Return all cases with their estimates, worked out once."""
    cases = [made(seed) for seed in range(CASES)]
    return tuple((case, estimate(case.readings, case.machine)) for case in cases)


def off(case: Case, quantity: SlipFigure) -> float:
    """Return how far an estimate is from the truth, in its standard uncertainties."""
    assert quantity.value is not None
    assert quantity.uncertainty is not None
    return (quantity.value - case.truth(quantity)) / quantity.uncertainty


def usual(count: int, chance: float) -> tuple[float, float]:
    """Return how often something with a chance happens in so many cases, but for bad luck."""
    return float(binom.ppf(CHANCE, count, chance)), float(binom.ppf(1 - CHANCE, count, chance))


def within_two(errors: list[float]) -> None:
    """Hold errors that do not depend on each other to 95.45 % within 2, by the binomial distribution."""
    held = sum(abs(error) <= 2 for error in errors)
    low, high = usual(len(errors), 0.9545)
    assert low <= held <= high, f"{held} of {len(errors)} are within two standard uncertainties"


@pytest.mark.parametrize("asked", list(Unknown))
def test_the_truth_is_within_two_standard_uncertainties(asked: Unknown) -> None:
    """In 95 of 100 cases, for slips and for shifts; one of each case, drawn, as those of a case share their errors."""
    rng, errors = np.random.default_rng(1), []
    for case, found in told():
        known = [q for q in found.quantities if q.asked is asked and q.known is Certainty.YES]
        if known:
            errors.append(off(case, known[int(rng.integers(len(known)))]))
    assert len(errors) > 0.2 * CASES
    within_two(errors)
    assert max(map(abs, errors)) < 5


def test_combinations_are_as_sure_as_they_say() -> None:
    """What is known of several slips and shifts together holds too, in 95 of 100 cases."""
    rng, errors = np.random.default_rng(2), []
    for case, found in told():
        if not found.together:
            continue
        both = found.together[int(rng.integers(len(found.together)))]
        true = 0.0
        for place, factor in both.terms:
            quantity = found.quantities[place]
            truth = case.truth(quantity)
            true += factor * (truth if quantity.asked is Unknown.SHIFT else float(np.log(1 - truth)))
        errors.append((both.value - true) / both.uncertainty)
    assert len(errors) > 0.4 * CASES
    within_two(errors)


def test_errors_lean_to_no_side() -> None:
    """The mean error is 0 within four of its own standard deviations."""
    for asked in Unknown:
        errors = [off(c, q) for c, f in told() for q in f.quantities if q.asked is asked and q.known is Certainty.YES]
        assert abs(np.mean(errors)) < 4 / np.sqrt(len(errors) / 2)


def test_a_figure_is_given_only_where_the_readings_hold_it() -> None:
    """Each known quantity lies in the row space of all ratios read, by differences of the true machine."""
    for case, found in told():
        rows = seen_by(case)
        for place, quantity in enumerate(found.quantities):
            unit = np.eye(len(found.quantities))[place]
            rest = unit - (np.linalg.pinv(rows, rcond=1e-9) @ (rows @ unit) if len(rows) else 0 * unit)
            if quantity.known is Certainty.YES:
                assert np.linalg.norm(rest) < 1e-4
            else:
                assert quantity.value is None
                assert quantity.why
                assert quantity.advice
            if quantity.known is Certainty.NOT_READ:
                assert not len(rows) or np.linalg.norm(rest) > 0.5


def seen_by(case: Case) -> NDArray[np.float64]:
    """Return what each ratio of speeds that is known tells of ln(1 − slip) and shifts, a row each."""
    count, rows = len(case.true), []
    for reading in case.readings:
        read = [shaft for shaft, rpm in enumerate(reading.speeds_rpm) if rpm is not None]
        said = reading.loaded and case.machine.loaded_motor is not None
        start = 0 if said else read[0]
        for end in read:
            row = np.zeros(3 * count)
            for stage in range(start, end):
                driver = case.machine.stages[stage].driver_mm[reading.positions[stage]]
                driven = case.machine.stages[stage].driven_mm[reading.positions[stage]]
                row[2 * stage + reading.loaded] = 1
                row[2 * count + stage] = 2 / driver - 2 / driven
            rows.append(row)
    return np.array([row for row in rows if row.any()]).reshape(-1, 3 * count)


def test_readings_that_are_as_stated_are_seldom_doubted() -> None:
    """Not more often than chances of one in a hundred, twice over, allow."""
    checked = [found for _, found in told() if found.consistent is not None]
    doubted = sum(not found.consistent for found in checked)
    assert doubted <= usual(len(checked), 0.02)[1]


def test_chances_are_spread_evenly() -> None:
    """Half of the sums of squares that are well checked are less likely than one in two."""
    chances = [found.chance for _, found in told() if found.chance is not None and found.freedom >= 2]
    low, high = usual(len(chances), 0.5)
    assert low <= sum(chance < 0.5 for chance in chances) <= high


@pytest.mark.parametrize("seed", sampled(range(40), every=2))
def test_following_the_advice_leads_to_all_that_can_be_known(seed: int) -> None:
    """Some more readings, each the one advised, and nothing more is wanted."""
    case = made(seed)
    rng = np.random.default_rng(seed)
    readings, found = list(case.readings), estimate(case.readings, case.machine)
    for _ in range(MOST_MORE):
        advised = found.next_reading
        if advised is None:
            break
        speeds = [float(rng.uniform(1485, 1498) if not advised.loaded else rng.normal(1420, 8))]
        for stage, place in zip(case.true, advised.positions, strict=True):
            speeds.append(speeds[-1] * stage.turned(place, advised.loaded))
        doubt = float(np.median([r.uncertainty_rpm for r in case.readings]))
        read = [float(rng.normal(v, doubt)) if s in advised.shafts else None for s, v in enumerate(speeds)]
        readings.append(SpeedReading(advised.positions, tuple(read), doubt, advised.loaded))
        found = estimate(readings, case.machine)
    assert found.next_reading is None


@pytest.mark.parametrize("seed", sampled(range(60), every=3))
def test_a_wrong_reading_is_named(seed: int) -> None:
    """Nine readings of three positions, one spindle speed off by 5 %: it alone is named."""
    rng = np.random.default_rng(seed)
    stage = TrueStage(np.array([80.0, 110.0, 150.0]), np.array([150.0, 115.0, 75.0]), 0.8, (0.01, 0.02), 1.0)
    machine = SlipMachine(
        (SlipStage(tuple(stage.driver_mm), tuple(stage.driven_mm), (0.15,) * 3, (0.15,) * 3),), MotorSpeed(1420, 8, 5)
    )
    readings = []
    for n in range(9):
        motor = float(rng.uniform(1485, 1498))
        shown = motor * stage.turned(n % 3, False)
        readings.append(SpeedReading((n % 3,), (motor, float(rng.normal(shown, 0.3))), 0.3))
    wrong = int(rng.integers(9))
    read, spindle = readings[wrong].speeds_rpm
    assert spindle is not None
    readings[wrong] = replace(readings[wrong], speeds_rpm=(read, spindle * float(rng.choice([0.95, 1.05]))))
    found = estimate(readings, machine)
    assert found.consistent is False
    assert [s.reading for s in found.suspects] == [wrong]


@given(st.integers(0, 10**6), st.floats(0.2, 5))
@settings(max_examples=examples(40), deadline=None)
def test_a_machine_k_times_as_large_has_the_same_slips(seed: int, k: float) -> None:
    """Shifts and their uncertainties grow with it, slips and chances stay."""
    case = made(seed)
    larger = tuple(
        replace(
            stage,
            driver_mm=tuple(k * d for d in stage.driver_mm),
            driven_mm=tuple(k * d for d in stage.driven_mm),
            driver_uncertainty_mm=tuple(k * d for d in stage.driver_uncertainty_mm),
            driven_uncertainty_mm=tuple(k * d for d in stage.driven_uncertainty_mm),
        )
        for stage in case.machine.stages
    )
    before = estimate(case.readings, case.machine)
    after = estimate(case.readings, replace(case.machine, stages=larger))
    assert after.chi_square == pytest.approx(before.chi_square, rel=1e-5, abs=1e-6)
    for one, other in zip(before.quantities, after.quantities, strict=True):
        grown = k if one.asked is Unknown.SHIFT else 1.0
        assert one.known == other.known
        if one.value is not None and one.uncertainty is not None:
            assert other.value == pytest.approx(grown * one.value, abs=1e-4 * grown * one.uncertainty)
            assert other.uncertainty == pytest.approx(grown * one.uncertainty, rel=1e-4)


@given(st.integers(0, 10**6))
@settings(max_examples=examples(40), deadline=None)
def test_the_order_of_readings_does_not_matter(seed: int) -> None:
    """Shuffled readings give the same figures."""
    case = made(seed)
    order = np.random.default_rng(seed).permutation(len(case.readings))
    before, after = (
        estimate(readings, case.machine) for readings in (case.readings, [case.readings[int(n)] for n in order])
    )
    for one, other in zip(before.quantities, after.quantities, strict=True):
        assert one.known == other.known
        if one.value is not None and one.uncertainty is not None:
            assert other.value == pytest.approx(one.value, abs=1e-4 * one.uncertainty)


@given(st.integers(0, 10**6))
@settings(max_examples=examples(40), deadline=None)
def test_another_reading_never_makes_less_known(seed: int) -> None:
    """Uncertainties do not grow as readings are added, but for what the point they are taken at does to them."""
    case = made(seed)
    fewer = estimate(case.readings[:-1], case.machine)
    more = estimate(case.readings, case.machine)
    for one, other in zip(fewer.quantities, more.quantities, strict=True):
        if one.uncertainty is not None and one.uncertainty < 0.9 * limit(one, case):
            assert other.uncertainty is not None
            assert other.uncertainty <= 1.05 * one.uncertainty


def limit(quantity: SlipFigure, case: Case) -> float:
    """Return the uncertainty up to which a figure is given: 1 %, of the least diameter for shifts."""
    stage = case.machine.stages[quantity.stage]
    return 0.01 * (min(*stage.driver_mm, *stage.driven_mm) if quantity.asked is Unknown.SHIFT else 1.0)


def test_the_same_readings_give_the_same_words() -> None:
    """Twice the same case, twice the same result, to the last letter."""
    for seed in range(5):
        case = made(seed)
        assert estimate(case.readings, case.machine) == estimate(case.readings, case.machine)
