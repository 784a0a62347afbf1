"""How hard a mount that hangs, or that a spring draws, pulls the belt taut: moments about a hinge, pulls along a slide.

A mount is a body that the strands of a belt pull on. About a hinge the *effort* is the moment of weights and springs
[N·m] and a strand's *lever* is its arm about the hinge [m]; along a slide the effort is the pull along it [N] and the
lever the cosine of the strand's direction [1]. Either way, with the tight strand 1 and the slack strand 2,

    effort + F1·lever1 + F2·lever2 = 0,

anticlockwise moments (x toward y), or pulls along the slide, counted positive. Taking the strands where they run, not
the pull on the axis, counts the torque reaction too: under load ``F1 − F2 = P/v``, and if the tight strand has the
shorter arm, or lies beyond the hinge, the load draws the belt tighter; if it has the longer arm, the load slackens it.

Pulls here are those that press on the pulleys, *without* the belt's centrifugal pull: an evenly running strand carries
``m·v²`` more, which a mount that gives way does not take off the grip. Hinge friction, stiffness of the belt, weight of
the belt and anything that swings or starts are left out.

Source: statics; the moments about the pivot of a motor base are set out so in texts on machine design (from memory).
Every function takes plain floats or arrays that broadcast against each other.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimizer.mechanics.tension import Strands

__all__ = [
    "GRAVITY_M_S2",
    "balanced_strands",
    "force_moment_nm",
    "least_effort",
    "rest_pull_n",
    "slip_difference_n",
    "v_pull_ratio",
    "weight_moment_nm",
]

Array = NDArray[np.float64]
Values = float | Array
"""A number, or an array of numbers that broadcasts against the others of the call."""
GRAVITY_M_S2 = 9.80665
"""Standard gravity (exact by convention)."""
DEAD = 1e-9
"""Levers whose sum is smaller are those of a mount at a dead point."""
STEEPEST = 1.2
"""Greatest arc factor that a pull ratio is worked out for; at 1.25 it would pass all bounds."""


def force_moment_nm(force_n: Array, at_mm: Array, pivot_mm: Array) -> Array:
    """Return the moment of a force about a pivot [N·m], ``((x − x0)·Fy − (y − y0)·Fx)/1000``, anticlockwise positive.

    With a unit vector for the force it is the lever [m] of a strand that runs along it.

    Parameters
    ----------
    force_n
        Force `(..., 2)` [N].
    at_mm
        A point it acts at `(..., 2)` [mm].
    pivot_mm
        The hinge `(..., 2)` [mm].

    Examples
    --------
    100 N upward, 250 mm right of the hinge:

    >>> float(force_moment_nm(np.array([0.0, 100.0]), np.array([250.0, 40.0]), np.array([0.0, 0.0])))
    25.0
    """
    arm = at_mm - pivot_mm
    return np.asarray((arm[..., 0] * force_n[..., 1] - arm[..., 1] * force_n[..., 0]) / 1000)


def weight_moment_nm(mass_kg: Values, centre_mm: Array, pivot_mm: Array) -> Array:
    """Return the moment of a weight about a hinge [N·m], ``−m·g·(x − x0)/1000``: clockwise where it hangs to the right.

    Examples
    --------
    15 kg, 200 mm right of the hinge:

    >>> round(float(weight_moment_nm(15.0, np.array([200.0, -30.0]), np.array([0.0, 0.0]))), 3)
    -29.42
    """
    return np.asarray(-np.multiply(mass_kg, GRAVITY_M_S2) * (centre_mm[..., 0] - pivot_mm[..., 0]) / 1000)


def balanced_strands(effort: Values, tight_lever: Values, slack_lever: Values, difference_n: Values = 0.0) -> Strands:
    """Return the pulls of both strands that hold a mount in balance [N], without the centrifugal one.

    ``F2 = −(effort + D·lever1)/(lever1 + lever2)``, ``F1 = F2 + D`` with ``D = P/v``; at rest D = 0 and both are equal.
    Where a strand would have to push it is slack: 0, and the belt slips. At a dead point, where both levers make up
    for each other, the pulls pass all bounds: infinite, or 0 where nothing is balanced.

    Parameters
    ----------
    effort
        Moment of weights and springs about the hinge [N·m], or pull along the slide [N].
    tight_lever, slack_lever
        Arms of the strands [m], or their cosines [1].
    difference_n
        What the tight strand pulls more than the slack one [N].

    Examples
    --------
    15 kg hang 200 mm right of the hinge (29.42 N·m clockwise), the strands run upward 150 and 250 mm right of it; at
    rest each pulls 29.42/0.4 N. With the tight strand near the hinge, 60 N of difference raise the sum:

    >>> at_rest = balanced_strands(-29.42, 0.15, 0.25)
    >>> near, far = balanced_strands(-29.42, 0.15, 0.25, 60.0), balanced_strands(-29.42, 0.25, 0.15, 60.0)
    >>> [round(float(pull), 2) for pull in (*at_rest, *near, *far)]
    [73.55, 73.55, 111.05, 51.05, 96.05, 36.05]
    """
    levers = np.add(tight_lever, slack_lever)
    load = np.negative(effort) - np.multiply(difference_n, tight_lever)
    dead = np.abs(levers) < DEAD
    slack = load / np.where(dead, 1.0, levers)
    slack = np.where(dead, np.where(np.abs(load) < DEAD, 0.0, np.inf), slack)
    slack = np.maximum(slack, 0.0)
    return Strands(np.asarray(slack + difference_n), np.asarray(slack))


def v_pull_ratio(arc_factor: Values) -> Array:
    """Return how many times as much as the slack strand the tight one may pull on a V-belt, ``2.5/(2.5 − 2·Ca)``.

    It is what the pull at rest of GOST 1284.3-96, equation 16 (read), comes to: 5 at half a turn. For belts that carry
    by friction it is ``exp(μ·θ)``.

    Examples
    --------
    >>> float(v_pull_ratio(1.0)), round(float(v_pull_ratio(0.82)), 3)
    (5.0, 2.907)
    """
    return np.asarray(2.5 / (2.5 - 2 * np.minimum(arc_factor, STEEPEST)))


def rest_pull_n(difference_n: Values, ratio: Values) -> Array:
    """Return the pull of each strand at rest that just carries a difference of pulls [N], ``D/2·(k + 1)/(k − 1)``.

    Without the centrifugal pull; k is the greatest ratio of tight to slack.

    Examples
    --------
    >>> float(rest_pull_n(75.0, 5.0))
    56.25
    """
    return np.asarray(np.divide(difference_n, 2) * np.add(ratio, 1) / np.maximum(np.subtract(ratio, 1), 1e-12))


def least_effort(difference_n: Values, tight_lever: Values, slack_lever: Values, ratio: Values) -> Array:
    """Return the least effort, counted the way it tightens the belt, at which a mount carries a difference of pulls.

    ``D·(k·|lever1| + |lever2|)/(k − 1)`` with levers of one sign; a lever of the sign opposite to their sum counts
    negative. 0 where the load tightens the belt by itself faster than it asks for.

    Examples
    --------
    The mount of `balanced_strands`, 60 N of difference, at most 5 times: 0.25 m on the tight strand ask for more.

    >>> round(float(least_effort(60.0, 0.15, 0.25, 5.0)), 6), round(float(least_effort(60.0, 0.25, 0.15, 5.0)), 6)
    (15.0, 21.0)
    """
    levers = np.add(tight_lever, slack_lever)
    sense = np.sign(np.where(np.abs(levers) < DEAD, 0.0, levers))
    asked = np.multiply(ratio, tight_lever) + slack_lever
    effort = sense * np.multiply(difference_n, asked) / np.maximum(np.subtract(ratio, 1), 1e-12)
    return np.asarray(np.maximum(effort, 0.0))


def slip_difference_n(effort: Values, tight_lever: Values, slack_lever: Values, ratio: Values) -> Array:
    """Return the difference of pulls at which the belt of a mount slips [N], ``−(k − 1)·effort/(k·lever1 + lever2)``.

    0 where the mount does not draw the belt taut, or stands at a dead point; infinite where every load tightens it by
    itself: such a belt never lets go.

    Examples
    --------
    >>> round(float(slip_difference_n(-29.42, 0.15, 0.25, 5.0)), 2)
    117.68
    >>> float(slip_difference_n(-29.42, -0.1, 0.4, 5.0)), float(slip_difference_n(29.42, 0.15, 0.25, 5.0))
    (inf, 0.0)
    """
    levers = np.add(tight_lever, slack_lever)
    sense = np.sign(np.where(np.abs(levers) < DEAD, 0.0, levers))
    taut = -sense * np.asarray(effort, float)
    asked = sense * (np.multiply(ratio, tight_lever) + slack_lever)
    grows = asked < DEAD
    slips = np.maximum(taut, 0.0) * np.subtract(ratio, 1) / np.where(grows, 1.0, asked)
    return np.asarray(np.where(grows & (taut > 0), np.inf, np.where(grows, 0.0, slips)))
