"""Laws that belt geometry and evenness keep for any sizes."""

from __future__ import annotations

from itertools import combinations
from math import log, pi, sqrt

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from optimizer.geometry.belts import (
    belt_length_mm,
    belt_length_two_term_mm,
    centre_for_length_mm,
    length_gradient,
    small_wrap_deg,
    wrap_deg,
)
from optimizer.geometry.cones import mate_for_ratio_mm, mate_for_step_mm
from optimizer.layouts.orders import orders
from optimizer.series import least_spread, unevenness
from tests.sampled import examples

diameters = st.floats(10, 600)
gaps = st.floats(0.05, 5)
crossings = st.booleans()
factors = st.floats(0.01, 100)


def centre_of(driver: float, driven: float, gap: float) -> float:
    """Return a centre distance at which the two pulleys do not touch."""
    return (driver + driven) / 2 * (1 + gap)


@given(diameters, diameters, gaps, factors, crossings)
def test_scaling_all_lengths_scales_the_belt(d: float, e: float, gap: float, k: float, crossed: bool) -> None:
    """A drive k times as large has a belt k times as long, the same wrap, the same own centre distance times k."""
    c = centre_of(d, e, gap)
    length = belt_length_mm(d, e, c, crossed=crossed)
    assert belt_length_mm(k * d, k * e, k * c, crossed=crossed) == pytest.approx(k * length, rel=1e-12)
    assert wrap_deg(k * d, k * e, k * c, crossed=crossed) == pytest.approx(wrap_deg(d, e, c, crossed=crossed), rel=1e-9)
    assert centre_for_length_mm(k * d, k * e, k * length, crossed=crossed) == pytest.approx(k * c, rel=1e-10)


@given(diameters, diameters, gaps, crossings)
def test_swapping_driver_and_driven_changes_only_sides(d: float, e: float, gap: float, crossed: bool) -> None:
    """The belt and its centre distance stay, wraps and partial derivatives change places."""
    c = centre_of(d, e, gap)
    assert belt_length_mm(e, d, c, crossed=crossed) == pytest.approx(belt_length_mm(d, e, c, crossed=crossed))
    assert wrap_deg(e, d, c, crossed=crossed) == pytest.approx(wrap_deg(d, e, c, crossed=crossed)[::-1])
    one, other = length_gradient(d, e, c, crossed=crossed), length_gradient(e, d, c, crossed=crossed)
    assert (other[1], other[0], other[2]) == pytest.approx(one)


@given(diameters, diameters, gaps, st.floats(-8, 40))
def test_the_same_offset_on_both_lengthens_every_open_belt_alike(d: float, e: float, gap: float, t: float) -> None:
    """Adding t to both diameters adds exactly π·t, whatever they are, so one belt still fits all (open belt)."""
    c = centre_of(d, e, gap)
    assert belt_length_mm(d + t, e + t, c) - belt_length_mm(d, e, c) == pytest.approx(pi * t, abs=1e-9)


@given(st.lists(st.tuples(st.floats(80, 300), st.floats(-0.9, 0.9)), min_size=2, max_size=5), st.floats(0, 20))
def test_one_belt_still_fits_all_on_another_line(steps: list[tuple[float, float]], t: float) -> None:
    """Pairs made for one belt on datum diameters take one belt on pitch diameters, at the same centre distance."""
    c = 700.0
    first = steps[0][0]
    length = belt_length_mm(first, first, c)
    pairs = [mate_for_ratio_mm(2.0**share, length, c) for _, share in steps]
    lengths = [belt_length_mm(float(d) + t, float(e) + t, c) for d, e in pairs]
    assert lengths == pytest.approx([length + pi * t] * len(lengths), rel=1e-12)


@given(diameters, diameters, gaps, crossings)
def test_the_centre_distance_inverts_the_length(d: float, e: float, gap: float, crossed: bool) -> None:
    """The centre distance of the belt that fits at C is C, within 1e-12 of it."""
    c = centre_of(d, e, gap)
    found = centre_for_length_mm(d, e, belt_length_mm(d, e, c, crossed=crossed), crossed=crossed)
    assert found == pytest.approx(c, rel=1e-12)


