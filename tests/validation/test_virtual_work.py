"""A motor on a hinge by the principle of virtual work (J. Bernoulli, 1717; any text on statics, from memory).

No arm is used here: what is expected is computed from lengths alone. The mount is turned a little about its hinge
with its pulley held fast in it, the other pulley held fast in the frame; the work of the weight is that of both
strands' pulls over what each of them would have to grow: ``dW = F1·dl1 + F2·dl2``. A strand's length from a mark on
one pulley to a mark on the other is the straight piece ``sqrt(C² − (R − r)²)`` with the arcs between marks and
tangent points, found with the angle of the line of centres and ``asin((R − r)/C)``.

No worked example of a pivoted motor base was at hand.
"""

from __future__ import annotations

from math import asin, atan2, cos, hypot, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from optimizer.geometry.plane import strands_of
from optimizer.mechanics.hanging import balanced_strands, force_moment_nm, weight_moment_nm

Point = tuple[float, float]


def turned(point: Point, pivot: Point, angle: float) -> Point:
    """Return a point turned about a pivot."""
    x, y = point[0] - pivot[0], point[1] - pivot[1]
    return pivot[0] + x * cos(angle) - y * sin(angle), pivot[1] + x * sin(angle) + y * cos(angle)


def lengths(motor: Point, spindle: Point, radii: Point, turn: float) -> tuple[float, float]:
    """Return the lengths of the strands left and right of the way from motor to spindle, between marks on the pulleys.

    The mark of the motor's pulley faces away from the spindle at first and turns with the mount by `turn`; that of the
    spindle's faces away from the motor as it stands at first, to the right of it along x.
    """
    big, small = radii
    x, y = spindle[0] - motor[0], spindle[1] - motor[1]
    centre, way = hypot(x, y), atan2(y, x)
    lean = asin((big - small) / centre)
    straight = sqrt(centre**2 - (big - small) ** 2)
    left, right = way + pi / 2 - lean, way - pi / 2 + lean
    mark = pi + turn
    return (
        straight + big * (mark - left) + small * left,
        straight + big * (right + 2 * pi - mark) - small * right,
    )


coordinates = st.floats(-150, 150)


@given(
    st.tuples(st.floats(-150, 150), st.floats(-150, 150)),
    st.tuples(coordinates, coordinates),
    st.tuples(st.floats(20, 120), st.floats(20, 120)),
    st.floats(1, 60),
    st.floats(0, 200),
)
def test_the_balance_is_that_of_virtual_work(
    pivot: Point, centre: Point, radii: Point, mass: float, difference: float
) -> None:
    """Both strands' pulls from moments do the weight's work, at rest and under load, whichever strand is tight."""
    motor, spindle, step = (0.0, 0.0), (420.0, 60.0), 1e-4
    ends = [lengths(turned(motor, pivot, turn), spindle, radii, turn) for turn in (-step, step)]
    left, right = ((after - before) / (2 * step) for before, after in zip(*ends, strict=True))
    lifts = (turned(centre, pivot, step)[1] - turned(centre, pivot, -step)[1]) / (2 * step)
    work = -mass * 9.80665 * lifts
    strands = strands_of(np.array(motor), np.array(spindle), 2 * radii[0], 2 * radii[1], False)
    levers = []
    for strand in strands:
        away = strand[1] - strand[0]
        levers.append(float(force_moment_nm(away / np.hypot(*away), strand[0], np.array(pivot))))
    assert levers == pytest.approx([-left / 1000, -right / 1000], abs=1e-6)
    assume(abs(left + right) > 20)
    effort = float(weight_moment_nm(mass, np.array(centre), np.array(pivot)))
    assert effort == pytest.approx(work / 1000, abs=1e-6)
    for tight, slack, grow in ((0, 1, (left, right)), (1, 0, (right, left))):
        pulls = balanced_strands(effort, levers[tight], levers[slack], difference)
        if float(pulls.slack_n) > 0:
            done = float(pulls.tight_n) * grow[0] + float(pulls.slack_n) * grow[1]
            assert done == pytest.approx(work, rel=1e-4, abs=0.05)


def test_at_rest_the_exact_length_of_the_belt_is_enough() -> None:
    """Equal pulls: ``F·dL = dW`` with the length of an open belt; 16 kg, hinge left below, pulleys of 90 and 160 mm."""
    motor, spindle, pivot, centre = (0.0, 0.0), (60.0, 420.0), (-220.0, -40.0), (10.0, -5.0)

    def length(turn: float) -> float:
        at = turned(motor, pivot, turn)
        far, lean = hypot(spindle[0] - at[0], spindle[1] - at[1]), 80.0 - 45.0
        return 2 * sqrt(far**2 - lean**2) + pi * 125.0 + 2 * lean * asin(lean / far)

    step = 1e-4
    grows = (length(step) - length(-step)) / (2 * step)
    work = -16 * 9.80665 * (turned(centre, pivot, step)[1] - turned(centre, pivot, -step)[1]) / (2 * step)
    strands = strands_of(np.array(motor), np.array(spindle), 90.0, 160.0, False)
    ways = [(s[1] - s[0]) / np.hypot(*(s[1] - s[0])) for s in strands]
    levers = [
        float(force_moment_nm(way, strand[0], np.array(pivot))) for way, strand in zip(ways, strands, strict=True)
    ]
    effort = float(weight_moment_nm(16.0, np.array(centre), np.array(pivot)))
    assert float(balanced_strands(effort, *levers).tight_n) == pytest.approx(work / grows, rel=1e-6)
