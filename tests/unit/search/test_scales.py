"""Scales of trimmed rays against a linear program, and against plain arithmetic where each step stands for itself."""

from __future__ import annotations

from math import log, pi

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq, linprog

from optimizer.records import BeltChoice, SideSizes, StageProblem
from optimizer.search.pairs import StagePairs, lay_belts
from optimizer.search.trim import _chain, _scales, _Span, trimmed
from tests.oracle.plain import belt_mm, centre_mm

Floats = NDArray[np.float64]


def a_stage(*, cones: tuple[bool, bool] = (True, True), rise_mm: float = 2.0, **changes: object) -> StageProblem:
    """Return a stage of turned sizes, a grid of 10 mm apart."""
    sides = [
        SideSizes(
            key=f"stage[0].{name}",
            turned_mm=(60.0, 220.0),
            listed_mm=tuple(map(float, range(60, 221, 10))),
            grid_mm=10.0,
            cone=cone,
            rise_mm=rise_mm,
            outside_shift_mm=6.0,
        )
        for name, cone in zip(("driver", "driven"), cones, strict=True)
    ]
    belt = BeltChoice(section="A", marking="A", length_mm=1100.0, window_mm=3.0)
    stage = StageProblem(
        key="stage[0]", driver=sides[0], driven=sides[1], belts=(belt,), centre_mm=(200.0, 450.0), clearance_mm=5.0
    )
    return stage.model_copy(update=changes)


def plain_chain(span: _Span, low: Floats, high: Floats) -> Floats | None:
    """Return the scales nearest to 1, last position first, by a linear program for every end of what is left."""
    matrix, most = [], []
    sides = ((span.stage.driver, span.driver_mm, 1), (span.stage.driven, span.driven_mm, -1))
    for side, sizes, sign in sides:
        for i in range(1, low.size if side.cone else 0):
            row = np.zeros(low.size)
            row[i - 1], row[i] = sign * sizes[i - 1], -sign * sizes[i]
            equal = sizes[i] == sizes[i - 1]
            matrix += [row, -row] if equal else [row]
            most += [0.0, 0.0] if equal else [-side.rise_mm]
    bounds = [(float(a), float(b)) for a, b in zip(low, high, strict=True)]
    for i in reversed(range(low.size)):
        ends = []
        for sign in (1, -1):
            goal = np.zeros(low.size)
            goal[i] = sign
            told = linprog(goal, A_ub=np.array(matrix) if matrix else None, b_ub=most or None, bounds=bounds)
            if told.status != 0:
                return None
            ends.append(sign * float(told.fun or 0.0))
        at = min(max(1.0, ends[0]), ends[1])
        bounds[i] = (at, at)
    return np.array([at for at, _ in bounds])


def test_scales_of_cones_are_the_nearest_to_the_listed_sizes() -> None:
    """From the last position back each scale is as near to 1 as cones and spans leave it, or there is none at all."""
    rng = np.random.default_rng(5)
    solved = 0
    for case in range(20):
        count = int(rng.integers(2, 4))
        cones = ((True, True), (True, False), (False, True))[case % 3]
        rise = float(rng.choice([0.0, 8.0, 13.0]))
        a = 80 + np.cumsum(rng.choice([0.0, 10.0, 12.0], count))
        b = 180 - np.cumsum(rng.choice([0.0, 10.0, 12.0], count))
        middle = rng.uniform(0.98, 1.02, count)
        low, high = middle - rng.uniform(0, 0.03, count), middle + rng.uniform(0, 0.03, count)
        span = _Span(a_stage(cones=cones, rise_mm=rise), 1100.0, 3.0, a, b, low, high)
        found, expected = _chain(span, low, high), plain_chain(span, low, high)
        assert (found is None) == (expected is None)
        if found is not None and expected is not None:
            solved += 1
            assert found == pytest.approx(expected, abs=1e-7)
    assert 5 <= solved <= 15


