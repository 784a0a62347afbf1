"""One layout's design problem in plain figures: sizes, belts, limits, targets."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, pi
from typing import Literal

from optimizer.mechanics.carrying import Rating
from optimizer.records.coupling import Coupling
from optimizer.records.layout import Layout
from optimizer.scenario.base import Model

__all__ = [
    "BandTarget",
    "BeltChoice",
    "DiscStock",
    "Piece",
    "Problem",
    "SideSizes",
    "Source",
    "StageProblem",
    "SwitchProblem",
    "Targets",
]


Source = Literal["turned", "ready", "kept"]


class SideSizes(Model):
    """What the cone on one side of a stage may be made of; all sizes are pitch diameters."""

    key: str
    """Place in the scenario, such as `stage[0].driver`."""
    turned_mm: tuple[float, float] | None = None
    """Smallest and largest size that may be turned, all limits included; nothing where none is turned."""
    listed_mm: tuple[float, ...] = ()
    """Turned sizes the search lists where both sides are turned, ascending, within `turned_mm`."""
    grid_mm: float = 0.0
    """Distance of the listed sizes; a turned pair stands for a ray half of this wide, 0 for the pair itself."""
    ready_mm: tuple[float, ...] = ()
    """Pulleys used as they are, ascending."""
    scarce_mm: tuple[float, ...] = ()
    """Those of them of which there are only the ones in hand."""
    overhang: int = 0
    """Grooves of one piece that may stand idle beyond an end of the cone, as the room along the shaft leaves."""
    standing_mm: tuple[tuple[float, ...] | None, ...] = ()
    """Steps of a cone that exists, in their order along the shaft: the sizes each may have, nothing where it is open.

    An open step takes any turned or ready size."""
    standing_sources: tuple[Source, ...] = ()
    """Where each of those steps comes from; empty where every one is kept."""
    reversible: bool = False
    """Whether the cone that exists may be turned end for end."""
    placed: bool = False
    """Whether its steps stand at the positions in just this order, slowest first."""
    cone: bool = True
    """Whether sizes must rise (driver) or fall (driven) along the cone."""
    rise_mm: float = 0.0
    """Neighbouring steps of a cone are equal or differ by at least this."""
    tick_mm: float = 0.5
    """Finest difference that is turned."""
    given_shift_mm: float = 0.0
    """Pitch diameter less the diameter the maker gives; ticks count on the maker's line."""
    outside_shift_mm: float = 0.0
    """Outside diameter less the pitch diameter."""
    rim_speed_m_s: float = inf
    """Greatest speed of the rim under full load, at which it is as fast without load as its material may be."""
    idle_gain: float = 1.0
    """How many times as fast as at full load its shaft turns without load."""
    discs_mm: tuple[float, ...] = ()
    """Discs the turned sizes are cut from, ascending; empty where a blank of any size can be had."""
    scarce_above_mm: float = inf
    """Turned sizes above this come from discs in hand, each of which gives one step."""
    truing_mm: float = 0.0
    """Diameter lost in truing a blank."""
    width_mm: float = 0.0
    """Width of one step along the shaft."""

    @property
    def fixed_mm(self) -> tuple[float, ...]:
        """Every size that is used as it is: ready pulleys, and what the steps of a standing cone may have."""
        return (*self.ready_mm, *(size for step in self.standing_mm if step is not None for size in step))

    def blank_mm(self, pitch_mm: float) -> float:
        """Return the disc that a turned size is cut from.

        Examples
        --------
        >>> side = SideSizes(key="stage[0].driver", outside_shift_mm=6.6, discs_mm=(150, 200), truing_mm=4)
        >>> side.blank_mm(120), side.blank_mm(143.4)
        (150.0, 200.0)
        """
        needed = pitch_mm + self.outside_shift_mm + self.truing_mm
        return next((disc for disc in self.discs_mm if disc >= needed - 1e-9), needed)

    def most_from_disc_mm(self, pitch_mm: float) -> float:
        """Return the largest size that can be turned from the disc that a size is cut from."""
        return self.blank_mm(pitch_mm) - self.truing_mm - self.outside_shift_mm

    def ticks_near_mm(self, size_mm: float, source: Source, reach: int) -> tuple[float, ...]:
        """Return the sizes on ticks near one size, so many on either side; the size itself where it is not turned.

        None lies beyond what may be turned, or beyond what the size's own disc gives where discs are few.

        Examples
        --------
        >>> side = SideSizes(key="stage[0].driver", turned_mm=(63.0, 200.0), tick_mm=0.5)
        >>> side.ticks_near_mm(63.3, "turned", 1), side.ticks_near_mm(63.3, "ready", 1)
        ((63.0, 63.5, 64.0), (63.3,))
        """
        if source != "turned" or self.turned_mm is None:
            return (size_mm,)
        low, high = self.turned_mm
        if self.scarce_above_mm < inf:
            high = min(high, self.most_from_disc_mm(size_mm))
        nearest = round((size_mm - self.given_shift_mm) / self.tick_mm)
        sizes = (tick * self.tick_mm + self.given_shift_mm for tick in range(nearest - reach, nearest + reach + 1))
        return tuple(size for size in sizes if low - 1e-9 <= size <= high + 1e-9)

    def standing_at(self, sizes_mm: Sequence[tuple[float, ...]], sources: Sequence[Source]) -> SideSizes:
        """Return the side with the sizes that each position may have, slowest first, and nothing else to choose from.

        What is in hand goes round as it did: it binds no more.
        """
        return self.model_copy(
            update={
                "standing_mm": tuple(sizes_mm),
                "standing_sources": tuple(sources),
                "placed": True,
                "reversible": False,
                "listed_mm": (),
                "ready_mm": (),
                "scarce_mm": (),
                "scarce_above_mm": inf,
            }
        )

    def timber_mm3(self, pitch_mm: float) -> float:
        """Return the volume of the disc that a turned size is cut from."""
        return pi / 4 * self.blank_mm(pitch_mm) ** 2 * self.width_mm


