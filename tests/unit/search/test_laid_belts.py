"""Pairs that take a belt, against one number at a time: which fit, over which scales, with which limits of speed."""

from __future__ import annotations

from itertools import product
from math import inf, log, pi
from typing import NamedTuple

import numpy as np
import pytest
from scipy.optimize import brentq

from optimizer.records import BeltChoice, SideSizes, StageProblem
from optimizer.search.pairs import READY, TURNED, _Laid, _near, _scale_at, lay_belts
from tests.oracle.plain import belt_mm, centre_mm, small_wrap_deg


class Fit(NamedTuple):
    """A pair on a belt: its sizes, the span of its scales, the centre distances there."""

    belt: int
    driver_mm: float
    driven_mm: float
    low: float
    high: float
    near_mm: float
    far_mm: float


def a_stage(**changes: object) -> StageProblem:
    """Return a stage of turned cones over a coarse grid, two belts, all limits set."""
    sides = {
        name: SideSizes(
            key=f"stage[0].{name}",
            turned_mm=(low, 201.0),
            listed_mm=tuple(map(float, range(74, 201, 26))),
            grid_mm=grid,
            outside_shift_mm=shift,
            truing_mm=4.0,
            width_mm=30.0,
            discs_mm=(100.0, 140.0),
            rim_speed_m_s=rim,
        )
        for name, low, grid, shift, rim in (("driver", 71.0, 20.0, 6.6, 25.0), ("driven", 66.0, 12.0, 3.0, 21.0))
    }
    belts = tuple(
        BeltChoice(section="A", marking=f"A {length:g}", length_mm=length, window_mm=window)
        for length, window in ((1100.0, 3.0), (1030.0, 4.0))
    )
    stage = StageProblem(
        key="stage[0]",
        driver=sides["driver"],
        driven=sides["driven"],
        belts=belts,
        centre_mm=(309.0, 344.0),
        slip=0.02,
        least_wrap_deg=165.0,
        clearance_mm=160.0,
        belt_speed_m_s=12.0,
        driven_rpm=2500.0,
    )
    return stage.model_copy(update=changes)


def fits_at(stage: StageProblem, a: float, b: float, length_mm: float) -> float | None:
    """Return the centre distance of two sizes where a belt of a length fits them within the limits."""
    centre = centre_mm(a, b, length_mm, crossed=stage.crossed)
    if centre is None:
        return None
    inside = stage.centre_mm[0] - 1e-9 <= centre <= stage.centre_mm[1] + 1e-9
    clear = (a + b) / 2 + stage.clearance_mm <= centre + 1e-9
    wrapped = stage.crossed or small_wrap_deg(a, b, centre) >= stage.least_wrap_deg - 1e-9
    return centre if inside and clear and wrapped else None


def plain_span(stage: StageProblem, a: float, b: float, low: float, high: float, length_mm: float) -> Fit | None:
    """Return the scales at which sizes fit: a grid of them, its ends drawn on to where a limit is just met."""

    def short_of(scale: float) -> float:
        """Return by how much the nearest limit is kept, negative where one is broken."""
        centre = centre_mm(a * scale, b * scale, length_mm, crossed=stage.crossed)
        if centre is None:
            return -1.0
        kept = [
            centre - stage.centre_mm[0],
            stage.centre_mm[1] - centre,
            centre - (a + b) / 2 * scale - stage.clearance_mm,
        ]
        if not stage.crossed:
            kept.append(small_wrap_deg(a * scale, b * scale, centre) - stage.least_wrap_deg)
        return min(kept)

    scales = np.linspace(low, high, 6)
    kept = [n for n, scale in enumerate(scales) if short_of(float(scale)) >= 0]
    if not kept:
        return None
    ends = []
    for end, beyond in ((kept[0], kept[0] - 1), (kept[-1], kept[-1] + 1)):
        outside = 0 <= beyond < scales.size
        ends.append(float(brentq(short_of, scales[beyond], scales[end], xtol=1e-13) if outside else scales[end]))
    far, near = (centre_mm(a * s, b * s, length_mm, crossed=stage.crossed) or 0.0 for s in ends)
    return Fit(0, a, b, ends[0], ends[1], near, far)


def plain_rays(stage: StageProblem) -> dict[tuple[int, float, float], Fit]:
    """Return every pair of listed sizes that fits a belt at some scale of its ray."""
    found = {}
    for number, belt in enumerate(stage.belts):
        for a, b in product(stage.driver.listed_mm, stage.driven.listed_mm):
            grid = stage.driver.grid_mm if a >= b else stage.driven.grid_mm
            reach = grid / 2 / max(a, b)
            low, high = 1 - reach, 1 + reach
            for side, size in ((stage.driver, a), (stage.driven, b)):
                least, most = side.turned_mm or (0.0, inf)
                low, high = max(low, least / size), min(high, most / size)
            span = plain_span(stage, a, b, low, high, belt.length_mm) if low <= high else None
            if span:
                found[number, a, b] = span._replace(belt=number)
    return found