def test_a_rise_of_just_what_is_asked_is_kept() -> None:
    """Steps of 100, 110 mm at scales of 1 are 10 mm apart: enough for a rise of 10, not for one of 10.001."""
    ones = np.ones(2)
    for a, b in (((100.0, 110.0), (150.0, 150.0)), ((100.0, 100.0), (160.0, 150.0))):
        for rise, there in ((10.0, True), (10.001, False)):
            stage = a_stage(rise_mm=rise)
            span = _Span(stage, 1100.0, 3.0, np.array(a), np.array(b), ones, ones)
            found = _chain(span, ones, ones)
            assert (found is not None) is there


def scale_at(a: float, b: float, centre: float) -> float:
    """Return the scale of two sizes at which the belt is taut at a centre distance."""
    return float(brentq(lambda scale: belt_mm(a * scale, b * scale, centre) - 1100.0, 0.5, 1.5, xtol=1e-13))


def by_itself(
    pairs: StagePairs, rows: NDArray[np.int64], window_mm: float, most: Floats | None = None
) -> list[tuple[float, float]] | None:
    """Return scale and centre distance of each ray, no step tied to another.

    The window is laid evenly about the centre distances nearest to those of the listed sizes, as far as the rays'
    ends let it; each ray then comes as near to its own centre distance as the window leaves it.
    """
    high = pairs.scale_high[rows] if most is None else np.minimum(pairs.scale_high[rows], most)
    if np.any(pairs.scale_low[rows] > high):
        return None
    sizes = list(zip(pairs.driver_mm[rows].tolist(), pairs.driven_mm[rows].tolist(), strict=True))

    def at(n: int, scale: float) -> float:
        a, b = sizes[n]
        return centre_mm(a * scale, b * scale, 1100.0) or -1.0

    count = range(rows.size)
    own = [at(n, float(np.clip(1.0, pairs.scale_low[rows][n], high[n]))) for n in count]
    near, far = [at(n, float(high[n])) for n in count], [at(n, float(pairs.scale_low[rows][n])) for n in count]
    first, last = max(near) - window_mm, min(far)
    if first > last:
        return None
    start = min(max((max(own) + min(own) - window_mm) / 2, first), last)
    centres = [min(max(own[n], start), start + window_mm) for n in count]
    return [(scale_at(*sizes[n], centre), centre) for n, centre in enumerate(centres)]


@pytest.mark.parametrize("seed", range(12))
def test_without_cones_each_ray_comes_as_near_to_its_listed_size_as_the_window_leaves_it(seed: int) -> None:
    """Sizes, centre distances and sources of a trimmed stage whose steps are not tied to each other."""
    rng = np.random.default_rng(seed)
    stage = a_stage(cones=(False, False))
    pairs = lay_belts(stage, positions=3)
    given_up = 0
    for _ in range(8):
        first = int(rng.integers(len(pairs)))
        near = np.flatnonzero(np.abs(pairs.centre_low - pairs.centre_low[first]) < 9)
        rows = rng.choice(near, min(3, near.size), replace=False)
        expected, found = by_itself(pairs, rows, 3.0), trimmed(stage, pairs, rows, 1.0)
        assert (found is None) == (expected is None)
        if found is None or expected is None:
            given_up += 1
            continue
        assert found.belt == stage.belts[0]
        for row, (scale, centre), position in zip(rows, expected, found.positions, strict=True):
            assert position.driver_mm == pytest.approx(pairs.driver_mm[row] * scale, abs=1e-7)
            assert position.driven_mm == pytest.approx(pairs.driven_mm[row] * scale, abs=1e-7)
            assert position.centre_mm == pytest.approx(centre, abs=1e-6)
            assert (position.driver_source, position.driven_source) == ("turned", "turned")
    assert given_up < 8


