"""The result of designing a machine: all that is printed, written, or read by a later tool."""

from __future__ import annotations

import json
from collections.abc import Iterator
from hashlib import sha256
from typing import Literal, NamedTuple, Self

from pydantic import computed_field, model_validator

from optimizer.records.changes import Changes, HandBelts, RatioTrial
from optimizer.records.figures import Document, Iterated
from optimizer.records.mechanics import (
    AroundSheet,
    BandSurface,
    CarryingSheet,
    GearSheet,
    HangingSheet,
    ShaftsSheet,
    WorkSizeSheet,
)
from optimizer.records.refined import Binding, SolverReport
from optimizer.records.sheet import MachineSheet
from optimizer.records.speed_chart import ChartBand
from optimizer.records.tolerance import ToleranceSheet
from optimizer.scenario.base import Model

__all__ = [
    "BandSheet",
    "ChangedSheet",
    "CheckSheet",
    "ClosingSheet",
    "DefaultSheet",
    "Design",
    "DesignedLayout",
    "ExtremeSheet",
    "ExtremeStage",
    "ProofSheet",
    "RefinementSheet",
    "ScenarioSheet",
    "SeriesSheet",
    "SkippedSheet",
    "TriedLayout",
    "Version",
]


DIGEST_DIGITS = 12
"""Few enough to print as a revision, and enough that no two designs of a shop share them."""


class Version(Model):
    """A program or library that had a part in the result."""

    name: str
    version: str


class DefaultSheet(Model):
    """A value the maker did not state."""

    key: str
    """Place it would have in the scenario, such as `stage[0].wrap`."""
    value: str
    source: str


class ChangedSheet(Model):
    """A limit the maker set otherwise than the default."""

    limit: str
    """Place in the scenario."""
    value: str
    default: str
    reason: str


class ScenarioSheet(Model):
    """What the maker stated, as far as it is repeated."""

    title: str
    note: str = ""
    units: Literal["mm", "cm", "in"]
    """Units of the maker's file, used in texts; this document is in mm throughout."""
    file: str
    """Name of the scenario's file."""
    text: str
    """The scenario's text."""
    sha256: str
    """Digest of that text."""
    defaults: tuple[DefaultSheet, ...]
    changed_limits: tuple[ChangedSheet, ...]


class DesignedLayout(Model):
    """The chain of stages with its numbers of positions."""

    name: str
    """Numbers of positions, motor first, such as `2x4`; before them in brackets numbers of settings, as in `(2)x4`."""
    order: str
    """Which stage makes the large steps of the series."""
    offsets: tuple[tuple[int, ...], ...]
    """For every stage, how many places up the series each of its positions lifts the speed."""
    switched: tuple[tuple[int, ...], ...] = ()
    """The same for the settings of every switch of the machine, motor first."""
    belt_moves: int
    """Belts moved in all on the way from the slowest speed to the fastest."""
    turned_steps: int
    timber_mm3: float
    """Volume of all discs that steps are turned from."""
    largest_disc_mm: float


class BandSheet(ChartBand):
    """A working band with the speeds that count in it."""

    want: int
    speeds_rpm: tuple[float, ...]
    surface: BandSurface | None = None
    """What is wanted along the surface of a stated diameter, where the band states it."""


class SeriesSheet(Model):
    """How even the speeds are; shares are natural logarithms."""

    ratio: float
    """Ratio φ of the nearest geometric series; 1 for one speed. Where speeds are free, of those on the plate."""
    first_rpm: float
    """First speed of that series."""
    end_miss: float
    unevenness: float
    j: float
    """Weighted sum of the two: what the search makes least. Where speeds are free that is F: of end miss and largest
    gap."""
    largest_gap: float | None = None
    """Greatest step between neighbouring speeds, near-equal ones and all, where speeds are free; nothing else."""
    ends_advised: bool
    evenness_advised: bool
    widest_gap: float
    """Greatest step between neighbouring speeds."""


