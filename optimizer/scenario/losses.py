"""What stages leave of the power, and what they give back of the speed where nothing loads them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import prod

from optimizer.scenario.shop import Motor
from optimizer.scenario.stage import BeltStage, FixedStage

__all__ = ["idle_gain", "passed_on"]


def passed_on(chain: Sequence[BeltStage | FixedStage], first: int = 0, last: int | None = None) -> float:
    """Return the share of the power that fixed stages pass on, those of a run of the chain.

    Losses of belts and bearings are not counted: a belt loses speed by its slip, which is, and a few per cent more.

    Parameters
    ----------
    chain
        All stages, motor first.
    first, last
        The first stage that counts, the first that does not; all to the spindle where no last one is given.

    Examples
    --------
    >>> gears = FixedStage(from_shaft="motor", to_shaft="worm", ratio=0.1, efficiency=0.8)
    >>> more = FixedStage(from_shaft="worm", to_shaft="spindle", ratio=0.5, efficiency=0.95)
    >>> passed_on((gears, more)), passed_on((gears, more), 1)
    (0.76, 0.95)
    """
    return prod(stage.efficiency for stage in chain[first:last] if isinstance(stage, FixedStage))


def idle_gain(motor: Motor, stages: Iterable[BeltStage | FixedStage]) -> float:
    """Return how many times as fast as at full load the shaft behind some stages turns without load.

    The motor then turns as fast as its field, and no belt slips.

    Parameters
    ----------
    motor
        The motor that drives the first of them.
    stages
        All stages between the motor and that shaft.

    Examples
    --------
    1420 rpm of a field of 1500 rpm, and no belt:

    >>> round(idle_gain(Motor(speed_rpm=1420), ()), 4)
    1.0563
    """
    return motor.idle_gain / prod(1 - stage.slip for stage in stages if isinstance(stage, BeltStage))
