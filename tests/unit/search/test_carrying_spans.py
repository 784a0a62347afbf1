"""What limits of grip leave of pairs, against trying scales and speeds one by one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import exp, inf, log, sqrt
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.geometry.belts import centre_for_length_mm
from optimizer.records import BandTarget, Layout, Problem
from optimizer.records.speeds import carries_kw, least_power_kw
from optimizer.search.carrying import Carrying, Demand, Link, StageCarrying, _enough, demand_of
from optimizer.search.fit import SeriesRules
from optimizer.search.index import PairIndex
from optimizer.search.pairs import lay_belts
from tests.unit.search.machines import stage_of, two_stage_machine
from tests.unit.search.made_up import OFFSETS, made_up_rules

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
BANDS = (
    BandTarget(name="slow", low_rpm=200, high_rpm=450, power_kw=0.5, least_grip=1.0),
    BandTarget(name="also slow", low_rpm=350, high_rpm=700, power_kw=0.3, least_grip=1.2),
    BandTarget(name="fast", low_rpm=1000, high_rpm=2000, top=True, power_kw=0.6),
)


def machine(positions: tuple[int, ...] = (2, 2), **targets: Any) -> Problem:
    """Return a coarse machine of two stages, one of them crossed, whose belts must carry."""
    problem = two_stage_machine()
    stages = [
        stage_of(s, (75.0, 210.0, 27.0), (1120.0, 1250.0), 20.0).model_copy(
            update={"ratings": ratings_of(section("A")), "crossed": s == 1, "gain": (0.9, 1.1)[s], "slip": 0.01}
        )
        for s in range(len(positions))
    ]
    own = {"bands": BANDS, "power_kw": 0.75, "least_grip": 0.8, **targets}
    return problem.model_copy(
        update={
            "layout": Layout(positions=positions, offsets={(2, 2): ((0, 2), (0, 1)), **OFFSETS}[positions]),
            "stages": tuple(stages),
            "targets": problem.targets.model_copy(update=own),
        }
    )


@dataclass
class Ready:
    """A machine with its pairs and what they must carry."""

    problem: Problem

    @cached_property
    def carrying(self) -> Carrying:
        """Its limits of grip."""
        indexes = tuple(
            PairIndex.of(lay_belts(stage, positions=p))
            for stage, p in zip(self.problem.stages, self.problem.layout.positions, strict=True)
        )
        entering = (log(1420 * 0.9), log(1420 * 0.9 * 1.1))
        found = Carrying.of(self.problem, SeriesRules.of(self.problem), indexes, entering)
        assert found is not None
        return found

    def kw(self, s: int, row: int, scale: float, entering: float) -> float:
        """Return what a pair carries at a scale, worked out of its sizes and its belt."""
        stage, pairs = self.problem.stages[s], self.carrying.stages[s].pairs
        a, b = pairs.driver_mm[row] * scale, pairs.driven_mm[row] * scale
        length = stage.belts[pairs.belt[row]].length_mm
        centre = float(centre_for_length_mm(a, b, length, crossed=stage.crossed))
        sizes = SimpleNamespace(driver_mm=a, driven_mm=b, centre_mm=centre)
        return carries_kw(stage, cast(Any, sizes), length, exp(entering))

    def most_kw(self, s: int, row: int, entering: float) -> float:
        """Return what a pair carries at the better end of its ray, two thousandths of a quarter more; a point as is."""
        pairs = self.carrying.stages[s].pairs
        low, high = float(pairs.scale_low[row]), float(pairs.scale_high[row])
        ends = [self.kw(s, row, scale, entering) for scale in (low, high)]
        return max(ends) * (1.0005 if high > low else 1.0)


READY = Ready(machine())


@pytest.mark.parametrize("s", [0, 1])
def test_pairs_carry_what_their_sizes_do(s: int) -> None:
    """At scales and speeds at random, open and crossed; at their best a two-thousandth more than at the better end."""
    stage = READY.carrying.stages[s]
    rng = np.random.default_rng(1)
    rows = rng.integers(0, len(stage.pairs), 30)
    low, high = stage.pairs.scale_low[rows], stage.pairs.scale_high[rows]
    scale, entering = rng.uniform(low, high), rng.uniform(5.5, 8.4, 30)
    found = stage.carries_kw(rows, scale, entering)
    most, fixed = stage.most_carried_kw(rows, entering), stage.most_carried_kw(rows, 7.0)
    for k, row in enumerate(rows.tolist()):
        assert found[k] == pytest.approx(READY.kw(s, row, float(scale[k]), float(entering[k])), rel=1e-6)
        assert most[k] == pytest.approx(READY.most_kw(s, row, float(entering[k])), rel=1e-6)
        assert fixed[k] == pytest.approx(READY.most_kw(s, row, 7.0), rel=1e-6)
    assert (high > low).any()


def test_points_carry_just_what_they_do() -> None:
    """Where no pair is a ray nothing is added, where some are only to them."""
    stage = READY.carrying.stages[0]
    pairs = stage.pairs
    ones = np.ones(len(pairs))
    mixed = pairs.take(np.arange(len(pairs)))
    points = StageCarrying(stage.stage, mixed, stage.reach, (), (), ())
    vars(mixed)["scale_low"] = np.where(np.arange(len(pairs)) % 2, pairs.scale_low, pairs.scale_high)
    rows = np.arange(len(pairs))
    as_is = stage.carries_kw(rows, pairs.scale_high, 7.0)
    alone = points.most_carried_kw(rows[::2], 7.0 * ones[::2])
    assert alone == pytest.approx(as_is[::2], rel=1e-9)
    both = points.most_carried_kw(rows, 7.0 * ones)
    assert both[::2] == pytest.approx(as_is[::2], rel=1e-9)
    some = pairs.scale_high > pairs.scale_low
    assert np.all((both > as_is)[1::2] == some[1::2])


@dataclass(frozen=True)
class Humped(StageCarrying):
    """Pairs that carry 1 kW at a speed of their own, less on either side as a parabola in its logarithm."""

    def most_carried_kw(self, rows: Ints, entering: Floats | float) -> Floats:
        """Return what pairs carry."""
        middle, half = self.pairs.entering[rows], self.pairs.leaving[rows]
        return np.asarray(1 - ((entering - middle) / half) ** 2)


def humped(middle: Floats, half: Floats, reach: tuple[float, float]) -> Humped:
    """Return such pairs."""
    pairs = SimpleNamespace(entering=middle, leaving=half)
    fake = cast(Any, type("Pairs", (SimpleNamespace,), {"__len__": lambda self: middle.size})(**vars(pairs)))
    return Humped(cast(Any, None), fake, reach, (0.5, 0.9), (0.9, 0.2), (0.9, 0.5))


def test_spans_end_where_pairs_carry_too_little_and_hardly_beyond() -> None:
    """Each end lies outside what is enough, at a whole 64th of the distance of the twelve speeds tried, the next."""
    rng = np.random.default_rng(2)
    middle, half = rng.uniform(5.0, 9.0, 60), rng.uniform(0.05, 6.0, 60)
    stage = humped(middle, half, (6.0, 8.2))
    places, fine = np.linspace(6.0, 8.2, 12), 2.2 / 11 / 64
    for power in (0.4, 0.8):
        least = power / 1.005
        low, high = stage.spans(power)
        seen = set()
        for k in range(60):
            reach = half[k] * sqrt(1 - least)
            enough = [place for place in places if abs(place - middle[k]) <= reach]
            if not enough:
                expected = "none"
                assert (low[k], high[k]) == (inf, -inf)
            else:
                expected = f"{places[0] in enough} {places[-1] in enough}"
                assert low[k] == -inf if places[0] in enough else -fine <= low[k] - (middle[k] - reach) < 0
                assert high[k] == inf if places[-1] in enough else 0 < high[k] - (middle[k] + reach) <= fine
            seen.add(expected)
            for end in (low[k], high[k]):
                assert abs(end) == inf or abs((end - 6.0) / fine - round((end - 6.0) / fine)) < 1e-6
        assert seen == {"none", "True True", "True False", "False True", "False False"}
    free = stage.spans(0.0)
    assert np.all(free[0] == -inf) and np.all(free[1] == inf)


def test_pairs_stand_where_their_spans_are_within_reach() -> None:
    """A pair may stand where the slowest and the fastest speed of its driver, both, can lie in its spans."""
    rng = np.random.default_rng(3)
    middle, half = rng.uniform(5.0, 9.0, 80), rng.uniform(0.05, 1.5, 80)
    stage = humped(middle, half, (6.0, 8.2))
    assert not stage.fixed
    for position, (slow, fast) in enumerate(zip(stage.slow_kw, stage.fast_kw, strict=True)):
        spans = [stage.spans(power) for power in (slow, fast)]
        expected = [all(low[k] <= 8.2 and high[k] >= 6.0 for low, high in spans) for k in range(80)]
        assert stage.may_stand(position).tolist() == expected
        assert 0 < sum(expected) < 80
    rows = rng.integers(0, 80, (40, 2))
    for found, (spans, end) in zip(
        stage.asked(rows), [(s, e) for s in (stage.slow, stage.fast) for e in (0, 1)], strict=True
    ):
        ends = np.column_stack([spans[p][end][rows[:, p]] for p in (0, 1)])
        assert found.tolist() == (ends.min(axis=1) if end else ends.max(axis=1)).tolist()
    one = humped(middle, half, (6.0, 6.0))
    assert one.fixed
    for position, power in enumerate((0.9, 0.5)):
        assert one.may_stand(position).tolist() == (one.most_carried_kw(np.arange(80), 6.0) >= power).tolist()


def test_a_power_just_carried_is_carried() -> None:
    """At the driver's only speed a pair may stand with just its power, a billionth less, not with a millionth less."""
    for share, may in ((1.0, True), (1 + 5e-10, True), (1 + 1e-6, False)):
        pairs = humped(np.full(1, 6.0), np.ones(1), (6.0, 6.0)).pairs
        stage = Humped(cast(Any, None), pairs, (6.0, 6.0), (0.0,), (0.0,), (share,))
        assert stage.may_stand(0).tolist() == [may]


