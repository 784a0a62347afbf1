"""What must hold of errors of turning for any machine, held against code that shares nothing with ours."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.checks.stated import read_machine
from optimizer.pipeline.tolerance import tolerance_sheet
from optimizer.records.tolerance import ToleranceSheet
from tests.oracle.turned import Random, outcome, outcome_of, random_machine
from tests.sampled import EVERYTHING

Array = NDArray[np.float64]

SEEDS = range(40) if EVERYTHING else range(20, 40)
TRIES = 20_000
NOT_TINY = 0.005
WITHIN = 0.10


@cache
def machine(seed: int) -> Random:
    """Return a machine drawn at random."""
    return random_machine(seed)


@cache
def sheet(seed: int) -> ToleranceSheet:
    """Return what is said of it."""
    found = tolerance_sheet(read_machine(machine(seed).scenario, machine(seed).built))
    assert found is not None
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_first_order_holds_where_it_claims_to(seed: int) -> None:
    """Standard deviations of speeds and spreads, and the chance to fail, agree within 10 % with other tries."""
    told, tried = sheet(seed), outcome(machine(seed), np.random.default_rng(7000 + seed), TRIES)
    if told.first_order.speeds_valid:
        own = np.std(tried.log_speeds, axis=0)
        assert np.array([speed.deviation for speed in told.speeds]) == pytest.approx(own, rel=WITHIN)
    for spread, apart in zip(told.spreads, tried.spreads_mm, strict=True):
        if spread.deviation_mm is not None:
            assert spread.deviation_mm == pytest.approx(float(np.std(apart)), rel=WITHIN)
    fails = 1 - float(np.mean(tried.well))
    if told.first_order.chance_valid and fails > NOT_TINY:
        assert told.first_order.all_well is not None
        noise = 3 * np.sqrt(fails * (1 - fails) / TRIES)
        assert 1 - told.first_order.all_well == pytest.approx(fails, abs=WITHIN * fails + noise)


def test_first_order_claims_enough_to_be_of_use() -> None:
    """The claims above are made for most machines, for chances of every size, and for some spreads."""
    told = [sheet(seed) for seed in SEEDS]
    claimed = [one.first_order for one in told if one.first_order.chance_valid and one.first_order.all_well is not None]
    assert len(claimed) >= 0.6 * len(told)
    fails = [1 - (one.all_well or 0.0) for one in claimed]
    assert sum(NOT_TINY < chance < 0.2 for chance in fails) >= len(told) / 10
    assert sum(0.2 < chance < 0.8 for chance in fails) >= len(told) / 5
    assert sum(one.first_order.speeds_valid for one in told) >= 0.9 * len(told)
    assert sum(spread.deviation_mm is not None for one in told for spread in one.spreads) >= len(told) / 4


@pytest.mark.parametrize("seed", SEEDS[::3])
def test_tries_agree_with_other_tries(seed: int) -> None:
    """The chance that all is well, and what the spread stays below, are those of other random numbers and formulas."""
    told, tried = sheet(seed), outcome(machine(seed), np.random.default_rng(9000 + seed), TRIES)
    chance = float(np.mean(tried.well))
    noise = np.sqrt(max(chance * (1 - chance), 1e-4) * (1 / TRIES + 1 / told.samples))
    assert told.chance.all_well == pytest.approx(chance, abs=4 * noise)
    for spread, apart in zip(told.spreads, tried.spreads_mm, strict=True):
        assert spread.tried_deviation_mm == pytest.approx(float(np.std(apart)), rel=0.06)
        assert spread.most_mm == pytest.approx(float(np.quantile(apart, 0.95)), rel=0.05)


@pytest.mark.parametrize("seed", SEEDS[::2])
def test_any_mixture_of_errors_allowed_together_is_well(seed: int) -> None:
    """Every corner of the errors allowed all at once, less 3 % for curvature, keeps fit, speeds, evenness."""
    small, large = sides(sheet(seed), "together")
    draw = np.random.default_rng(seed)
    corners = np.where(draw.random((400, small.size)) < 0.5, -small, large)
    inside = draw.uniform(-1, 1, (400, small.size))
    inside = np.where(inside < 0, inside * small, inside * large)
    assert np.all(outcome_of(machine(seed), 0.97 * np.vstack([corners, inside])).well)


@pytest.mark.parametrize("seed", SEEDS[::2])
def test_one_size_alone_may_be_off_so_much_and_no_more(seed: int) -> None:
    """An error of 97 % of what is allowed alone is well, one of 103 % is not."""
    small, large = sides(sheet(seed), "alone")
    for side in (-small, large):
        each = np.diag(side)
        assert np.all(outcome_of(machine(seed), 0.97 * each).well)
        assert not np.any(outcome_of(machine(seed), 1.03 * each).well)


@pytest.mark.parametrize("seed", SEEDS[::4])
def test_leaving_sizes_large_and_cutting_again_is_no_worse(seed: int) -> None:
    """Measuring and cutting once more, from aims as told, makes the chance no smaller than cutting once."""
    told = sheet(seed)
    assert told.chance_by_cuts >= told.chance.all_well - 0.02


def test_the_same_machine_gives_the_same_figures() -> None:
    """Nothing depends on when or how often it is asked."""
    again = tolerance_sheet(read_machine(machine(0).scenario, machine(0).built))
    assert again == sheet(0)


def sides(told: ToleranceSheet, name: str) -> tuple[Array, Array]:
    """Return how much smaller and larger every size may be."""
    allowed = [getattr(size, name) for size in told.sizes]
    small = np.array([one.smaller_mm for one in allowed], dtype=float)
    large = np.array([one.larger_mm for one in allowed], dtype=float)
    assert np.all(np.isfinite(small)) and np.all(np.isfinite(large))
    return small, large
