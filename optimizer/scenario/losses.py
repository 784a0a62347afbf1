"""What stages leave of the power, and what they give back of the speed where nothing loads them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import prod

from optimizer.scenario.stage import BeltStage, FixedStage

__all__ = ["passed_on", "unslipped"]


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


def unslipped(stages: Iterable[BeltStage | FixedStage]) -> float:
    """Return how many times as fast the shaft behind some stages turns where no belt slips, ``Π 1/(1 − s)``.

    Parameters
    ----------
    stages
        All stages between the motor and that shaft; fixed ones slip never.

    Examples
    --------
    >>> unslipped([FixedStage(from_shaft="motor", to_shaft="spindle", ratio=0.1)])
    1.0
    """
    return 1 / prod(1 - stage.slip for stage in stages if isinstance(stage, BeltStage))
