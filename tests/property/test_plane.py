"""Laws that gaps and movements across the shafts keep for any places."""

from __future__ import annotations

from math import hypot

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from optimizer.checks.stated import length_at_mm, wraps_deg
from optimizer.geometry.plane import gap_of_cores_mm, slide_to, strands_of, turn_to, turned_about

Floats = NDArray[np.float64]
coordinates = st.floats(-500, 500)
points = st.tuples(coordinates, coordinates).map(np.array)
angles = st.floats(-3, 3)
sizes = st.floats(20, 300)


@st.composite
def cores(draw: st.DrawFn) -> Floats:
    """Return a point, a line, or a box, turned by any angle."""
    kind = draw(st.sampled_from(["point", "line", "box"]))
    at = draw(points)
    if kind == "point":
        return np.asarray(at[None, :])
    if kind == "line":
        return np.stack((at, draw(points)))
    wide, high = draw(st.floats(1, 200)), draw(st.floats(1, 200))
    box = at + np.array([(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])
    return turned_about(box, at, np.float64(draw(angles)))


def samples(core: Floats) -> Floats:
    """Return points of a core: of its inside as well, where it has one."""
    if len(core) == 1:
        return core
    shares = np.linspace(0, 1, 21)
    if len(core) == 2:
        return np.asarray(core[0] + shares[:, None] * (core[1] - core[0]))
    across, up = core[1] - core[0], core[3] - core[0]
    grid = core[0] + shares[:, None, None] * across + shares[None, :, None] * up
    return np.asarray(grid.reshape(-1, 2))


@given(cores(), cores())
def test_no_two_points_are_nearer_than_the_gap(one: Floats, other: Floats) -> None:
    """The gap is the least distance of sampled points, or a little less, as the samples lie some way apart."""
    a, b = samples(one), samples(other)
    least = float(np.hypot(*(a[:, None, :] - b[None, :, :]).transpose(2, 0, 1)).min())
    spacing = sum(float(np.hypot(*(core[1] - core[0]))) / 20 for core in (one, other) if len(core) > 1)
    spacing += sum(float(np.hypot(*(core[3] - core[0]))) / 20 for core in (one, other) if len(core) > 2)
    assert least - spacing - 1e-6 <= float(gap_of_cores_mm(one, other)) <= least + 1e-6


@given(cores(), cores(), points, angles, points)
def test_moving_both_changes_no_gap(one: Floats, other: Floats, pivot: Floats, angle: float, shift: Floats) -> None:
    """A machine turned and shifted as a whole has the same gaps; so has one seen in a mirror."""
    gap = float(gap_of_cores_mm(one, other))
    moved = (turned_about(core, pivot, np.float64(angle)) + shift for core in (one, other))
    assert abs(float(gap_of_cores_mm(*moved)) - gap) < 1e-6
    assert abs(float(gap_of_cores_mm(one * (-1, 1), other * (-1, 1))) - gap) < 1e-6
    assert float(gap_of_cores_mm(other, one)) == gap


@given(points, angles, sizes, sizes, st.floats(0.01, 3), st.booleans())
def test_strands_and_arcs_make_the_belt(
    at: Floats, angle: float, d: float, e: float, more: float, crossed: bool
) -> None:
    """The two straight lengths with the arcs of contact are the belt's exact length, wherever the shafts stand."""
    centre = (d + e) / 2 * (1 + more)
    other = at + centre * np.array([np.cos(angle), np.sin(angle)])
    strands = strands_of(at, other, np.array(d), np.array(e), crossed)
    straight = sum(hypot(*(strand[1] - strand[0])) for strand in strands)
    arcs = sum(np.radians(wrap) * size / 2 for wrap, size in zip(wraps_deg(d, e, centre, crossed), (d, e), strict=True))
    assert abs(straight + arcs - length_at_mm(d, e, centre, crossed)) < 1e-6


@given(points, points, angles, st.floats(1, 1500))
def test_a_slide_ends_at_the_distance_asked_for(moved: Floats, other: Floats, angle: float, distance: float) -> None:
    """Where the line comes near enough, the point stands just so far away; where it does not, there is no number."""
    line = np.array([np.cos(angle), np.sin(angle)])
    away = moved - other
    passing = abs(float(away[0] * line[1] - away[1] * line[0]))
    assume(abs(passing - distance) > 1e-3)
    step = float(slide_to(moved, other, line, np.float64(distance)))
    if passing < distance:
        assert abs(float(np.hypot(*(away + step * line))) - distance) < 1e-6
    else:
        assert np.isnan(step)


@given(points, points, points, st.floats(1, 1500))
def test_a_hinge_ends_at_the_distance_asked_for(moved: Floats, other: Floats, pivot: Floats, distance: float) -> None:
    """Where the arms reach, the point stands just so far away; where they do not, there is no number."""
    arms = float(np.hypot(*(moved - pivot))), float(np.hypot(*(other - pivot)))
    assume(min(arms) > 1)
    assume(abs(abs(arms[0] - arms[1]) - distance) > 0.01 and abs(sum(arms) - distance) > 0.01)
    angle = turn_to(moved, other, pivot, np.float64(distance))
    if abs(arms[0] - arms[1]) < distance < sum(arms):
        assert abs(float(np.hypot(*(turned_about(moved, pivot, angle) - other))) - distance) < 1e-5
    else:
        assert np.isnan(angle)