@given(diameters, diameters, st.floats(1e-9, 0.05))
def test_the_length_is_met_even_where_the_belt_hardly_leaves_the_larger_pulley(d: float, e: float, gap: float) -> None:
    """Near the least centre distance the length that was asked for is still met."""
    assume(abs(d - e) > 1)
    length = pi * max(d, e) * (1 + gap)
    centre = centre_for_length_mm(d, e, length)
    assert belt_length_mm(d, e, centre) == pytest.approx(length, rel=1e-12)


@given(diameters, diameters, st.floats(0.01, 0.999), crossings)
def test_a_belt_too_short_has_no_centre_distance(d: float, e: float, share: float, crossed: bool) -> None:
    """Open belts below π times the larger diameter, crossed ones below π times the sum, give no number."""
    least = pi * (d + e) if crossed else pi * max(d, e)
    assert np.isnan(centre_for_length_mm(d, e, share * least, crossed=crossed))


@given(diameters, diameters, gaps, crossings)
def test_the_gradient_agrees_with_finite_differences(d: float, e: float, gap: float, crossed: bool) -> None:
    """Each partial derivative equals the central difference over 2e-4 of the size."""
    c = centre_of(d, e, gap)
    point = np.array([d, e, c])
    for axis, partial in enumerate(length_gradient(d, e, c, crossed=crossed)):
        step = np.zeros(3)
        step[axis] = 1e-4 * min(point)
        up, down = (belt_length_mm(*map(float, point + sign * step), crossed=crossed) for sign in (1, -1))
        assert partial == pytest.approx((up - down) / (2 * step[axis]), abs=1e-5)


@given(diameters, diameters, gaps, st.floats(0, 200))
def test_a_crossed_belt_asks_only_for_the_sum(d: float, e: float, gap: float, t: float) -> None:
    """Taking t from one pulley and giving it to the other leaves a crossed belt as long as it was."""
    assume(d - t > 1)
    c = centre_of(d, e, gap)
    moved = belt_length_mm(d - t, e + t, c, crossed=True)
    assert moved == pytest.approx(belt_length_mm(d, e, c, crossed=True), rel=1e-12)


@given(diameters, diameters, gaps, crossings)
def test_both_wraps_and_the_free_spans_make_up_the_belt(d: float, e: float, gap: float, crossed: bool) -> None:
    """The belt is both arcs of contact with twice the length of the common tangent."""
    c = centre_of(d, e, gap)
    offset = (d + e if crossed else d - e) / 2
    one, other = (np.radians(arc) for arc in wrap_deg(d, e, c, crossed=crossed))
    spans = 2 * sqrt(c**2 - offset**2)
    assert d / 2 * one + e / 2 * other + spans == pytest.approx(belt_length_mm(d, e, c, crossed=crossed), rel=1e-12)
    assert small_wrap_deg(d, e, c, crossed=crossed) == pytest.approx(np.degrees(min(one, other)))


@given(diameters, diameters, gaps, crossings)
def test_belts_grow_with_every_size(d: float, e: float, gap: float, crossed: bool) -> None:
    """A larger pulley, or a larger centre distance, needs a longer belt."""
    c = centre_of(d, e, gap)
    assert all(partial > 0 for partial in length_gradient(d, e, c, crossed=crossed))


@given(diameters, diameters, gaps)
def test_the_two_term_length_is_never_too_long_for_an_open_belt(d: float, e: float, gap: float) -> None:
    """The terms left out of the series are all positive."""
    c = centre_of(d, e, gap)
    assert belt_length_two_term_mm(d, e, c) <= belt_length_mm(d, e, c) * (1 + 1e-12)


@given(diameters, diameters, gaps, crossings)
def test_mates_return_the_pair_they_were_made_from(d: float, e: float, gap: float, crossed: bool) -> None:
    """A pair is found again from its belt with one step of it, and from its belt with its ratio."""
    c = centre_of(d, e, gap)
    length = belt_length_mm(d, e, c, crossed=crossed)
    assert float(mate_for_step_mm(d, length, c, crossed)) == pytest.approx(e, rel=1e-9)
    again = mate_for_ratio_mm(d / e, length, c, crossed)
    assert [float(size) for size in again] == pytest.approx([d, e], rel=1e-9)


