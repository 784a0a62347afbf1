"""What would change a design: limits, other ratios, belts in hand."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from optimizer.records.figures import Document
from optimizer.scenario.base import Model

__all__ = [
    "Buy",
    "Change",
    "Changes",
    "HandBelts",
    "LayoutReason",
    "LimitKind",
    "NoDesign",
    "RatioTrial",
    "Remedy",
    "Setting",
    "Spare",
    "Together",
    "Unmoved",
    "Value",
]


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


Value = bool | float | int | str | tuple[float, ...] | None
LimitKind = Literal[
    "blank",
    "smallest pulley",
    "centre distance",
    "travel",
    "band edge",
    "want",
    "wrap",
    "rim speed",
    "belt speed",
    "room",
    "belt stock",
    "motor stand",
    "grip",
    "end miss",
    "unevenness",
]


Remedy = Literal["usual", "risky"]
"""Whether a change keeps what makers of belts and pulleys, and safety, allow, or passes it."""


class Setting(Model):
    """One key of the scenario set otherwise."""

    key: str
    """Place in the scenario, such as `making.largest_blank`."""
    unit: str
    """Unit of the values: mm, rpm, °, m/s; of 1 for a share; empty for a count or a word."""
    now: Value
    """What the scenario says, or the default that stands for it."""
    value: Value
    short: Value = None
    """The value one tick short of it; nothing where there are no ticks, as for a word or a list."""


class Change(Model):
    """The least change of one limit alone that makes a design possible."""

    kind: LimitKind
    settings: tuple[Setting, ...]
    """The keys that have to be set, all of them."""
    layout: str
    """The layout that has a design with it."""
    proved: bool
    """Whether one tick less is proved to give none; otherwise a limit on effort left that open, or its design could not
    be turned."""
    turned: bool = True
    """False where it is proved that its sizes fit on no ticks; only a finer `making.turn_to` may help then."""
    remedy: Remedy = "usual"
    risk: str = ""
    """What a risky change risks, in a sentence."""


class Together(Model):
    """The change of two limits together that makes a design possible with the least number of units of both."""

    units: int
    """How many units each is let out by."""
    kinds: tuple[LimitKind, LimitKind]
    settings: tuple[Setting, ...]
    layout: str
    proved: bool
    """Whether a unit less is proved to do for no pair."""
    turned: bool = True
    """False where it is proved that its sizes fit on no ticks."""


class Unmoved(Model):
    """A limit that alone gives no design, however far it was let out."""

    kind: LimitKind
    settings: tuple[Setting, ...]
    """As far as it was let out; nothing where there was nothing to try."""
    proved: bool
    """Whether it is proved that there is none; otherwise a limit on effort left that open."""


class Spare(Model):
    """How far one limit could be tightened before the last design is lost."""

    kind: LimitKind
    settings: tuple[Setting, ...]
    """The tightest that still has a design; `short` is a tick tighter, which has none."""
    layout: str
    """A layout that has a design at the tightest."""
    lost: bool
    """Whether a tick tighter has no design; otherwise it was tightened no further."""
    proved: bool


class Buy(Model):
    """What one small step of more blank, room, or travel would buy."""

    kind: LimitKind
    settings: tuple[Setting, ...]
    layout: str
    """The layout that is proposed now."""
    j_now: float
    """J of its best listed design."""
    j_then: float | None
    """J with the step; nothing where a limit on effort left that open."""
    opened: tuple[str, ...] = ()
    """Layouts that have no design now, and would have one."""


class Changes(Model):
    """What changing limits, one at a time or two together, would do."""

    least: tuple[Change, ...] = Field(default=())
    """The usual ones first, then those that pass what a maker or safety allows."""
    together: Together | None = None
    together_tried: bool = False
    """Whether pairs of limits were tried, as is done where no single one does but risky ones."""
    together_proved: bool = True
    """Where no pair does: whether that is proved."""
    together_units: int = 0
    """How many units pairs were let out by at most."""
    unmoved: tuple[Unmoved, ...] = Field(default=())
    spare: tuple[Spare, ...] = Field(default=())
    buys: tuple[Buy, ...] = Field(default=())
    searches: int = 0
    """How many searches were made to know this."""


class LayoutReason(Model):
    """Why some layouts have no design."""

    layouts: tuple[str, ...]
    reason: str


class NoDesign(Document):
    """What is said where no layout has a design."""

    format: Literal["conewright no design 1"] = "conewright no design 1"
    """Name and number of the document's format; the number rises when a reader would have to change."""
    title: str
    units: Literal["mm", "cm", "in"]
    """Units of the maker's file; the document itself is in the units it names."""
    reasons: tuple[LayoutReason, ...]
    rejected: bool = False
    """Whether designs were found, each of which fails a check of its own."""
    changes: Changes | None = None
    """Nothing where a search was ended by its limit, so that it is not known that there is no design, or where checks
    reject what was found."""
    other_ratios: tuple[RatioTrial, ...] = ()
    """What other ratios of gears would give; nothing where none is stated."""