def test_scales_end_where_pairs_just_carry_enough() -> None:
    """Of pairs that carry 1 kW at a scale of their own, less beside it, the ends are those of a parabola."""
    rng = np.random.default_rng(4)
    low, wide = rng.uniform(0.9, 1.0, 60), rng.uniform(0.02, 0.05, 60)
    middle, half = low + wide * rng.uniform(-1.2, 2.2, 60), wide * rng.uniform(0.7, 2.0, 60)

    def carries(rows: Ints, scales: Floats, entering: Floats) -> Floats:
        return np.asarray(1 - ((scales - middle[rows]) / half[rows]) ** 2 + entering)

    stage = SimpleNamespace(pairs=SimpleNamespace(scale_low=low, scale_high=low + wide), carries_kw=carries)
    rows = np.arange(60)
    shift = rng.uniform(-0.1, 0.1, 60)
    for power in (0.3, 0.6):
        reach = half * np.sqrt(1 + shift - power)
        nearest = np.clip(middle, low, low + wide)
        some = np.abs(middle - nearest) < reach - wide / 8
        chosen = rows[some]
        spans = _enough(cast(Any, stage), chosen, shift[chosen], np.full(chosen.size, power))
        assert spans is not None
        kinds = set()
        for k, least, most in zip(chosen, *spans, strict=True):
            begin, end = middle[k] - reach[k], middle[k] + reach[k]
            kinds.add((bool(begin > low[k]), bool(end < low[k] + wide[k])))
            assert least == -inf if begin <= low[k] else -2e-9 <= least - begin <= 1e-6 * wide[k]
            assert most == inf if end >= low[k] + wide[k] else -2e-9 <= end - most <= 1e-6 * wide[k]
        assert len(kinds) >= 3
        never = rows[np.abs(middle - nearest) > reach]
        assert never.size
        for k in never:
            both = np.array([chosen[0], k])
            assert _enough(cast(Any, stage), both, shift[both], np.full(2, power)) is None
    none = _enough(cast(Any, stage), rows[:0], shift[:0], shift[:0])
    assert none is not None and none[0].size == none[1].size == 0