@given(st.lists(st.tuples(diameters, diameters, gaps), min_size=1, max_size=20), crossings)
def test_arrays_give_what_single_numbers_give(rows: list[tuple[float, float, float]], crossed: bool) -> None:
    """Whole arrays are solved to the same values as their elements one by one."""
    d, e, c = np.array([(d, e, centre_of(d, e, gap)) for d, e, gap in rows]).T
    lengths = belt_length_mm(d, e, c, crossed=crossed)
    centres = centre_for_length_mm(d, e, lengths, crossed=crossed)
    single = [centre_for_length_mm(*map(float, row), crossed=crossed) for row in zip(d, e, lengths, strict=True)]
    assert centres.tolist() == single


log_series = st.lists(st.floats(0, 2), min_size=1, max_size=12).map(lambda steps: np.log(100) + np.cumsum(steps))


@settings(max_examples=examples(60), deadline=None)
@given(log_series)
def test_unevenness_is_the_minimax_of_a_linear_program(logs: np.ndarray) -> None:
    """The fit agrees with scipy's linear program over first term, ratio and greatest distance."""
    count = len(logs)
    assume(count > 2)
    places = np.arange(count)
    above = np.column_stack([-np.ones(count), -places, -np.ones(count)])
    below = np.column_stack([np.ones(count), places, -np.ones(count)])
    program = linprog(
        [0, 0, 1],
        A_ub=np.vstack([above, below]),
        b_ub=np.concatenate([-logs, logs]),
        bounds=[(None, None), (0, None), (0, None)],
    )
    assert program.status == 0, program.message
    fit = unevenness(logs)
    assert fit.delta == pytest.approx(program.fun, abs=1e-8)
    reached = np.abs(logs - fit.start - places * fit.log_ratio).max()
    assert reached == pytest.approx(fit.delta, abs=1e-12)


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(1, 4), st.integers(2, 4), st.data())
def test_the_unevenness_of_a_chain_is_half_the_sum_of_its_stages_spreads(
    coarse: int, fine: int, data: st.DataObject
) -> None:
    """What the search adds up stage by stage is the unevenness of the speeds, for every order of the series."""
    layout = data.draw(st.sampled_from(orders((coarse, fine))))
    parts = [data.draw(st.lists(st.floats(-1, 1), min_size=len(o), max_size=len(o))) for o in layout.offsets]
    speeds = [sum(part[p] for part, p in zip(parts, place, strict=True)) for place in layout.places]
    assume(layout.speeds > 2)
    rows = [np.array([part]) for part in parts]
    spread, _ = least_spread(rows, [np.array(o, dtype=float) for o in layout.offsets])
    assert float(spread[0]) / 2 == pytest.approx(unevenness(speeds).delta, abs=1e-9)


@given(log_series, st.floats(-3, 3), st.floats(0, 1))
def test_a_geometric_series_added_leaves_the_unevenness(logs: np.ndarray, start: float, step: float) -> None:
    """Another motor speed, or a greater ratio throughout, changes the fitted series and nothing else."""
    fit = unevenness(logs)
    moved = unevenness(logs + start + step * np.arange(len(logs)))
    assert moved.delta == pytest.approx(fit.delta, abs=1e-12)


@given(log_series)
def test_unevenness_is_half_the_greatest_deviation_from_a_chord(logs: np.ndarray) -> None:
    """Over all triples, half of how far the middle one lies off the chord of the outer two."""
    chords = [
        abs(logs[j] - logs[i] - (logs[k] - logs[i]) * (j - i) / (k - i)) / 2
        for i, j, k in combinations(range(len(logs)), 3)
    ]
    assert unevenness(logs).delta == pytest.approx(max(chords, default=0.0), abs=1e-12)


@given(st.floats(1, 5000), st.floats(1.0001, 10))
def test_one_or_two_speeds_are_even(first: float, ratio: float) -> None:
    """The unevenness of one speed and of any two is exactly 0."""
    assert unevenness([log(first)]).delta == 0.0
    assert unevenness([log(first), log(first * ratio)]).delta == 0.0