class BeltChoice(Model):
    """One belt that a stage may run on."""

    section: str
    marking: str
    """What a shop calls it, such as `A 1250` or `4L460`."""
    length_mm: float
    """Length along the pitch line."""
    window_mm: float
    """How far the positions' own centre distances may lie apart: travel left by the budget, and `fit`."""
    in_hand: int = 0
    """How many of them are there already."""
    sold: bool = True
    """Whether more of them can be had."""
    forgives_mm: float = 0.0
    """How much of a difference in centre distance it forgives where its mount changes another belt too."""
    inward_mm: float = 0.0
    """How far inward of its running place the mount goes to fit it."""
    outward_mm: float = 0.0
    """How far outward of its running place it needs the mount at the end of its life."""


class StageProblem(Model):
    """What one belt stage may be."""

    key: str
    """Place in the scenario, such as `stage[0]`."""
    driver: SideSizes
    driven: SideSizes
    belts: tuple[BeltChoice, ...]
    centre_mm: tuple[float, float]
    """Smallest and largest centre distance of any position."""
    crossed: bool = False
    slip: float = 0.0
    """Share of the speed that the belt loses."""
    gain: float = 1.0
    """Fixed ratio between the stage before, or the motor, and this stage's driver."""
    least_wrap_deg: float = 0.0
    """Least arc of contact on either pulley."""
    clearance_mm: float = 0.0
    """Least gap between facing rims: half the sum of the pitch diameters and this are below the centre distance."""
    belt_speed_m_s: float = inf
    driven_rpm: float = inf
    """Greatest speed of the driven shaft."""
    fit_mm: float = 0.2
    """How much of a difference in centre distance the belt itself forgives."""
    ratings: tuple[Rating, ...] = ()
    """What its section of belt carries, by every source that is to be kept; the least counts."""


class SwitchProblem(Model):
    """Something in the chain with several settings: a motor's speeds, a back gear."""

    key: str
    """Place in the scenario: `motor`, or that of a stage."""
    before: int
    """How many belt stages come before it."""
    shares: tuple[float, ...]
    """What every setting makes of the speed that the fastest gives, ascending to 1."""


class BandTarget(Model):
    """A span of spindle speeds with the number wanted in it; counts n when low <= n < high."""

    name: str
    low_rpm: float
    """Lower edge, widened where it is the outermost."""
    high_rpm: float
    """Upper edge, widened where it is the outermost."""
    top: bool = False
    """Whether the upper edge itself counts (the outermost does)."""
    want: int = 1
    power_kw: float = 0.0
    """Power that every belt must carry at its speeds, duty included; 0 where it is not known."""
    least_grip: float = 0.0
    """Least grip of its speeds."""


class Targets(Model):
    """What the speeds should be."""

    bands: tuple[BandTarget, ...]
    lo_rpm: float
    """Where the maker wants the series to begin: the bands' bottom, not widened."""
    hi_rpm: float
    """Where the maker wants the series to end: the bands' top, not widened."""
    never_above_rpm: float = inf
    """Greatest speed under full load, at which the spindle is as fast without load as it may be."""
    idle_gain: float = 1.0
    """How many times as fast as at full load the spindle turns without load."""
    never_below_rpm: float = 0.0
    one_range: bool = False
    """Whether the speeds that a band wants must all lie in one range, so that only the fine stage is changed."""
    distinct: float = 0.04
    """Neighbouring speeds differ by at least this share of the lower one."""
    ratio_least: float = 1.0
    """Least ratio of the fitted series."""
    end_miss_most: float = 0.10
    """Limit of the end miss, in natural logarithms."""
    unevenness_most: float = 0.10
    """Limit of the unevenness, in natural logarithms."""
    end_weight: float = 1.0
    unevenness_weight: float = 1.0
    slack: float = 0.005
    """How far from a layout's best J the extremes are sought."""
    power_kw: float = 0.0
    """Power that every belt must carry at speeds in no band, duty included; 0 where it is not known."""
    least_grip: float = 0.0
    """Least grip of any speed."""
    grip_slack: float = 0.02
    """How far from a layout's best J the greatest grip is sought where it is preferred."""


class Piece(Model):
    """A sheave in hand, or a piece with several grooves."""

    key: str
    """Place in the scenario, such as `in_hand.sheave[0]`."""
    steps_mm: tuple[float, ...]
    """Pitch diameters of its grooves, in their order along the shaft."""
    count: int
    """How many there are of it."""
    sides: tuple[str, ...]
    """Places of the sides that may use it."""


class DiscStock(Model):
    """Discs of one size in hand."""

    diameter_mm: float
    count: int


class Problem(Model):
    """Everything the search and the refinement know of one layout of one machine."""

    layout: Layout
    motor_rpm: float
    stages: tuple[StageProblem, ...]
    """The belt stages, motor first."""
    gain_out: float = 1.0
    """Fixed ratio between the last belt stage and the spindle."""
    switches: tuple[SwitchProblem, ...] = ()
    """What has several settings, in the order of the chain; motor and fixed ratios here are those of the fastest."""
    targets: Targets
    pieces: tuple[Piece, ...] = ()
    """Sheaves in hand."""
    discs: tuple[DiscStock, ...] = ()
    """Discs in hand, ascending."""
    couplings: tuple[Coupling, ...] = ()
    """Mounts whose one setting must fit several belts."""
