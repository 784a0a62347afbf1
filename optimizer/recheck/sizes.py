"""From readings on a step to the diameter its belt runs at, with how sure that is, and back to what to measure."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from math import cos, hypot, pi, radians, sin, sqrt
from typing import Literal, NamedTuple

from optimizer.catalogue.entry import Section
from optimizer.catalogue.grooves import groove
from optimizer.catalogue.sections import section
from optimizer.geometry.grooves import over_pins_mm, seat_below_mm
from optimizer.recheck.readings import DatedCheck, Measurements, StepReading
from optimizer.records.sheet import MachineSheet, StageSheet, StepSheet

__all__ = [
    "CONTRADICT",
    "FINEST_MM",
    "TAPE_MM",
    "Bench",
    "BenchReading",
    "Dated",
    "Size",
    "State",
    "StepKnown",
    "StepRim",
    "bench",
    "combined",
    "how_to_measure",
    "newest",
    "reading_of",
    "rim_of",
    "sizes_of",
    "step_at",
]

FINEST_MM = {"over pins": 0.1, "belt top": 0.2, "tape": 0.5, "diameter": 0.1}
"""What a reading may be off by either way where no resolution is stated [mm]; judgement."""
COVER = 2.0
"""Standard uncertainties that a stated resolution is taken for: so far off in one reading of twenty; judgement."""
TAPE_MM = 0.1
"""What the thickness of a tape is not known by, where nothing is stated [mm]; judgement."""
SIDES: tuple[Literal["driver"], Literal["driven"]] = ("driver", "driven")
State = Literal["measured", "not turned", "as stated", "cannot tell"]
CONTRADICT = 3.0
"""Standard uncertainties that two readings of one step may lie apart."""
How = Literal["over pins", "diameter", "belt top"]


class Size(NamedTuple):
    """A pitch diameter with its standard uncertainty [mm]."""

    pitch_mm: float
    standard_mm: float
    how: str
    """What it was read by."""


@dataclass(frozen=True)
class StepRim:
    """What a step was made as, as far as a reading on it needs it."""

    section: Section
    grooved: bool
    """Whether the belt lies in a groove, so that the rim alone does not tell where it runs."""
    angle_deg: float
    """Angle between the flanks; 0 where there are none."""
    top_width_mm: float
    depth_mm: float
    angle_tolerance_deg: float
    outside_less_pitch_mm: float
    """Of a groove cut as drawn, or of a plain rim."""
    pin_mm: float | None
    """Diameter of the pins on the inspection card; nothing where none are named."""
    pins_less_pitch_mm: float | None
    """Size over those pins less the pitch diameter."""

    @property
    def flanks(self) -> bool:
        """Whether pins can be laid on flanks."""
        return self.grooved and self.angle_deg > 0 and self.section.kind == "v"

    def seats(self, pin_mm: float) -> bool:
        """Tell whether a pin lies on the flanks, neither on the floor nor on the edges."""
        below = seat_below_mm(self.top_width_mm, self.angle_deg, pin_mm)
        half = radians(self.angle_deg) / 2
        lowest = below + pin_mm / 2 * (1 - sin(half))  # of the pin, where its middle lies p/2·sin(α/2) above its seats
        return below > 0 and lowest < self.depth_mm

    def over_less_pitch_mm(self, pin_mm: float) -> float:
        """Return the size over two pins less the pitch diameter.

        By the standard's take-off for its own pins; for others that, and by how much the exact sizes over them
        differ, so that the same groove has the same diameter by any pins.
        """
        exact = self._exact_mm(pin_mm)
        if self.pin_mm is None or self.pins_less_pitch_mm is None:
            return exact
        return exact + self.pins_less_pitch_mm - self._exact_mm(self.pin_mm)

    def _exact_mm(self, pin_mm: float) -> float:
        rim = self.outside_less_pitch_mm
        return over_pins_mm(rim, self.top_width_mm, self.angle_deg, pin_mm)

    def per_degree_mm(self, pin_mm: float) -> float:
        """Return how far the pitch diameter moves from what pins tell, for a groove a degree wider [mm].

        The belt finds its own width ``w`` again at the datum line: of the size over pins
        ``K = d − w/tan(α/2) + p/sin(α/2) + p`` the derivative by α. Source: geometry.
        """
        half = radians(self.angle_deg) / 2
        width = self.section.datum_width_mm
        return abs((width - pin_mm * cos(half)) / (2 * sin(half) ** 2)) * pi / 180


class BenchReading(NamedTuple):
    """What was read on one step [mm], nothing where it was not; resolution where one is stated."""

    over_pins_mm: float | None = None
    pin_mm: float | None = None
    belt_top_mm: float | None = None
    outside_mm: float | None = None
    tape_mm: float | None = None
    tape_thickness_mm: float | None = None
    diameter_mm: float | None = None
    resolution_mm: float | None = None


def rim_of(name: str, step: StepSheet) -> StepRim:
    """Return what a reading needs of a step as it was designed.

    Parameters
    ----------
    name
        Section of its belt.
    step
        The step.
    """
    belt = section(name)
    grooved = step.rim not in ("flat", "crowned")
    cut = groove(belt, step.datum_mm, "v" if grooved else "flat")
    known = step.over_pins_mm is not None
    return StepRim(
        section=belt,
        grooved=grooved,
        angle_deg=(step.groove_deg or 0.0) if grooved else 0.0,
        top_width_mm=step.top_width_mm,
        depth_mm=step.groove_depth_mm,
        angle_tolerance_deg=cut.angle_tolerance_deg,
        outside_less_pitch_mm=step.outside_mm - step.pitch_mm,
        pin_mm=step.pin_mm if known else None,
        pins_less_pitch_mm=step.over_pins_mm - step.pitch_mm if step.over_pins_mm is not None else None,
    )


def sizes_of(rim: StepRim, reading: BenchReading) -> list[Size]:
    """Return the pitch diameter by every way in which a reading tells it; none where it cannot be told.

    Over pins: the size over them less what pins add. Belt top: ``outside + 2·(height above the rim − depth of the
    datum line)``, which is where this belt runs in this groove. Plain rims: the diameter, or a tape once round,
    ``length/π − thickness``, as the middle of a bent tape keeps its length. Source: geometry.

    Examples
    --------
    Section A of 100 mm, groove as in GOST 20889-88 (read): 117.0 over 12 mm pins; flush with a rim of 106.6.

    >>> step = StepSheet(outside_mm=106.6, datum_mm=100, pitch_mm=100, over_pins_mm=117, pin_mm=12, source="turned",
    ...     rim="v", groove_deg=34, top_width_mm=13.018, groove_depth_mm=12, rim_speed_m_s=8)
    >>> rim = rim_of("A", step)
    >>> for reading in (BenchReading(over_pins_mm=116.4), BenchReading(outside_mm=106.6, belt_top_mm=-0.3)):
    ...     [(round(size.pitch_mm, 3), size.how) for size in sizes_of(rim, reading)]
    [(99.4, 'over pins')]
    [(99.4, 'belt top')]
    >>> sizes_of(rim, BenchReading(outside_mm=106.6))
    []
    """
    found: list[Size] = []
    pin = reading.pin_mm or rim.pin_mm
    if reading.over_pins_mm is not None and pin is not None and rim.flanks:
        angle = rim.angle_tolerance_deg / sqrt(3) * rim.per_degree_mm(pin)
        own = _standard(reading, "over pins")
        found.append(Size(reading.over_pins_mm - rim.over_less_pitch_mm(pin), hypot(own, angle), "over pins"))
    over = _over_the_rim(reading)
    if over is None:
        return found
    rim_mm, standard, how = over
    if not rim.grooved:
        found.append(Size(rim_mm - rim.outside_less_pitch_mm, standard, how))
    elif reading.belt_top_mm is not None:
        belt = rim.section
        datum = rim_mm + 2 * (reading.belt_top_mm - belt.datum_depth_mm)
        doubt = hypot(standard, 2 * _standard(reading, "belt top"))
        found.append(Size(datum + belt.pitch_shift_mm, doubt, "belt top"))
    return found


def combined(sizes: list[Size]) -> tuple[Size, float]:
    """Return one size from several, each weighted by how sure it is, and how far they lie apart.

    The distance is in standard uncertainties of the difference; above 3 they contradict each other.

    Examples
    --------
    >>> size, apart = combined([Size(100.0, 0.1, "over pins"), Size(100.3, 0.2, "belt top")])
    >>> round(size.pitch_mm, 3), round(size.standard_mm, 3), size.how, round(apart, 2)
    (100.06, 0.089, 'over pins, belt top', 1.34)
    """
    weights = [1 / size.standard_mm**2 for size in sizes]
    mean = sum(w * size.pitch_mm for w, size in zip(weights, sizes, strict=True)) / sum(weights)
    apart = max(
        (abs(a.pitch_mm - b.pitch_mm) / hypot(a.standard_mm, b.standard_mm) for a in sizes for b in sizes if a != b),
        default=0.0,
    )
    return Size(mean, 1 / sqrt(sum(weights)), ", ".join(dict.fromkeys(size.how for size in sizes))), apart


def _over_the_rim(reading: BenchReading) -> Size | None:
    """Return the diameter over the rim, by whatever it was measured."""
    found = [
        Size(mm, _standard(reading, "diameter"), "diameter")
        for mm in (reading.outside_mm, reading.diameter_mm)
        if mm is not None
    ]
    if reading.tape_mm is not None:
        thick = reading.tape_thickness_mm
        doubt = hypot(_standard(reading, "tape") / pi, TAPE_MM if thick is None else 0.0)
        found.append(Size(reading.tape_mm / pi - (thick or 0.0), doubt, "tape"))
    return combined(found)[0] if found else None


def _standard(reading: BenchReading, how: str) -> float:
    """Return the standard uncertainty of a figure as read; a resolution stated is that of the tool for diameters."""
    stated = reading.resolution_mm
    finest = FINEST_MM[how] if stated is None or how == "tape" else max(stated, 0.001)
    return finest / COVER


def step_at(stage: StageSheet, side: str, position: int) -> StepSheet:
    """Return a step of a stage, positions counted from 1."""
    at = stage.positions[position - 1]
    return at.driver if side == "driver" else at.driven


def reading_of(step: StepReading, check: DatedCheck) -> BenchReading:
    """Return what was read on a step, with the resolution stated for it or for the whole check."""
    read = BenchReading(*(getattr(step, name) for name in BenchReading._fields))
    return read if read.resolution_mm is not None else read._replace(resolution_mm=check.resolution_mm)


class Dated(NamedTuple):
    """A size as it was on one day; nothing where the reading of that day does not tell it."""

    date: datetime.date
    size: Size | None
    apart: float
    """How far several readings of that day lie apart, in standard uncertainties."""


class StepKnown(NamedTuple):
    """One step with what its readings tell."""

    stage: int
    """Belt stage from 0."""
    side: Literal["driver", "driven"]
    place: int
    """Position from 0."""
    of: StageSheet
    """Its stage as it was designed."""
    designed: StepSheet
    state: State
    size: Size | None
    """By the newest reading that tells it."""
    history: tuple[Dated, ...]
    """All readings, oldest first."""

    @property
    def key(self) -> str:
        """Place of its cone in the scenario, such as `stage[0].driver`."""
        return f"{self.of.key}.{self.side}"

    @property
    def shaft(self) -> str:
        """Name of the shaft that it sits on."""
        return self.of.driver_shaft if self.side == "driver" else self.of.driven_shaft

    @property
    def pitch_mm(self) -> float:
        """Pitch diameter as it is, or as it was designed where nothing is known."""
        return self.size.pitch_mm if self.size else self.designed.pitch_mm

    def bench(self, pitch_mm: float) -> Bench:
        """Return what measuring it should give when its pitch diameter is so large."""
        return bench(self.of.section, self.designed, pitch_mm)


def newest(measured: Measurements, machine: MachineSheet) -> tuple[StepKnown, ...]:
    """Return every step of a machine with what is known of it.

    A turned step without any reading is not turned yet, a bought or kept one is as it was stated. A step whose last
    reading does not tell its size is not guessed at, even where an older one did: it may have worn or been skimmed.
    A cone that two belts share is there once, as the driven one of the first.
    """
    return tuple(
        _known(measured, stage, (number, side, place))
        for number, stage in enumerate(machine.stages)
        for side in SIDES[stage.shared_driver :]
        for place in range(len(stage.positions))
    )


def _known(measured: Measurements, stage: StageSheet, where: tuple[int, Literal["driver", "driven"], int]) -> StepKnown:
    number, side, place = where
    designed = step_at(stage, side, place + 1)
    rim = rim_of(stage.section, designed)
    history: list[Dated] = []
    for check in measured.checks:
        for step in check.step:
            if (step.stage - 1, step.side, step.position - 1) != where:
                continue
            if not step.turned:
                history.clear()  # it is to be made anew
            elif step.read:
                sizes = sizes_of(rim, reading_of(step, check))
                size, apart = combined(sizes) if sizes else (None, 0.0)
                history.append(Dated(check.date or datetime.date.min, size, apart))
    last = history[-1].size if history else None
    state: State = "measured"
    if not history:
        state = "not turned" if designed.source == "turned" else "as stated"
    elif last is None:
        state = "cannot tell"
    return StepKnown(number, side, place, stage, designed, state, last, tuple(history))


class Bench(NamedTuple):
    """What is measured on a step at the bench."""

    how: How
    mm: float
    pin_mm: float | None = None


def bench(name: str, step: StepSheet, pitch_mm: float) -> Bench:
    """Return what measuring a step should give when its pitch diameter is so large.

    Parameters
    ----------
    name
        Section of its belt.
    step
        The step as it was designed, with a rim of that size.
    pitch_mm
        Its pitch diameter [mm].

    Examples
    --------
    >>> step = StepSheet(outside_mm=106.6, datum_mm=100, pitch_mm=100, over_pins_mm=117, pin_mm=12, source="turned",
    ...     rim="v", groove_deg=34, top_width_mm=13.018, groove_depth_mm=12, rim_speed_m_s=8)
    >>> bench("A", step, 99.5)
    Bench(how='over pins', mm=116.5, pin_mm=12.0)
    """
    if step.rim in ("flat", "crowned"):
        return Bench("diameter", step.outside_mm + pitch_mm - step.pitch_mm)
    if step.over_pins_mm is not None:
        return Bench("over pins", step.over_pins_mm + pitch_mm - step.pitch_mm, step.pin_mm)
    belt = section(name)
    top = pitch_mm - belt.pitch_shift_mm + 2 * belt.datum_depth_mm
    return Bench("belt top", (top - step.outside_mm) / 2)


def how_to_measure(how: str, pin: str = "") -> str:
    """Return in words how a step is measured so that its running diameter is known.

    Examples
    --------
    >>> how_to_measure("diameter")
    'measure the rim, or lay a tape once round it'
    """
    belt = "lay the belt in, taut, and measure how far its top stands above the rim (below: a minus) beside the outside"
    if how == "over pins":
        return f"lay two pins{pin} in the groove on opposite sides and measure over them; or {belt} diameter"
    return "measure the rim, or lay a tape once round it" if how == "diameter" else f"{belt} diameter"
