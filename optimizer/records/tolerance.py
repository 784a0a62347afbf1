"""What is told of how exactly to turn: what every turned size may be off, and how likely all is well."""

from __future__ import annotations

from typing import Literal

from optimizer.scenario.base import Model

__all__ = [
    "AllowedSheet",
    "ChanceSheet",
    "FirstOrderSheet",
    "SizeSheet",
    "SpeedErrorSheet",
    "SpreadSheet",
    "ToleranceSheet",
]

Part = Literal["belt fit", "speeds", "evenness", "limits of size"]


class AllowedSheet(Model):
    """How far a size may be off, to first order; nothing where no demand holds it."""

    smaller_mm: float | None
    larger_mm: float | None


class SizeSheet(Model):
    """One size that is turned; errors are those of the running diameter, which are those of the size over pins."""

    key: str
    """Cone, in the place that its side has in the scenario, such as `stage[0].driver`."""
    position: int
    """Counted from 1."""
    outside_mm: float
    measured: Literal["rim", "over pins", "rim and groove"]
    """What is measured to know the running diameter: a plain rim, over gauge pins, or rim with width of the groove."""
    accuracy_mm: float
    """How near the running diameter comes to what was meant, either way, in 19 of 20 sizes, so measured."""
    width_accuracy_mm: float | None
    """The same where only rim and width of the groove are measured; nothing without a V groove."""
    alone: AllowedSheet
    """All other sizes as drawn."""
    smaller_held_by: Part | None
    larger_held_by: Part | None
    """The demand that allows least."""
    together: AllowedSheet
    """All sizes off at once, at worst: with every size within these, all is well."""
    by_chance: AllowedSheet
    """All sizes off at once, independently: 19 of 20 of each within these, and each demand is kept by 39 of 40."""
    groove_wider_mm: float | None
    groove_narrower_mm: float | None
    """How much wider and narrower its groove may be, alone, where the outside diameter is right."""
    share: float | None
    """Share of what is allowed, limits of size apart, that the accuracy alone uses; nothing where nothing is left."""
    aim_mm: float
    """By how much to aim off the drawing, above 0 where larger."""
    left_on_mm: float
    """How much larger than that to stop at first, before measuring and cutting once more."""


class SpeedErrorSheet(Model):
    """What errors of turning do to one spindle speed; shares are natural logarithms."""

    number: int
    rpm: float
    deviation: float
    """Standard deviation to first order."""
    tried_deviation: float
    """The same of the sets of errors that were tried."""


class SpreadSheet(Model):
    """What errors of turning do to the spread of a stage's own centre distances."""

    key: str
    window_mm: float
    """How far the positions' own centre distances may lie apart: what the budget leaves of travel, with fit."""
    drawn_mm: float
    """How far they lie apart as drawn."""
    deviation_mm: float | None
    """Standard deviation of that to first order; nothing where it is not valid: no two positions lead all others."""
    tried_deviation_mm: float
    """The same of the sets of errors that were tried."""
    most_mm: float
    """19 of 20 machines stay below it."""


class ChanceSheet(Model):
    """The chance that all is well, and that each of its parts is, as tried."""

    all_well: float
    belt_fit: float
    speeds: float
    evenness: float
    size_limits: float


class FirstOrderSheet(Model):
    """What first-order figures say, and whether they claim to be valid."""

    all_well: float | None
    """The chance that all is well; nothing where a demand is not kept as drawn."""
    speeds_valid: bool
    chance_valid: bool
    rule: str
    """By what rule that is said."""


class ToleranceSheet(Model):
    """How exactly to turn."""

    speed_within: float
    """Share by which a speed may lie off."""
    unevenness_most: float | None
    """Unevenness held to, a natural logarithm; nothing where there is none, or the design is beyond advice as drawn."""
    chance: ChanceSheet
    """Sizes aimed at as drawn, measured the best way there is, cut once."""
    chance_by_width: ChanceSheet | None
    """The same where grooves are measured by rim and width only; nothing where no groove has gauge pins."""
    chance_by_cuts: float
    """Sizes aimed at as told, left large, measured, where need be cut once more."""
    first_order: FirstOrderSheet
    sizes: tuple[SizeSheet, ...]
    careful: tuple[int, ...]
    """The sizes to turn most carefully, as places in `sizes` from 0, the first uses most of what is allowed."""
    spreads: tuple[SpreadSheet, ...]
    """Stages with turned sizes."""
    speeds: tuple[SpeedErrorSheet, ...]
    samples: int
    """Sets of errors that were tried."""
    seed: int