WIDE = {"clearance_mm": 0.0, "least_wrap_deg": 0.0}
CASES: list[dict[str, object]] = [
    {},
    {**WIDE, "centre_mm": (309.0, 340.0)},
    {**WIDE, "centre_mm": (200.0, 700.0), "clearance_mm": 175.0},
    {**WIDE, "centre_mm": (200.0, 700.0), "least_wrap_deg": 168.0},
    {"crossed": True, "centre_mm": (255.0, 300.0), "clearance_mm": 130.0},
    {**WIDE, "crossed": True, "centre_mm": (240.0, 280.0)},
    # shafts allowed nearer than crossed pulleys can stand: a length at which they touch may be no number by rounding
    {"crossed": True, "centre_mm": (60.0, 700.0), "clearance_mm": 10.0},
    # the arc on a crossed belt is never less than half the rim
    {"crossed": True, "centre_mm": (240.0, 280.0), "clearance_mm": 10.0, "least_wrap_deg": 179.0},
]


@pytest.mark.parametrize("change", CASES)
def test_rays_fit_over_just_the_scales_that_keep_the_limits(change: dict[str, object]) -> None:
    """Of every ray the same scales keep centre, rim and wrap limits as by halving, one scale after another."""
    stage = a_stage(**change)
    pairs = lay_belts(stage, positions=3)
    expected = plain_rays(stage)
    keys = list(zip(pairs.belt.tolist(), pairs.driver_mm.tolist(), pairs.driven_mm.tolist(), strict=True))
    assert len(set(keys)) == len(keys) and pairs.belt.tolist() == sorted(pairs.belt.tolist())
    assert len(expected) > 10
    # a ray of which less than a step of the grid of scales fits may stand here and not there
    widths = dict(zip(keys, (pairs.scale_high - pairs.scale_low).tolist(), strict=True))
    assert all(widths[key] < 0.05 for key in set(keys) - set(expected))
    assert not set(expected) - set(keys)
    for n, key in enumerate(keys):
        if key in expected:
            fit = expected[key]
            told = (pairs.scale_low[n], pairs.scale_high[n])
            assert told == pytest.approx((fit.low, fit.high), abs=1e-9)
            assert (pairs.centre_low[n], pairs.centre_high[n]) == pytest.approx((fit.near_mm, fit.far_mm), abs=1e-3)
    assert np.all(pairs.window_mm == np.array([3.0, 4.0])[pairs.belt])


def ready(stage: StageProblem) -> StageProblem:
    """Return a stage whose listed sizes are ready pulleys."""
    change = {"turned_mm": None, "listed_mm": (), "ready_mm": tuple(map(float, range(70, 201, 14)))}
    sides = {name: getattr(stage, name).model_copy(update=change) for name in ("driver", "driven")}
    return stage.model_copy(update=sides)


@pytest.mark.parametrize("change", CASES)
def test_ready_pulleys_fit_where_all_limits_are_kept(change: dict[str, object]) -> None:
    """The pairs of two ready pulleys are those that fit a belt by themselves, at their own centre distance."""
    stage = ready(a_stage(**change))
    pairs = lay_belts(stage, positions=3)
    expected = {
        (number, a, b): centre
        for number, belt in enumerate(stage.belts)
        for a, b in product(stage.driver.ready_mm, stage.driven.ready_mm)
        if (centre := fits_at(stage, a, b, belt.length_mm)) is not None
    }
    keys = zip(pairs.belt.tolist(), pairs.driver_mm.tolist(), pairs.driven_mm.tolist(), strict=True)
    assert dict(zip(keys, pairs.centre_low.tolist(), strict=True)) == pytest.approx(expected)
    assert np.all(pairs.centre_low == pairs.centre_high)
    assert np.all(pairs.scale_low == 1) and np.all(pairs.scale_high == 1)
    assert not pairs.disc_mm.any() and not pairs.timber_mm3.any()
    assert set(pairs.driver_source) == set(pairs.driven_source) == {READY}


