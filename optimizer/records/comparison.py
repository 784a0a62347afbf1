"""Layouts set side by side: one row for each, each a design as it would be turned."""

from __future__ import annotations

from typing import Literal

from optimizer.records.design import ScenarioSheet, Version
from optimizer.records.figures import Document
from optimizer.scenario.base import Model

__all__ = [
    "ComparedBand",
    "ComparedRow",
    "ComparedStage",
    "Comparison",
    "CriterionSheet",
    "MadeFor",
    "RowProof",
    "WithoutDesign",
]

MadeFor = Literal["least J", "least timber", "smallest largest disc", "best grip"]


class ComparedBand(Model):
    """A working band as it was stated."""

    name: str
    from_rpm: float
    to_rpm: float
    want: int


class CriterionSheet(Model):
    """One thing that rows are compared by."""

    name: str
    better: Literal["more", "less"]
    unit: str
    """Unit of `step`; a share is a natural logarithm."""
    step: float
    """Values that round to the same multiple of this are equal."""


class ComparedStage(Model):
    """One belt stage of a row."""

    key: str
    """Place in the scenario, such as `stage[0]`."""
    driver_shaft: str
    driven_shaft: str
    marking: str
    """What a shop calls the belt."""
    centres_mm: tuple[float, float]
    """Least and greatest running centre distance over all positions."""
    least_wrap_deg: float
    driver_outside_mm: tuple[float, ...]
    """Outside diameter of the driver's step at every position, slowest first."""
    driven_outside_mm: tuple[float, ...]


class RowProof(Model):
    """How good a row's search was."""

    status: Literal["proved", "found"]
    """Said of the listed sizes: `proved` where none are better at what the row is made for."""
    structural: float
    """Lower bound of J for any real diameters within the limits."""
    listed: float
    """J of the design over the listed sizes that was refined and rounded to give the row."""
    gap: float
    """How much less the listed J of the layout and order could still be; 0 where proved."""
    end_to_end_gap: float
    """J of the row less `structural`."""
    combinations: int
    """Combinations of belts and listed sizes in the layout."""
    examined: int
    """Combinations that were looked at one by one; the bound ruled out the rest."""
    held_bytes: int
    """Greatest memory that pairs and tabulated choices took at once."""
    closing: Literal["none better", "better", "not proved", "not made"]
    """What a closing search over sizes on whole ticks said: `better` where the row is what it found."""


class ComparedRow(Model):
    """One layout with its best design, refined and rounded; shares are natural logarithms."""

    number: int
    """Counted from 1."""
    name: str
    """Numbers of positions, motor first, such as `2x4`."""
    order: str
    """Which stage makes the large steps of the series."""
    title: str
    """Name and order."""
    offsets: tuple[tuple[int, ...], ...]
    """For every stage, how many places up the series each of its positions lifts the speed."""
    switched: tuple[tuple[int, ...], ...] = ()
    """The same for the settings of every switch of the machine, motor first."""
    made_for: tuple[MadeFor, ...]
    """What was made best, all but `least J` within the slack of the layout's best J."""
    speeds_rpm: tuple[float, ...]
    """Spindle speeds, slowest first."""
    band_counts: tuple[int, ...]
    """How many speeds count in each band."""
    end_miss: float
    unevenness: float
    j: float
    """Weighted sum of the two."""
    advised: bool
    """Whether end miss and unevenness are within what is advised."""
    widest_gap: float
    """Greatest step between neighbouring speeds, as a share of the lower one."""
    turned_steps: int
    largest_disc_mm: float
    """Largest blank that a step is turned from; 0 where nothing is turned."""
    timber_mm3: float
    """Volume of all discs that steps are turned from."""
    belt_moves: int
    """Belts moved in all on the way from the slowest speed to the fastest."""
    least_wrap_deg: float
    grip: float | None
    """Least of power carried over power that must be carried, over all belts and speeds; nothing where unknown."""
    stages: tuple[ComparedStage, ...]
    """The belt stages, motor first."""
    proof: RowProof
    best_at: tuple[str, ...]
    """Criteria in which no other row is better."""
    undominated: bool
    """Whether no other row is at least as good in every criterion and better in one."""
    best_of_speeds: bool
    """Whether it is the best of its number of speeds, as layouts are proposed."""
    proposed: bool
    """Whether it is the layout and order that is designed unless another is asked for."""


class WithoutDesign(Model):
    """Layouts that have no row, with the one reason for all of them."""

    layouts: tuple[str, ...]
    outcome: Literal["no design", "stopped"]
    """`stopped`: a limit on effort ended the search, so that there may be one."""
    reason: str


class Comparison(Document):
    """The layouts that a scenario allows, side by side."""

    format: Literal["conewright comparison 1"] = "conewright comparison 1"
    """Name and number of the document's format; the number rises when a reader would have to change."""
    scenario: ScenarioSheet
    rows_are: Literal["layouts", "orders"]
    """Whether there is a row for every layout with its best order, or for every order."""
    bands: tuple[ComparedBand, ...]
    ends: float
    """Share by which the outermost band edges are widened when speeds are counted."""
    criteria: tuple[CriterionSheet, ...]
    rows: tuple[ComparedRow, ...]
    """By number of speeds, those of one number in the order in which they would be proposed."""
    without: tuple[WithoutDesign, ...]
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    versions: tuple[Version, ...]