def test_speed_limits_of_belt_and_rims_bound_the_scales() -> None:
    """A motor of 1000 rpm: belt v/(pi·n·a), driver's rim (v/(pi·n) - 6)/a, driven's rim at the fastest position."""
    plain = a_stage(cones=(False, False))
    pairs = lay_belts(plain, positions=2)
    rows = np.array(
        [
            int(np.flatnonzero((pairs.driver_mm == a) & (pairs.driven_mm == b))[0])
            for a, b in ((120.0, 180.0), (150.0, 150.0))
        ]
    )
    fastest = 1000 * 1.0
    belt = 0.99 * pi * 150 * 1000 / 60_000
    rim = pi * (0.985 * 120 + 6) * 1000 / 60_000
    wheel = pi * (0.98 * 180 + 6) * fastest / 60_000
    for changes, most in (
        ({"belt_speed_m_s": belt}, [0.99 * 150 / 120, 0.99]),
        ({"driver": plain.driver.model_copy(update={"rim_speed_m_s": rim})}, [0.985, 0.985 * 120 / 150]),
        ({"driven": plain.driven.model_copy(update={"rim_speed_m_s": wheel})}, [0.98, 0.98 * 180 / 150]),
    ):
        stage = plain.model_copy(update=changes)
        expected = by_itself(pairs, rows, 3.0, np.array(most))
        found = trimmed(stage, pairs, rows, log(1000.0))
        assert (found is None) == (expected is None)
        if found is not None and expected is not None:
            for row, (scale, _), position in zip(rows, expected, found.positions, strict=True):
                assert position.driver_mm == pytest.approx(pairs.driver_mm[row] * scale, abs=1e-7)


def test_scales_may_be_held_within_others() -> None:
    """Scales asked to lie between 1.001 and 1.002 come out at 1.001, nearest to 1; between 1.1 and 1.2 at none."""
    stage = a_stage(cones=(False, False))
    pairs = lay_belts(stage, positions=1)
    row = np.flatnonzero((pairs.driver_mm == 120.0) & (pairs.driven_mm == 180.0))[:1]
    for low, high, scale in ((1.001, 1.002, 1.001), (0.99, 0.995, 0.995), (0.9, 1.1, 1.0), (1.1, 1.2, None)):
        found = trimmed(stage, pairs, row, 1.0, (np.array([low]), np.array([high])))
        if scale is None:
            assert found is None
        else:
            assert found is not None and found.positions[0].driver_mm == pytest.approx(120 * scale, abs=1e-9)


def test_one_position_without_a_scale_is_enough_for_none() -> None:
    """Of two rays the second may only be larger than it may be: no sizes, though the first has scales."""
    stage = a_stage(cones=(False, False))
    pairs = lay_belts(stage, positions=2)
    row = int(np.flatnonzero((pairs.driver_mm == 120.0) & (pairs.driven_mm == 180.0))[0])
    rows = np.array([row, row])
    assert trimmed(stage, pairs, rows, 1.0, (np.array([0.99, 0.99]), np.array([1.01, 1.01]))) is not None
    assert trimmed(stage, pairs, rows, 1.0, (np.array([0.99, 1.01]), np.array([1.01, 1.0]))) is None
    # nor where the first is held to its listed size
    assert trimmed(stage, pairs, rows, 1.0, (np.array([1.0, 1.01]), np.array([1.0, 1.0]))) is None


def test_a_belt_without_a_window_takes_sizes_at_one_centre_distance() -> None:
    """The same pulleys at two positions need no window; others need one."""
    belt = BeltChoice(section="A", marking="A", length_mm=1100.0, window_mm=0.0)
    change = {"turned_mm": None, "listed_mm": (), "ready_mm": (100.0, 140.0, 160.0)}
    plain = a_stage(cones=(False, False))
    sides = {name: getattr(plain, name).model_copy(update=change) for name in ("driver", "driven")}
    stage = plain.model_copy(update={**sides, "belts": (belt,)})
    pairs = lay_belts(stage, positions=2)
    assert trimmed(stage, pairs, np.array([0, 0]), 1.0) is not None
    assert trimmed(stage, pairs, np.array([0, 1]), 1.0) is None