def test_a_limit_just_met_is_kept() -> None:
    """Two pulleys of 100 mm on a belt of 1000 mm stand at (1000 - 100·pi)/2; limits of just that leave them."""
    centre = (1000 - 100 * pi) / 2
    belt = BeltChoice(section="A", marking="A", length_mm=1000.0, window_mm=1.0)
    side = SideSizes(key="stage[0].driver", ready_mm=(100.0,))
    stage = a_stage(driver=side, driven=side, belts=(belt,), **WIDE)
    for hair, count in ((0.0, 1), (5e-10, 1), (1e-6, 0)):
        for change in (
            {"centre_mm": (centre + hair, 900.0)},
            {"centre_mm": (100.0, centre - hair)},
            {"centre_mm": (100.0, 900.0), "clearance_mm": centre - 100 + hair},
        ):
            assert len(lay_belts(stage.model_copy(update=change), positions=1)) == count


@pytest.mark.parametrize(
    "change", [{}, {"driven_rpm": inf}, {"belt_speed_m_s": inf}, {"belt_speed_m_s": inf, "driven_rpm": inf}]
)
def test_limits_of_speed_are_told_of_every_pair(change: dict[str, object]) -> None:
    """The driver at v/(pi·d) of belt and rim at most, the driven at its rim's, and at the shaft's over the ratio."""
    stage = a_stage(**change)
    pairs = lay_belts(stage, positions=3)
    assert len(pairs) > 10
    for n in range(len(pairs)):
        a, b = float(pairs.driver_mm[n]), float(pairs.driven_mm[n])
        ratio = a / b * 0.98
        limits = [25 * 60_000 / pi / (a + 6.6), stage.belt_speed_m_s * 60_000 / pi / a, stage.driven_rpm / ratio]
        assert pairs.log_ratio[n] == pytest.approx(log(ratio))
        assert pairs.entering[n] == pytest.approx(log(min(limits)))
        assert pairs.leaving[n] == pytest.approx(log(21 * 60_000 / pi / (b + 3)))


def test_without_limits_of_speed_there_is_none() -> None:
    """No limit of belt, rims or shaft: any speed will do."""
    stage = a_stage(belt_speed_m_s=inf, driven_rpm=inf)
    sides = {name: getattr(stage, name).model_copy(update={"rim_speed_m_s": inf}) for name in ("driver", "driven")}
    pairs = lay_belts(stage.model_copy(update=sides), positions=3)
    assert len(pairs) and np.all(pairs.entering == inf) and np.all(pairs.leaving == inf)


def test_turned_sizes_are_cut_from_discs() -> None:
    """From the smallest of the discs that is enough with rim and truing, or one of just its size; two are ready."""
    stage = a_stage()
    driven = stage.driven.model_copy(update={"turned_mm": None, "ready_mm": (93.0, 133.0), "listed_mm": ()})
    for own in (stage, stage.model_copy(update={"driven": driven})):
        pairs = lay_belts(own.model_copy(update={**WIDE, "centre_mm": (200.0, 600.0)}), positions=3)
        seen = set()
        for n in range(len(pairs)):
            discs = []
            for size, source, shift in (
                (pairs.driver_mm[n], pairs.driver_source[n], 6.6),
                (pairs.driven_mm[n], pairs.driven_source[n], 3.0),
            ):
                if source == TURNED:
                    needed = float(size) + shift + 4
                    discs.append(next((disc for disc in (100.0, 140.0) if disc >= needed - 1e-9), needed))
            seen |= {*discs}
            assert pairs.disc_mm[n] == pytest.approx(max(discs))
            assert pairs.timber_mm3[n] == pytest.approx(sum(pi / 4 * disc**2 * 30 for disc in discs))
        assert {100.0, 140.0} < seen
    exact = stage.driver.model_copy(update={"listed_mm": (89.4,), "turned_mm": (60.0, 220.0)})
    pairs = lay_belts(stage.model_copy(update={"driver": exact, **WIDE, "centre_mm": (200.0, 600.0)}), positions=3)
    # 89.4 + 6.6 + 4 = 100: just the smaller disc; facing 70 mm, 70 + 3 + 4 < 100
    assert pairs.disc_mm[pairs.driven_mm == 70.0] == pytest.approx(100.0)