def test_what_a_machine_asks_of_its_stages() -> None:
    """The driver's reach grows stage by stage; powers are those of the speeds on the slowest, the fastest, any."""
    carrying = READY.carrying
    demand = demand_of(READY.problem, carrying.rules)
    assert demand is not None
    entering = carrying.entering
    one, other = carrying.stages
    ratios = one.pairs.log_ratio
    assert one.reach == (entering[0], entering[0]) and one.fixed
    assert other.reach == pytest.approx((entering[1] + ratios.min(), entering[1] + ratios.max()))
    for s, stage in enumerate(carrying.stages):
        for others, powers in ((0, stage.slow_kw), (-1, stage.fast_kw), (None, stage.most_kw)):
            assert powers == tuple(demand.of(carrying.rules, Link.of(READY.problem, s), p, others) for p in (0, 1))
    free = machine(bands=(), least_grip=0.0)
    assert Carrying.of(free, carrying.rules, (), ()) is None and demand_of(free, carrying.rules) is None


@pytest.mark.parametrize("positions", [(3,), (2, 3), (2, 2, 2)])
def test_powers_of_a_position_are_those_of_its_speeds(positions: tuple[int, ...]) -> None:
    """The greatest power of the speeds made with it, with the stages before on their first, their last, on any."""
    rules = made_up_rules(positions)
    powers = np.random.default_rng(6).uniform(0.1, 1, rules.speeds)
    demand = Demand(tuple(float(p) for p in powers))
    for stage, count in enumerate(positions):
        for position in range(count):
            for others in (0, -1, None):
                found = [0.0]
                for power, place in zip(demand.powers_kw, rules.places.tolist(), strict=True):
                    ends = [0 if others == 0 else positions[t] - 1 for t in range(stage)]
                    if place[stage] == position and (others is None or place[:stage] == ends):
                        found.append(power)
                assert demand.of(rules, Link(stage, tuple(range(stage)), 0.0), position, others) == max(found)


