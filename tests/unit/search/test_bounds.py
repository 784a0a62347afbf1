"""Lower bounds that the search prunes by: none may lie above what it bounds."""

from __future__ import annotations

from math import inf, log

import numpy as np
import pytest

from optimizer.layouts.orders import orders
from optimizer.records import Layout, Problem
from optimizer.search.bound import SeriesProgram
from optimizer.search.fit import Prospect, SeriesRules
from optimizer.search.reach import Reach, ideal_series_fits
from optimizer.search.space import Space
from optimizer.series import least_spread
from tests.oracle.instances import small_problem
from tests.unit.search.machines import two_stage_machine

SLOW_RIM_M_S = 9.0


def _rules(layout: Layout) -> SeriesRules:
    problem = two_stage_machine()
    targets = problem.targets.model_copy(update={"bands": (), "end_weight": 0.7, "unevenness_weight": 1.3})
    stages = tuple(problem.stages[0] for _ in layout.positions)
    return SeriesRules.of(problem.model_copy(update={"layout": layout, "stages": stages, "targets": targets}))


@pytest.mark.parametrize("positions", [(4,), (6,), (2, 4), (3, 3), (2, 2, 3)])
def test_what_a_choice_promises_is_no_more_than_any_design_with_it_has(positions: tuple[int, ...]) -> None:
    """For random choices of the other stages and any subset of positions, the bound is at most the J of the design."""
    rng = np.random.default_rng(11)
    for layout in orders(positions):
        rules = _rules(layout)
        table = [np.sort(rng.normal(0, 0.6, (40, len(row))), axis=1) for row in layout.offsets[:-1]]
        first = sum((part[:, 0] for part in table), np.zeros(40))
        last = sum((part[:, -1] for part in table), np.zeros(40))
        at_first, at_last, rise = ((float(v.min()), float(v.max())) for v in (first, last, last - first))
        prospect = Prospect(rules, at_first, at_last, rise, float(sum(row[-1] for row in layout.offsets[:-1])))
        own = np.sort(rng.normal(-0.5, 0.7, (40, positions[-1])), axis=1)
        parts = [*table, own]
        spread = least_spread(parts, rules.offsets)[0]
        miss = rules.end_miss(rules.base + first + own[:, 0], rules.base + last + own[:, -1])
        j = rules.weights[0] * miss + rules.weights[1] * spread / 2
        for inner in range(positions[-1] - 1):
            chosen = [0, positions[-1] - 1, *range(1, 1 + inner)]
            least = prospect.least_j(tuple(layout.offsets[-1][p] for p in chosen), own[:, chosen])
            assert np.all(least <= j + 1e-12)
        assert np.any(least > 0)


def test_a_spread_beyond_what_is_of_interest_is_the_only_one_not_worked_out() -> None:
    """With a limit, spreads within it come back exactly, all others as infinity or as they are."""
    rng = np.random.default_rng(2)
    parts = [np.sort(rng.normal(0, 0.5, (300, 4)), axis=1), np.sort(rng.normal(0, 0.5, (300, 3)), axis=1)]
    offsets = [np.array([0.0, 1, 2, 3]), np.array([0.0, 4, 8])]
    exact = least_spread(parts, offsets)[0]
    limit = np.full(300, float(np.median(exact)))
    limited = least_spread(parts, offsets, 0.0, limit)[0]
    assert limited[exact <= limit] == pytest.approx(exact[exact <= limit], abs=1e-12)
    assert np.all((limited == inf) | (np.abs(limited - exact) < 1e-12))
    assert np.any(limited == inf)


def _with_slow_rims(problem: Problem) -> Problem:
    stages = tuple(
        stage.model_copy(
            update={
                side: getattr(stage, side).model_copy(update={"rim_speed_m_s": SLOW_RIM_M_S})
                for side in ("driver", "driven")
            }
        )
        for stage in problem.stages
    )
    return problem.model_copy(update={"stages": stages})


def test_every_cut_holds_for_every_pair_of_outermost_positions() -> None:
    """What belts, rims and speeds leave to first and last positions is kept by all pairs that keep those limits."""
    problem = _with_slow_rims(two_stage_machine())
    space = Space.of(problem)
    (one, other), entering = space.indexes, space.entering
    cuts = [*Reach.of_limits(problem).cuts, *space.reach.cuts]
    assert {cut.stage for cut in cuts} == {0, 1}
    rng = np.random.default_rng(4)
    seen = 0
    for _ in range(30_000):
        f, g = (int(k) for k in rng.integers(0, len(one.pairs), 2))
        p, q = (int(k) for k in rng.integers(0, len(other.pairs), 2))
        if one.pairs.belt[f] != one.pairs.belt[g] or other.pairs.belt[p] != other.pairs.belt[q]:
            continue
        x = [(one.pairs.log_ratio[f], one.pairs.log_ratio[g]), (other.pairs.log_ratio[p], other.pairs.log_ratio[q])]
        fastest = [entering[0] + x[0][1], entering[1] + x[0][1] + x[1][1]]
        legal = x[0][0] <= x[0][1] and x[1][0] <= x[1][1]
        for index, (a, b), into, out in (
            (one, (f, g), entering[0], fastest[0]),
            (other, (p, q), entering[1] + x[0][1], fastest[1]),
        ):
            pairs = index.pairs
            apart = max(pairs.centre_low[a], pairs.centre_low[b]) - min(pairs.centre_high[a], pairs.centre_high[b])
            legal = legal and apart <= pairs.window_mm[a]
            legal = legal and min(pairs.entering[a], pairs.entering[b]) >= into
            legal = legal and min(pairs.leaving[a], pairs.leaving[b]) >= out
        if not legal:
            continue
        seen += 1
        for cut in cuts:
            before = x[0][1] if cut.stage else 0.0
            assert cut.first * x[cut.stage][0] + cut.last * x[cut.stage][1] + cut.before * before <= cut.most + 1e-9
    assert seen > 20


@pytest.mark.parametrize("seed", range(40))
def test_where_an_ideal_series_fits_the_program_finds_no_bound_either(seed: int) -> None:
    """A series of J 0 within the reach is a solution of the linear program, whose least J is then 0."""
    problem = small_problem(seed)
    space = Space.of(problem)
    if all(len(index.pairs) for index in space.indexes) and ideal_series_fits(space.rules, space.reach):
        assert SeriesProgram(space.rules, space.reach).least_j == pytest.approx(0.0, abs=1e-9)


def test_the_ends_do_not_matter_to_an_ideal_series_that_they_are_not_asked_of() -> None:
    """With no weight on the ends, any geometric series that meets the wants is ideal, not that from end to end."""
    problem = two_stage_machine()
    targets = problem.targets.model_copy(update={"end_weight": 0.0, "end_miss_most": inf})
    narrow = [(log(0.5), log(0.9)), (log(0.4), log(1.1))]
    rules = SeriesRules.of(problem.model_copy(update={"targets": targets}))
    assert ideal_series_fits(rules, None)
    assert not ideal_series_fits(SeriesRules.of(problem), Reach(narrow, []))
