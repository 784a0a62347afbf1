"""What the belts in hand would cost in J, set beside the best design on any belts."""

from __future__ import annotations

from optimizer.scenario.base import Model

__all__ = ["HandBelts"]


class HandBelts(Model):
    """The best design with belts in hand on some of the stages."""

    stages: tuple[int, ...]
    """Numbers of the stages that run on them, motor first, from 1."""
    markings: tuple[str, ...]
    """Their belts; none where there is no design."""
    j: float | None = None
    """J over the listed sizes; nothing where there is no design."""
    cost: float | None = None
    """How much more that is than on any belts."""
    proved: bool = True
    used: bool = False
    """Whether this is the design of this document."""
    why: str = ""
    """Why there is no design, or why it is not used."""
