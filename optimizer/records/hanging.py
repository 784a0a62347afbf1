"""What is told of mounts that weight, a spring or a screw draws."""

from __future__ import annotations

from typing import Literal

from optimizer.scenario.base import Model

__all__ = ["HangingSheet", "HungSheet", "MountSheet", "SpanSheet"]


class HungSheet(Model):
    """How a mount draws its belt at one position, with a new belt or a worn one, at the speed with least to spare."""

    position: int
    """From 1."""
    worn: bool
    """Whether the belt is worn out, so that the mount stands at the end of what it needs."""
    rpm: float
    """Speed of the spindle."""
    tight_lever: float | None
    """Arm of the tight strand about the hinge [mm], or the cosine of its direction along the slide; below 0 where the
    strand's pull helps the weight."""
    slack_lever: float | None
    rest_n: float | None
    """Pull of each strand at rest; nothing at a dead point, where weight does not set it."""
    tight_n: float | None
    """Pulls on the pulleys while the belt carries what it must, the centrifugal one left out."""
    slack_n: float | None
    needed_slack_n: float | None
    """Pull of the slack strand below which the belt slips."""
    most_n: float | None
    """Greatest mean pull of both strands."""
    carries_kw: float | None
    """Power at which the belt slips as the mount draws it; nothing where every load tightens it, or nobody knows."""
    must_kw: float | None


class SpanSheet(Model):
    """From the least that is enough to the most that is not too much."""

    least: float
    most: float
    some: bool
    """Whether anything is both; otherwise the least is above the most."""


class MountSheet(Model):
    """One mount with the belt it draws."""

    shaft: str
    kind: Literal["hinge", "slide"]
    key: str
    """Place of the belt's stage in the scenario."""
    locked: bool
    unstated: str
    """What is missing of weights or pull, so that pulls are not known; nothing where all is stated."""
    nearer: Literal["tight", "slack", "even"] | None
    """Strand nearer to the hinge at the first row; nothing on a slide."""
    rows: tuple[HungSheet, ...]
    does: bool | None
    """Whether it draws enough and not too much in every row; nothing where that is not known."""
    pull_n: SpanSheet | None
    """By how much more a spring must draw the shaft, square to its arm about a hinge or along a slide; the whole pull
    where none is stated."""
    mass_kg: SpanSheet | None
    """How much more must hang at the centre of mass; the whole mass where none is stated, nothing where weight there
    does not help everywhere."""
    hinge_mm: tuple[SpanSheet, ...]
    """How far from its place along its line the hinge could stand for all to do."""
    line_deg: float | None
    """Direction of that line."""
    press_n: tuple[float, float] | None
    """Force that bends the middle of a strand in by 1/64 of its length where it is drawn just enough, and as hard as
    it may be."""


class HangingSheet(Model):
    """All mounts of which it is known where they stand."""

    mounts: tuple[MountSheet, ...]
    cautions: tuple[str, ...]
