"""What a made machine is by what was measured on it, and what could be done about it."""

from __future__ import annotations

from typing import Literal

from optimizer.records.design import CheckSheet, SeriesSheet, SkippedSheet, Version
from optimizer.records.figures import Document
from optimizer.scenario.base import Model

__all__ = [
    "BandNow",
    "BeltNow",
    "MadeSheet",
    "OptionSheet",
    "OtherNow",
    "PositionNow",
    "ReadSpeed",
    "Recheck",
    "SharedNow",
    "SizeThen",
    "SlipSheet",
    "SlipValue",
    "SpeedNow",
    "StageNow",
    "StepChange",
    "StepNow",
    "Verdict",
]

Verdict = Literal["all is well", "turn the rest", "skim", "change the belt", "make a step anew", "measure", "no remedy"]


class SizeThen(Model):
    """A step as it was on one day."""

    date: str
    pitch_mm: float | None
    """Nothing where the reading of that day does not tell it."""
    read_by: str = ""


class StepNow(Model):
    """One step as it is."""

    side: str
    """Place in the scenario, such as `stage[0].driver`."""
    shaft: str
    position: int
    state: Literal["measured", "not turned", "as stated", "cannot tell"]
    source: Literal["turned", "ready", "kept", "in hand"]
    read_by: str = ""
    """What it was measured by."""
    designed_mm: float
    """Pitch diameter of the design."""
    pitch_mm: float
    """Pitch diameter now; the design's where it is not measured."""
    uncertainty_mm: float | None = None
    """Two standard uncertainties; nothing where it is not measured."""
    measure: Literal["over pins", "diameter", "belt top"]
    """What is best measured on it."""
    measure_mm: float
    """What that comes to now: size over the pins, diameter of the rim, place of the belt's top over the rim."""
    pin_mm: float | None = None
    history: tuple[SizeThen, ...] = ()
    """All readings, oldest first."""
    worn_mm: float | None = None
    """How much smaller it is than by the reading before; nothing with fewer than two."""
    note: str = ""
    """What is odd about its readings, or how to measure it."""


class PositionNow(Model):
    """One placing of a stage's belt."""

    number: int
    centre_mm: float | None
    """Centre distance at which the one belt, of nominal length, is just taut; nothing where it does not go round."""
    uncertainty_mm: float | None
    """Two standard uncertainties."""
    known: bool
    """Whether both steps were measured, or are there as stated."""


class BeltNow(Model):
    """A belt's length by a measured centre distance."""

    date: str
    stage: int
    """Counted from 1, motor's first."""
    position: int
    centre_mm: float
    length_mm: float
    """Length along the pitch line."""
    uncertainty_mm: float
    """Two standard uncertainties."""
    longer_mm: float
    """Than its nominal length."""


class StageNow(Model):
    """One belt stage."""

    key: str
    driver_shaft: str
    driven_shaft: str
    marking: str
    length_mm: float
    """Nominal length along the pitch line."""
    window_mm: float
    """How far the positions' centre distances may lie apart: travel left by the budget, and what a belt forgives."""
    spread_mm: float | None
    """How far they do; nothing where the belt does not go round at every position."""
    uncertainty_mm: float | None
    """Two standard uncertainties of it."""
    limits_mm: tuple[float, float]
    """Least and greatest own centre distance that is allowed."""
    fits: bool
    """Whether the one belt fits at every position."""
    sure: bool
    """Whether that is beyond the uncertainty of what was measured."""
    positions: tuple[PositionNow, ...]


class SharedNow(Model):
    """A mount whose one setting must fit several belts, at the positions where that is hardest."""

    shaft: str
    stages: tuple[int, int]
    """The two belts, counted from 1."""
    positions: tuple[int, int]
    """Their positions, counted from 1."""
    apart_mm: float
    """How far apart the settings lie at which each of them is just taut."""
    forgiven_mm: float
    """How far apart they may lie."""
    uncertainty_mm: float
    """Two standard uncertainties of how far apart they lie."""
    fits: bool
    """Whether one setting does at every two positions that the belts can be on together."""

    @property
    def sure(self) -> bool:
        """Whether that is beyond the uncertainty of what was measured."""
        return abs(self.forgiven_mm - self.apart_mm) >= self.uncertainty_mm


class OtherNow(Model):
    """Another way of making nearly a speed."""

    positions: tuple[int, ...]
    rpm: float


class SpeedNow(Model):
    """One spindle speed."""

    number: int
    positions: tuple[int, ...]
    settings: tuple[int, ...] = ()
    """Setting of all that is switched, counted from 1, the slowest."""
    plate_rpm: float
    """As the design, and the speed plate, have it on these positions."""
    rpm: float
    """From the sizes as they are, with the slip that was stated."""
    off: float
    """Share by which that differs from the plate."""
    uncertainty: float
    """Two standard uncertainties, a share; of what was measured only."""
    known: bool
    """Whether all of its steps were measured, or are there as stated."""
    on_plate: bool = True
    """Whether the plate would have it; where speeds are free, those that would make the plate less even are not."""
    others: tuple[OtherNow, ...] = ()
    """Where speeds are free, other ways of making nearly it."""