@pytest.mark.parametrize("positions", [(1,), (3,), (5,), (2, 3)])
def test_a_speed_is_asked_for_the_least_power_of_all_places_it_may_have(positions: tuple[int, ...]) -> None:
    """Within the miss and twice the unevenness of its place, at many speeds tried one by one."""
    rng = np.random.default_rng(7)
    for _ in range(6):
        edges = np.exp(np.sort(rng.uniform(5.8, 7.7, 4)))
        bands = tuple(
            BandTarget(name=f"{k}", low_rpm=low, high_rpm=high, power_kw=float(rng.uniform(0.2, 1)), least_grip=1.0)
            for k, (low, high) in enumerate(zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True))
        )
        problem = machine(bands=bands, power_kw=float(rng.uniform(0.2, 1)))
        caps = (float(rng.uniform(0.02, 0.2)), float(rng.uniform(0.02, 0.1)))
        rules = made_up_rules(positions, caps=caps)
        demand = demand_of(problem, rules)
        assert demand is not None
        count = rules.speeds
        for k, power in enumerate(demand.powers_kw):
            middle = rules.low + k * (rules.high - rules.low) / (count - 1) if count > 1 else 6.75
            away = caps[0] + 2 * caps[1]
            tried = np.linspace(middle - away, middle + away, 400)
            assert power == min(least_power_kw(problem.targets, exp(place)) for place in tried)
    wide = made_up_rules(caps=(inf, 0.1))
    assert demand_of(machine(), wide) == Demand((0.36,) * 6)


def designs(seed: int, count: int) -> tuple[Ints, Ints]:
    """Return rows of pairs of so many designs, the slower pair first; nothing else of them is looked at."""
    rng = np.random.default_rng(seed)
    rows = []
    for stage in READY.carrying.stages:
        chosen = rng.integers(0, len(stage.pairs), (count, 2))
        order = np.argsort(stage.pairs.log_ratio[chosen], axis=1)
        rows.append(np.take_along_axis(chosen, order, axis=1))
    return rows[0], rows[1]


