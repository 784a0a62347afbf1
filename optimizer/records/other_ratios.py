"""What other ratios of a gear would give in the place of the one that is stated."""

from __future__ import annotations

from optimizer.scenario.base import Model

__all__ = ["RatioTrial"]


class RatioTrial(Model):
    """One ratio that a gear can be had with, all else as it is, searched over the listed sizes and not refined."""

    key: str
    """Place of the gear's stage in the scenario, such as `stage[1]`."""
    ratio: float
    """Speed of the driven shaft over that of the driving one."""
    stated: bool
    """Whether it is the one that the scenario states."""
    layout: str = ""
    """The layout that would be proposed; empty where none has a design."""
    j: float | None = None
    """J of its best listed design."""
    end_miss: float | None = None
    unevenness: float | None = None
    proved: bool = False
    """Whether that J, or that there is no design, is proved; otherwise a limit on effort ended the search."""
    why: str = ""
    """Why there is no design."""