class ProofSheet(Model):
    """How good the design is, with what was searched to know it; where speeds are free its figures are of F, not J."""

    status: Literal["proved", "not proved"]
    """Said of the listed sizes."""
    reason: str = ""
    ideal: float
    """0 where a geometric series from bottom to top meets the wants, otherwise the least J of any series."""
    structural: float
    """Lower bound of J for any real diameters within the limits."""
    listed: float
    """J of the best design over the listed sizes."""
    final: float
    """J of the rounded design."""
    bound: float
    """No listed design has a J below this."""
    gap: float
    """How much better a listed design could still be; 0 where proved."""
    end_to_end_gap: float
    """Final less structural."""
    combinations: int
    examined: int
    ruled_out: int
    """Combinations the bound ruled out unseen."""
    pairs: tuple[int, ...]
    """Pairs of sizes that fit some belt, for every stage."""
    held_bytes: int
    """Greatest memory that pairs and tabulated choices took at once."""


class ClosingSheet(Model):
    """Whether a better design can be turned with the chosen layout and belts."""

    status: Literal["none better", "better", "not proved", "not made"]
    """`better`: one was found; it is then the design of this document."""
    bound: float
    """No design on whole ticks, with these belts, has a J below this."""
    examined: int
    combinations: int
    """Combinations of sizes on whole ticks."""
    said: str
    """The same in a sentence."""


class ExtremeStage(Model):
    """One stage of an extreme, in outside diameters."""

    marking: str
    driver_outside_mm: tuple[float, ...]
    driven_outside_mm: tuple[float, ...]


class ExtremeSheet(Model):
    """The design that is best at one thing among those within the slack of the best J."""

    best_at: str
    value: float
    """Timber [mm³], diameter of the largest disc [mm], or grip."""
    proved: bool
    j: float
    stages: tuple[ExtremeStage, ...]


class RefinementSheet(Model):
    """What moving every diameter off the list brought, and what was made of it."""

    goal: Literal["j", "f", "timber", "disc"]
    """What was made least: J, F where speeds are free, the volume of all discs, the largest disc."""
    kept: Literal["refined", "candidate", "ticks"]
    """Where the final sizes come from: refinement, the search, or the closing search over sizes on ticks."""
    why: str
    candidate_j: float
    smooth_j: Iterated
    """J before rounding to what can be turned."""
    rounded_j: float | None
    """J of the refined sizes rounded jointly; nothing where no rounding keeps the rules."""
    structural_met: bool
    binding: tuple[Binding, ...]
    """Limits that keep it from being better before rounding, dearest first."""
    solver: SolverReport


class CheckSheet(Model):
    """One thing recomputed from the final diameters by code that shares nothing with the search."""

    name: str
    kind: Literal["impossible", "limit", "advice"]
    where: str
    value: float | None
    """Nothing where it could not be worked out, as where no belt goes round."""
    limit: float
    margin: float | None
    unit: str
    source: str
    passed: bool
    note: str = ""


class SkippedSheet(Model):
    """A check that could not be made, with what is missing."""

    name: str
    where: str
    why: str


class TriedLayout(Model):
    """A layout that stood for choice."""

    title: str
    outcome: Literal["chosen", "passed over", "no design", "not searched", "set aside", "stopped"]
    said: str = ""
    """Why."""
    j: float | None = None
    end_miss: float | None = None
    unevenness: float | None = None
    advised: bool | None = None
    turned_steps: int | None = None
    belt_moves: int


class _Known(NamedTuple):
    """What a machine has."""

    places: dict[str, int]
    """Positions by the place of a belt stage, or of a side of it."""
    fixed: frozenset[str]
    speeds: frozenset[int]


def _lost(part: object, known: _Known, where: str, key: str = "") -> Iterator[str]:
    """Yield where a part of a design names a stage, position or speed that the machine has not."""
    if isinstance(part, tuple):
        for number, one in enumerate(part):
            yield from _lost(one, known, f"{where}[{number}]", key)
    if not isinstance(part, Model):
        return
    named = dict(iter(part))  # a field may be called keys, so that dict(part) would take it for a mapping
    key = named.get("key", key)
    if "key" in named and key not in known.places and key not in known.fixed:
        yield f"{where}.key"
    elif "position" in named and not 1 <= named["position"] <= known.places.get(key, 0):
        yield f"{where}.position"
    elif "number" in named and named["number"] not in known.speeds:
        yield f"{where}.number"
    for name, one in named.items():
        yield from _lost(one, known, f"{where}.{name}", key)