def asked_of(problem: Problem, rows: list[list[int]]) -> list[tuple[int, int, float, float]]:
    """Return stage, position, driver's speed and power of every belt at every speed of a design."""
    carrying, found = READY.carrying, []
    for place in problem.layout.places:
        logs = [float(st.pairs.log_ratio[r[p]]) for st, r, p in zip(carrying.stages, rows, place, strict=True)]
        power = least_power_kw(problem.targets, exp(carrying.rules.base + sum(logs)))
        for s, p in enumerate(place):
            found.append((s, p, carrying.entering[s] + sum(logs[:s]), power))
    return found


def test_designs_hold_where_every_belt_carries_at_every_speed() -> None:
    """Of designs at random, those hold whose pairs carry at their best what each speed asks."""
    one, other = designs(11, 30)
    targets = READY.problem.targets.model_copy(
        update={"bands": tuple(b.model_copy(update={"power_kw": b.power_kw / 1.2}) for b in BANDS), "power_kw": 0.6}
    )
    problem = READY.problem.model_copy(update={"targets": targets})
    own = READY.carrying
    found = Carrying(problem, own.rules, own.entering, own.stages).holds((one, other))
    expected = [
        all(
            READY.most_kw(s, rows[s][p], entering) >= power
            for s, p, entering, power in asked_of(problem, [rows[0], rows[1]])
        )
        for rows in zip(one.tolist(), other.tolist(), strict=True)
    ]
    assert found.tolist() == expected
    assert 4 < sum(expected) < 30
    free = READY.problem.model_copy(update={"targets": targets.model_copy(update={"bands": (), "power_kw": 0.0})})
    assert Carrying(free, own.rules, own.entering, own.stages).holds((one, other)).all()


def test_scales_of_a_design_are_those_at_which_all_its_belts_carry() -> None:
    """Just within the scales given every speed's power is carried, just beyond a limit some power is not."""
    one, other = designs(12, 20)
    own = READY.carrying
    rng = np.random.default_rng(12)
    limits = refused = 0
    for rows in zip(one.tolist(), other.tolist(), strict=True):
        free = READY.problem.targets.model_copy(update={"bands": (), "power_kw": 1.0, "least_grip": 1.0})
        bare = READY.problem.model_copy(update={"targets": free})
        weakest = min(READY.most_kw(s, rows[s][p], entering) for s, p, entering, _ in asked_of(bare, list(rows)))
        if weakest <= 0:
            continue
        power = float(weakest * rng.uniform(0.96, 1.01))
        problem = bare.model_copy(update={"targets": free.model_copy(update={"power_kw": power})})
        spans = Carrying(problem, own.rules, own.entering, own.stages).scales([np.array(r) for r in rows])
        asked = asked_of(problem, list(rows))
        if spans is None:
            ends = own.stages[0].pairs.scale_low, own.stages[0].pairs.scale_high
            assert ends[0].size and power > weakest / 1.0006
            refused += 1
            continue
        for s, (lows, highs) in enumerate(spans):
            pairs = own.stages[s].pairs
            for p, (low, high) in enumerate(zip(lows, highs, strict=True)):
                row = rows[s][p]
                ends = pairs.scale_low[row], pairs.scale_high[row]
                own_asked = [(entering, must) for t, q, entering, must in asked if (t, q) == (s, p)]

                def enough(scale: float, s: int = s, row: int = row, asked: Any = own_asked) -> bool:
                    return all(READY.kw(s, row, scale, entering) >= must * (1 - 1e-7) for entering, must in asked)

                least, most = max(low, ends[0]), min(high, ends[1])
                assert enough(float(least)) and enough(float(most))
                fine = 1e-3 * (ends[1] - ends[0])
                assert low == -inf or not enough(float(low - fine))
                assert high == inf or not enough(float(high + fine))
                limits += low > -inf or high < inf
    assert limits > 4 and refused > 1