class BandNow(Model):
    """A band with the speeds that count in it."""

    name: str
    want: int
    have: int


class MadeSheet(Model):
    """Figures of a machine with given sizes and belts."""

    stages: tuple[StageNow, ...]
    speeds: tuple[SpeedNow, ...]
    bands: tuple[BandNow, ...]
    series: SeriesSheet
    checks: tuple[CheckSheet, ...]
    shared: tuple[SharedNow, ...] = ()
    """Mounts that change several belts."""

    @property
    def failed(self) -> tuple[CheckSheet, ...]:
        """Checks of what is impossible, and of limits, that it fails."""
        return tuple(check for check in self.checks if not check.passed and check.kind != "advice")

    @property
    def wants_met(self) -> bool:
        """Whether every band has as many speeds as are wanted."""
        return all(band.have >= band.want for band in self.bands)


class StepChange(Model):
    """A step to skim, to turn, or to make anew."""

    side: str
    shaft: str
    position: int
    pitch_mm: float
    """What it becomes."""
    from_mm: float
    """What it is, or what the design has where it is not turned yet."""
    deeper_mm: float
    """How much comes off on the radius; 0 where it is not turned yet."""
    outside_mm: float
    """Diameter over the rim that goes with it where it is turned from the blank."""
    measure: Literal["over pins", "diameter", "belt top"]
    measure_mm: float
    """What to measure when it is done."""
    measure_from_mm: float
    pin_mm: float | None = None


class OptionSheet(Model):
    """One thing that could be done, with what the machine then is."""

    kind: Literal["turn", "skim", "belt", "anew"]
    belts: tuple[str, ...]
    """Belt of every stage."""
    other_belts: tuple[int, ...] = ()
    """Stages, from 1, whose belt is another one."""
    skim: tuple[StepChange, ...] = ()
    turn: tuple[StepChange, ...] = ()
    """Steps not turned yet, with the sizes that now go best."""
    anew: tuple[StepChange, ...] = ()
    """Steps to make anew from a blank."""
    skim_mm: float
    """Sum of what comes off, on diameters."""
    within: Literal["advice", "limits"]
    """Whether end miss and unevenness are within what is advised, or only within their limits."""
    proved: bool
    """Whether no less skimming does it, over the sizes that were looked at."""
    said: str = ""
    """What bounded the search."""
    made: MadeSheet


class ReadSpeed(Model):
    """A speed that was read with a tachometer."""

    date: str
    positions: tuple[int, ...]
    settings: tuple[int, ...] = ()
    """Setting of all that is switched, counted from 1, the slowest."""
    shaft: str
    load: Literal["idle", "loaded"]
    rpm: float
    motor_rpm: float | None
    reckoned_rpm: float | None
    """From the sizes, the slip stated, and the motor's speed as read; nothing without that."""
    off: float | None


class SlipValue(Model):
    """A slip, or a shift of the pitch line, by the speeds read."""

    name: str
    known: str
    value: float | None
    """A share, or mm on the radius."""
    unit: Literal["share", "mm"]
    uncertainty: float | None
    """Two standard uncertainties."""
    stated: float
    """What the scenario, or the section, has."""
    why: str = ""


class SlipSheet(Model):
    """What the speeds tell of slip and pitch line."""

    values: tuple[SlipValue, ...]
    together: tuple[str, ...]
    """What is known of combinations only."""
    consistent: bool | None
    """Whether the readings agree within their uncertainties; nothing where none checks another."""
    suspects: tuple[str, ...]
    further: str = ""
    """The reading that would tell most."""
    remarks: tuple[str, ...] = ()


class Recheck(Document):
    """A made machine beside its design."""

    format: Literal["conewright recheck 1"] = "conewright recheck 1"
    title: str
    units: Literal["mm", "cm", "in"]
    """Units of the maker's file, used in texts; this document is in mm throughout."""
    scenario: str
    """Name of the scenario's file."""
    scenario_sha256: str
    measured: str
    """Name of the file of measurements."""
    measured_sha256: str
    dates: tuple[str, ...]
    """Days of the checks, oldest first; for every step the newest reading counts."""
    verdict: Verdict
    said: str
    """The verdict in a sentence."""
    steps: tuple[StepNow, ...]
    designed: SeriesSheet
    now: MadeSheet
    lengths: tuple[BeltNow, ...] = ()
    """Lengths of the belts by measured centre distances."""
    read_speeds: tuple[ReadSpeed, ...] = ()
    slip: SlipSheet | None = None
    """Nothing where no speed was read."""
    options: tuple[OptionSheet, ...] = ()
    """What could be done, the one proposed first."""
    skipped: tuple[SkippedSheet, ...] = ()
    remarks: tuple[str, ...] = ()
    cautions: tuple[str, ...]
    versions: tuple[Version, ...]

    @property
    def in_doubt(self) -> bool:
        """Whether a check fails, or could not be made for want of a reading."""
        return bool(self.now.failed) or self.verdict in ("measure", "no remedy")