def test_rays_are_cut_at_what_scarce_discs_give() -> None:
    """A ray past what a disc gives stands there whole and once more up to that, for every disc and side."""
    plain = a_stage(**WIDE, centre_mm=(200.0, 600.0))
    scarce = {
        name: getattr(plain, name).model_copy(update={"scarce_above_mm": 0.0, "discs_mm": discs})
        for name, discs in (("driver", (100.0, 102.0, 140.0)), ("driven", (90.0, 141.0)))
    }
    whole = lay_belts(plain, positions=3)
    for sides in (("driver", "driven"), ("driver",), ("driven",), ()):
        cut = lay_belts(plain.model_copy(update={name: scarce[name] for name in sides}), positions=3)
        expected = set()
        for n in range(len(whole)):
            a, b = float(whole.driver_mm[n]), float(whole.driven_mm[n])
            low, high = float(whole.scale_low[n]), float(whole.scale_high[n])
            caps = [high]
            if "driver" in sides:
                caps += [(disc - 10.6) / a for disc in (100.0, 102.0, 140.0)]
            if "driven" in sides:
                caps += [(disc - 7.0) / b for disc in (90.0, 141.0)]
            expected |= {(int(whole.belt[n]), a, b, round(cap, 9)) for cap in caps if low < cap <= high}
        rows = zip(
            cut.belt.tolist(), cut.driver_mm.tolist(), cut.driven_mm.tolist(), cut.scale_high.tolist(), strict=True
        )
        assert {(belt, a, b, round(high, 9)) for belt, a, b, high in rows} == expected
        assert len(cut) > len(whole) or not sides


@pytest.mark.parametrize("crossed", [False, True])
def test_what_is_too_long_or_too_short_everywhere_is_not_near(crossed: bool) -> None:
    """A ray can be near just where the length lies between those at its ends: the closest small, the widest large."""
    rng = np.random.default_rng(9)
    stage = a_stage(crossed=crossed, centre_mm=(60.0, 120.0))
    a, b = rng.uniform(20, 200, 400), rng.uniform(20, 200, 400)
    low, high = rng.uniform(0.85, 0.99, 400), rng.uniform(1.0, 1.2, 400)
    length = rng.uniform(250, 900, 400)
    told = _near(stage, _Laid(a, b, length, low, high))
    for n in range(400):
        ends, bound = [], False
        for scale, centre in ((low[n], 60.0), (high[n], 120.0)):
            one, other = float(a[n] * scale), float(b[n] * scale)
            apart = (one + other) / 2 if crossed else abs(one - other) / 2
            bound |= apart >= centre
            # drawn round the larger pulley alone, or crossed with the rims touching, where the shafts are no nearer
            ends.append(belt_mm(one, other, max(centre, apart), crossed=crossed))
        near = bool(ends[0] <= length[n] <= ends[1])
        assert bool(told[n]) is near or (told[n] and bound)
    assert 50 < told.sum() < 350


@pytest.mark.parametrize("crossed", [False, True])
def test_scales_of_belts_are_found_each_for_itself(crossed: bool) -> None:
    """At 300 mm, or at half the sizes and 120 mm: the scale belts were cut for, be it the first guess or far off."""
    stage = a_stage(crossed=crossed)
    a, b = np.array([100.0, 100.0, 150.0, 80.0]), np.array([160.0, 160.0, 90.0, 80.0])
    scales = np.array([1.0, 1.2, 0.8, 0.97])
    for slope, fixed in ((np.zeros(4), 300.0), ((a + b) / 2, 120.0)):
        lengths = [
            belt_mm(float(x * s), float(y * s), float(m * s + fixed), crossed=crossed)
            for x, y, s, m in zip(a, b, scales, slope, strict=True)
        ]
        pairs = _Laid(a, b, np.array(lengths), np.full(4, 0.5), np.full(4, 1.5))
        assert _scale_at(stage, pairs, (slope, fixed)) == pytest.approx(scales, abs=1e-10)


@pytest.mark.parametrize("together", [1, 400, 10**6])
def test_blocks_make_no_difference(together: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Belts laid one at a time, a few, or all at once give the same pairs in the same order."""
    stage = a_stage()
    whole = vars(lay_belts(stage, positions=3))
    monkeypatch.setattr("optimizer.search.pairs.BLOCK", together)
    for name, column in vars(lay_belts(stage, positions=3)).items():
        # when the last step is short enough is told of all that are laid together
        assert np.allclose(column, whole[name], rtol=0, atol=1e-9), name
        assert column.dtype == whole[name].dtype


def test_no_belt_gives_columns_of_the_same_kinds() -> None:
    """Without belts every column is empty and of the kind that it has with some."""
    some, none = vars(lay_belts(a_stage(), positions=3)), vars(lay_belts(a_stage(belts=()), positions=3))
    assert {name: column.dtype for name, column in some.items()} == {n: column.dtype for n, column in none.items()}


def test_rows_are_taken_of_every_column() -> None:
    """The third, first and third row; a reordering gives the old columns up."""
    pairs = lay_belts(a_stage(), positions=3)
    before = dict(vars(pairs))
    taken = vars(pairs.take(np.array([2, 0, 2])))
    order = np.arange(len(pairs))[::-1]
    turned = vars(pairs.reordered(order))
    assert not vars(pairs)
    for name, column in before.items():
        assert np.array_equal(taken[name], column[[2, 0, 2]])
        assert np.array_equal(turned[name], column[::-1])