class Design(Document):
    """A machine designed from what its maker stated."""

    format: Literal["conewright design 2"] = "conewright design 2"
    """Name and number of the document's format; the number rises when a reader would have to change."""
    scenario: ScenarioSheet
    preferred: Literal["evenness", "timber", "disc", "grip"]
    """What was made best within the slack."""
    layout: DesignedLayout
    machine: MachineSheet
    bands: tuple[BandSheet, ...]
    work_size: WorkSizeSheet | None = None
    """Diameters of work by speed; nothing where the maker states nothing of it."""
    carrying: CarryingSheet | None = None
    """Power, torque and pulls; nothing where no belt's power is known."""
    gears: tuple[GearSheet, ...] = ()
    """Fixed stages, motor first."""
    hanging: HangingSheet | None = None
    """What draws the belts taut; nothing where no mount's weight or pull, and no belt's power, is known."""
    shafts: ShaftsSheet
    """Shafts, keys, balance, starting."""
    around: AroundSheet | None = None
    """The room around; nothing where no places of shafts are stated."""
    tolerance: ToleranceSheet | None = None
    """How exactly to turn; nothing where nothing is turned."""
    series: SeriesSheet
    proof: ProofSheet
    closing: ClosingSheet
    extremes: tuple[ExtremeSheet, ...]
    refinement: RefinementSheet
    checks: tuple[CheckSheet, ...]
    skipped: tuple[SkippedSheet, ...]
    tried: tuple[TriedLayout, ...]
    hand_belts: tuple[HandBelts, ...] = ()
    """What belts in hand cost, or would cost; nothing where none is stated."""
    other_ratios: tuple[RatioTrial, ...] = ()
    """What other ratios of gears would give; nothing where none is stated."""
    changes: Changes | None = None
    """How far limits could be tightened, and what more would buy; nothing where it was not asked."""
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    versions: tuple[Version, ...]

    @model_validator(mode="after")
    def _of_its_machine(self) -> Self:
        """Refuse what is said of a stage, a position or a speed that the machine has not."""
        stages = {stage.key: len(stage.positions) for stage in self.machine.stages}
        known = _Known(
            {place: count for key, count in stages.items() for place in (key, f"{key}.driver", f"{key}.driven")},
            frozenset(fixed.key for fixed in self.machine.fixed),
            frozenset(speed.number for speed in self.machine.speeds),
        )
        for name in ("carrying", "gears", "hanging", "shafts", "tolerance", "work_size"):
            for lost in _lost(getattr(self, name), known, name):
                raise ValueError(f"{lost}: its machine has no such place or speed")
        self._tells_of_every_cone()
        return self

    def _tells_of_every_cone(self) -> None:
        """Refuse sizes that belong to no cone, and turned cones of which nothing is told."""
        turned = {
            f"{stage.key}.{side}"
            for stage in self.machine.stages
            for side in (("driven",) if stage.shared_driver else ("driver", "driven"))
            if any(getattr(position, side).source == "turned" for position in stage.positions)
        }
        if lost := sorted(turned - {cone.key for cone in self.shafts.cones}):
            raise ValueError(f"shafts.cones: {lost[0]} is not among them")
        if self.tolerance is None:
            return
        if any(size.key.rpartition(".")[2] not in ("driver", "driven") for size in self.tolerance.sizes):
            raise ValueError("tolerance.sizes: a size belongs to no side of a stage")
        if any(not 0 <= n < len(self.tolerance.sizes) for n in self.tolerance.careful):
            raise ValueError("tolerance.careful: there are not so many sizes")

    @computed_field  # type: ignore[prop-decorator]
    @property
    def digest(self) -> str:
        """First 12 hexadecimal digits of the SHA-256 of this document as JSON, without this key, the others in
        alphabetical order, no blanks between: a changed document has another.
        """
        whole = self.model_dump(mode="json", exclude={"digest"})
        plain = json.dumps(whole, sort_keys=True, separators=(",", ":"), allow_nan=False)
        return sha256(plain.encode()).hexdigest()[:DIGEST_DIGITS]

    @property
    def failed(self) -> tuple[CheckSheet, ...]:
        """Checks of what is impossible, and of limits, that the design fails."""
        return tuple(check for check in self.checks if not check.passed and check.kind != "advice")