def test_sizes_as_they_are_keep_their_places_and_sources() -> None:
    """Ready pulleys are not scaled, nor bound by speeds they were chosen within; too far apart there is no belt."""
    ready = {"turned_mm": None, "listed_mm": (), "ready_mm": (100.0, 101.0, 140.0, 160.0)}
    plain = a_stage(cones=(False, False))
    sides = {name: getattr(plain, name).model_copy(update=ready) for name in ("driver", "driven")}
    kept = SideSizes(key="stage[0].driver", standing_mm=((100.0,), (101.0,)))
    for stage, source in ((a_stage(**sides), "ready"), (a_stage(**{**sides, "driver": kept}), "kept")):
        pairs = lay_belts(stage, positions=2)
        wanted = ((100.0, 160.0, 0), (101.0, 160.0, 1))
        rows = []
        for a, b, place in wanted:
            some = (pairs.driver_mm == a) & (pairs.driven_mm == b) & (pairs.variant == 0)
            rows.append(int(np.flatnonzero(some & ((pairs.place < 0) | (pairs.place == place)))[0]))
        found = trimmed(stage.model_copy(update={"belt_speed_m_s": 0.001}), pairs, np.array(rows), 7.0)
        assert found is not None
        assert [(p.driver_mm, p.driven_mm) for p in found.positions] == [(100.0, 160.0), (101.0, 160.0)]
        assert [p.centre_mm for p in found.positions] == pytest.approx(
            [centre_mm(100, 160, 1100), centre_mm(101, 160, 1100)]
        )
        assert {p.driver_source for p in found.positions} == {source}
        assert {p.driven_source for p in found.positions} == {"ready"}
    pairs = lay_belts(a_stage(**sides), positions=2)
    ends = np.array([int(np.argmin(pairs.centre_low)), int(np.argmax(pairs.centre_low))])
    assert trimmed(a_stage(**sides), pairs, ends, 7.0) is None


def test_another_place_of_the_window_is_tried_where_the_nearest_leaves_no_cone() -> None:
    """Whether scales are found is what the places of the window say that are tried, all 18, one after another."""
    rng = np.random.default_rng(3)
    pairs = lay_belts(a_stage(), positions=3)
    elsewhere = none = 0
    for seed in range(25):
        stage = a_stage(rise_mm=float(rng.choice([8.0, 9.7])))
        a = 80 + 10 * np.cumsum(rng.integers(0, 2, 3)) + 10.0 * (seed % 5)
        b = 200 - 10 * np.cumsum(rng.integers(0, 2, 3)) - 10.0 * (seed % 3)
        rows = [np.flatnonzero((pairs.driver_mm == x) & (pairs.driven_mm == y)) for x, y in zip(a, b, strict=True)]
        if not all(row.size for row in rows):
            continue
        chosen = np.array([int(row[0]) for row in rows])
        low, high = pairs.scale_low[chosen], pairs.scale_high[chosen]
        window = float(rng.choice([0.05, 0.5, 1.5]))
        span = _Span(stage, 1100.0, window, a.astype(float), b.astype(float), low, high)
        near, far = pairs.centre_low[chosen], pairs.centre_high[chosen]
        own = span.centre(np.clip(1.0, low, high))
        first, last = float(near.max()) - window, float(far.min())
        found = _scales(span, None)
        if first > last:
            assert found is None
            continue
        places = np.linspace(first, last, 17)
        middle = min(max((float(own.max()) + float(own.min()) - window) / 2, first), last)
        order = [middle, *sorted(places, key=lambda place: abs(place - (own.max() + own.min() - window) / 2))]
        expected = None
        for tried, place in enumerate(order):
            closest, farthest = np.maximum(near, place), np.minimum(far, place + window)
            if np.any(closest > farthest + 1e-9):
                continue
            ends = [span.scale(centres) for centres in (np.maximum(closest, farthest), closest)]
            expected = _chain(span, np.maximum(ends[0], low), np.minimum(ends[1], high))
            if expected is not None:
                elsewhere += tried > 0
                break
        none += expected is None
        assert (found is None) == (expected is None)
        if found is not None and expected is not None:
            assert found == pytest.approx(expected, abs=1e-6)
    assert elsewhere >= 1 and none >= 1
