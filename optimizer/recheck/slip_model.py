"""Tachometer readings and the machine they were taken on, as residuals with their exact derivatives."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "SHIFT_LIMIT",
    "SLIP_LIMIT",
    "MotorSpeed",
    "ResidualRow",
    "SlipMachine",
    "SlipModel",
    "SlipStage",
    "SpeedReading",
    "plate_motor",
    "refuse_unusable",
    "resolution_uncertainty",
    "synchronous_rpm",
]

FINEST = 1e-6
"""Uncertainties are above it as a share of what they belong to."""
COARSEST, COARSEST_RPM = 0.05, 0.2
"""Largest standard uncertainty of a diameter and of a speed as shares: beyond, the linear law of errors misleads."""
PLATE_SHARE = 0.2
"""Tolerance of the difference between synchronous speed and that of the plate, IEC 60034-1, from memory."""
FURTHEST_BELOW = 0.12
"""How far below its synchronous speed an induction motor runs at full load, at most; common practice, no source."""


@dataclass(frozen=True)
class SpeedReading:
    """Speeds of one machine's shafts, read one after the other while nothing else changed."""

    positions: tuple[int, ...]
    """Where the belt of every stage lay, motor's stage first, counted from 0 as the stage's diameters are."""
    speeds_rpm: tuple[float | None, ...]
    """Speeds of the motor, of the shaft each stage drives, the spindle last; nothing where it was not read."""
    uncertainty_rpm: float
    """Standard uncertainty of each of the speeds; see `resolution_uncertainty`."""
    loaded: bool = False
    """Whether the machine was at work; else it ran idle."""
    motor_share: float = 1.0
    """Full-load speed of the motor as it was switched over that of the fastest setting, which the machine states."""
    shares: tuple[float, ...] = ()
    """What gears, as they were shifted, make of the speed of every shaft, 1 at their greatest ratio; all 1 where
    nothing is stated. The motor's is 1."""


@dataclass(frozen=True)
class SlipStage:
    """One stage: diameters on the pitch line that is assumed, with their standard uncertainties."""

    driver_mm: tuple[float, ...]
    driven_mm: tuple[float, ...]
    driver_uncertainty_mm: tuple[float, ...]
    driven_uncertainty_mm: tuple[float, ...]
    gain: float = 1.0
    """Fixed ratio between the shaft before, whose speed is read, and this stage's driver."""
    shared_driver: bool = False
    """Whether its driver is the driven cone of the stage before, read from the other end: `driver_mm` are its sizes."""


@dataclass(frozen=True)
class MotorSpeed:
    """Speed the motor is said to run at where it was not read."""

    rpm: float
    uncertainty_rpm: float
    """Standard uncertainty that all readings share."""
    drift_rpm: float
    """Standard deviation of the motor's speed from one reading to the next."""


@dataclass(frozen=True)
class SlipMachine:
    """A chain of stages from motor to spindle."""

    stages: tuple[SlipStage, ...]
    loaded_motor: MotorSpeed | None = None
    """For loaded readings without the motor's speed: mostly from its plate, which tells full load."""
    idle_motor: MotorSpeed | None = None
    """For idle readings without it: read once, never from the plate."""
    gain_out: float = 1.0
    """Fixed ratio between the last stage and the spindle."""

    def can_be(self, positions: Sequence[int]) -> bool:
        """Tell whether no two belts lie on one step of a cone that they share.

        Examples
        --------
        >>> sizes, doubts = ((60.0, 90.0), (90.0, 60.0)), ((0.1, 0.1), (0.1, 0.1))
        >>> machine = SlipMachine((SlipStage(*sizes, *doubts), SlipStage(*sizes, *doubts, shared_driver=True)))
        >>> machine.can_be((0, 0)), machine.can_be((0, 1))
        (True, False)
        """
        last = [len(stage.driver_mm) - 1 for stage in self.stages]
        return not any(
            stage.shared_driver and positions[number - 1] + positions[number] == last[number]
            for number, stage in enumerate(self.stages)
        )


def resolution_uncertainty(resolution: float) -> float:
    """Return the standard uncertainty of a figure read to a resolution, in its unit: ``resolution/sqrt(12)``.

    The figure may lie anywhere within half a unit of its last digit. Source: Guide to the Expression of Uncertainty
    in Measurement, F.2.2.1, from memory.

    Examples
    --------
    >>> round(resolution_uncertainty(1.0), 3)
    0.289
    """
    return resolution / sqrt(12)


def synchronous_rpm(plate_rpm: float) -> tuple[float, ...]:
    """Return the synchronous speeds near which an induction motor may idle [rpm], ``120·f/poles``, least first.

    Those at 50 and 60 Hz of which the plate's full-load speed is at least 88 %; none where there is none.

    Source: number of poles and frequency, any text on electrical machines.

    Examples
    --------
    >>> synchronous_rpm(1420), synchronous_rpm(1725), synchronous_rpm(690)
    ((1500.0,), (1800.0,), (720.0, 750.0))
    """
    speeds = {120.0 * hertz / poles for hertz in (50, 60) for poles in range(2, 26, 2)}
    return tuple(sorted(s for s in speeds if s * (1 - FURTHEST_BELOW) <= plate_rpm < s))


def plate_motor(plate_rpm: float) -> MotorSpeed:
    """Return what a motor's plate tells of its speed in loaded readings, full load being meant.

    The difference from synchronous speed may be off by a fifth (IEC 60034-1, tolerances, from memory), evenly
    likely: standard uncertainty ``0.2·(synchronous − plate)/sqrt(3)``, and as much again from reading to reading
    (judgement). Where no synchronous speed fits, 1 % of the speed each (judgement).

    Examples
    --------
    >>> motor = plate_motor(1420)
    >>> motor.rpm, round(motor.uncertainty_rpm, 1), round(motor.drift_rpm, 1)
    (1420, 9.2, 9.2)
    """
    speeds = synchronous_rpm(plate_rpm)
    doubt = PLATE_SHARE * (speeds[-1] - plate_rpm) / sqrt(3) if speeds else 0.01 * plate_rpm
    return MotorSpeed(plate_rpm, doubt, doubt)


def refuse_unusable(readings: Sequence[SpeedReading], machine: SlipMachine) -> None:
    """Raise if figures are missing, not finite, or cannot be.

    Raises
    ------
    ValueError
        Lists everything that is wrong, a line each.
    """
    faults = list(_machine_faults(machine))
    if not faults:
        faults = [f"reading {n}: {text}" for n, r in enumerate(readings, 1) for text in _reading_faults(r, machine)]
    if faults:
        raise ValueError("\n".join(faults))


def _machine_faults(machine: SlipMachine) -> Iterator[str]:
    if not machine.stages:
        yield "the machine has no stage"
    if not _sound(machine.gain_out):
        yield f"gain_out must be above 0 and below 1e6; got {machine.gain_out}"
    for name, motor in (("loaded_motor", machine.loaded_motor), ("idle_motor", machine.idle_motor)):
        if motor is not None:
            yield from _motor_faults(name, motor)
    for number, stage in enumerate(machine.stages, 1):
        for text in _stage_faults(stage):
            yield f"stage {number}: {text}"
        if stage.shared_driver and _driver(stage) != tuple(side[::-1] for side in _driven(machine.stages, number - 1)):
            yield f"stage {number}: its driver is not the driven cone of the stage before"


def _driver(stage: SlipStage) -> tuple[tuple[float, ...], ...]:
    return stage.driver_mm, stage.driver_uncertainty_mm


def _driven(stages: Sequence[SlipStage], number: int) -> tuple[tuple[float, ...], ...]:
    """Return diameters and uncertainties of the driven cone of the stage of that number, from 1; none of stage 0."""
    if not number:
        return ()
    return stages[number - 1].driven_mm, stages[number - 1].driven_uncertainty_mm


def _motor_faults(name: str, motor: MotorSpeed) -> Iterator[str]:
    for key, value in (
        ("rpm", motor.rpm),
        ("uncertainty_rpm", motor.uncertainty_rpm),
        ("drift_rpm", motor.drift_rpm),
    ):
        if not _sound(value):
            yield f"{name}.{key} must be above 0 and below 1e6; got {value}"
        elif key != "rpm" and value > COARSEST_RPM * motor.rpm:
            yield f"{name}.{key} is more than {COARSEST_RPM:.0%} of the speed; got {value}"


def _stage_faults(stage: SlipStage) -> Iterator[str]:
    if not _sound(stage.gain):
        yield f"gain must be above 0 and below 1e6; got {stage.gain}"
    sides = (stage.driver_mm, stage.driven_mm, stage.driver_uncertainty_mm, stage.driven_uncertainty_mm)
    if not stage.driver_mm or len({len(side) for side in sides}) > 1:
        yield f"diameters and uncertainties must be as many as positions, at least 1; got {[len(s) for s in sides]}"
        return
    for name, sizes, doubts in (("driver", *sides[0::2]), ("driven", *sides[1::2])):
        for position, (size, doubt) in enumerate(zip(sizes, doubts, strict=True), 1):
            place = f"{name}, position {position}"
            if not _sound(size):
                yield f"{place}: the diameter must be above 0 mm and below 1e6; got {size}"
            elif not doubt > FINEST * size:
                yield f"{place}: nothing is measured exactly, state its uncertainty; got {doubt}"
            elif doubt > COARSEST * size:
                yield f"{place}: the uncertainty is more than {COARSEST:.0%} of the diameter; got {doubt}"


def _reading_faults(reading: SpeedReading, machine: SlipMachine) -> Iterator[str]:
    count = len(machine.stages)
    if len(reading.positions) != count:
        yield f"must name a position of each of {count} stages; got {len(reading.positions)}"
    else:
        for number, (position, stage) in enumerate(zip(reading.positions, machine.stages, strict=True), 1):
            if not 0 <= position < len(stage.driver_mm):
                yield f"stage {number} has positions 0 to {len(stage.driver_mm) - 1}; got {position}"
        if not machine.can_be(reading.positions):
            yield f"both belts would lie on one step of a cone that they share; got {reading.positions}"
    if len(reading.speeds_rpm) != count + 1:
        yield f"must have a place for the speeds of {count + 1} shafts; got {len(reading.speeds_rpm)}"
    yield from _share_faults(reading, count)
    speeds = _stated(reading.speeds_rpm)
    if not speeds:
        yield "no speed was read"
    wrong = [s for s in speeds if not _sound(s)]
    if wrong:
        yield f"speeds must be above 0 rpm and below 1e6; got {', '.join(map(str, wrong))}"
    if not reading.uncertainty_rpm > FINEST * max((s for s in speeds if _sound(s)), default=0.0):
        yield f"nothing is read exactly, state its uncertainty; got {reading.uncertainty_rpm}"
    elif not wrong and speeds and reading.uncertainty_rpm > COARSEST_RPM * min(speeds):
        yield f"the uncertainty is more than {COARSEST_RPM:.0%} of the least speed; got {reading.uncertainty_rpm}"


def _share_faults(reading: SpeedReading, count: int) -> Iterator[str]:
    if reading.shares and (len(reading.shares) != count + 1 or reading.shares[0] != 1):
        yield f"must have a share for each of {count + 1} shafts, 1 for the motor; got {reading.shares}"
    if not all(map(_sound, (reading.motor_share, *reading.shares))):
        yield f"shares must be above 0 and below 1e6; got {(reading.motor_share, *reading.shares)}"


def _stated(values: Iterable[float | None]) -> list[float]:
    return [value for value in values if value is not None]


def _sound(value: float) -> bool:
    return 1e-6 < value < 1e6


Floats = NDArray[np.float64]
SLIP_LIMIT = 0.01
"""Standard uncertainty above which a slip says nothing: slips of sound belts are of that size (judgement)."""
SHIFT_LIMIT = 0.01
"""The same for the shift of the pitch line, as a share of the stage's least diameter (judgement)."""

FURTHEST_SIZE = 0.15
"""A true diameter is let go from its measured one by no more than this share, so that none comes near 0."""


class ResidualRow(NamedTuple):
    """What one row of the residuals is: a speed that was read, or something known beforehand."""

    reading: int | None = None
    shaft: int | None = None


@dataclass(frozen=True)
class _Vector:
    """Where each unknown stands: what is asked, then diameters, then motors.

    For `n` stages: ln(1 − slip) idle and loaded of each, 2·n; shifts [mm], n; errors of all diameters in their own
    uncertainties; ln of the motor's common speed idle and loaded where stated; ln of the motor's speed in each reading.
    """

    stages: int
    diameters: tuple[tuple[tuple[int, ...], tuple[int, ...]], ...]
    """Of every driver and every driven of each stage; those of a cone that two belts share are the same."""
    common: dict[bool, int]
    """By loaded."""
    motors: int

    def slip(self, stage: int, loaded: bool) -> int:
        return 2 * stage + loaded

    def shift(self, stage: int) -> int:
        return 2 * self.stages + stage

    @property
    def asked(self) -> int:
        return 3 * self.stages


class SlipModel:
    """Readings as functions of slips, shifts, true diameters and motor speeds.

    With the driver's and driven's diameters `D` and `d` on the assumed pitch line, `e` the shift of the pitch line
    outward, slip `s`, a stage turns the speed by ``(D + 2·e)/(d + 2·e)·(1 − s)``; everything is in logarithms.

    Parameters
    ----------
    readings, machine
        As `refuse_unusable` lets them pass.
    """

    def __init__(self, readings: Sequence[SpeedReading], machine: SlipMachine) -> None:
        self.readings = tuple(readings)
        self.machine = machine
        at, diameters = 3 * len(machine.stages), list[tuple[tuple[int, ...], tuple[int, ...]]]()
        for stage in machine.stages:
            count = len(stage.driver_mm)
            if stage.shared_driver:
                drivers = diameters[-1][1][::-1]
            else:
                drivers, at = tuple(range(at, at + count)), at + count
            diameters.append((drivers, tuple(range(at, at + count))))
            at += count
        self._diameters_end = at
        common: dict[bool, int] = {}
        for loaded, motor in ((False, machine.idle_motor), (True, machine.loaded_motor)):
            if motor is not None:
                common[loaded], at = at, at + 1
        self.at = _Vector(len(machine.stages), tuple(diameters), common, at)
        self.size = at + len(self.readings)
        self.rows = self._rows()

    @property
    def scale(self) -> Floats:
        """Limits of use of what is asked: one of each is an uncertainty beyond which it says nothing."""
        slips = [SLIP_LIMIT] * (2 * self.at.stages)
        shifts = [SHIFT_LIMIT * min(*s.driver_mm, *s.driven_mm) for s in self.machine.stages]
        return np.array(slips + shifts)

    @property
    def furthest(self) -> Floats:
        """Return how far each true diameter is let go from its measured one, in its uncertainties."""
        pairs = [
            (size, doubt)
            for stage in self.machine.stages
            for sizes, doubts in (
                *(() if stage.shared_driver else ((stage.driver_mm, stage.driver_uncertainty_mm),)),
                (stage.driven_mm, stage.driven_uncertainty_mm),
            )
            for size, doubt in zip(sizes, doubts, strict=True)
        ]
        return np.array([FURTHEST_SIZE * size / doubt for size, doubt in pairs])

    def motor(self, reading: SpeedReading) -> MotorSpeed | None:
        """Return what the motor is said to do in a reading without its speed."""
        return self.machine.loaded_motor if reading.loaded else self.machine.idle_motor

    def start(self) -> Floats:
        """Return no slip, no shift, diameters as measured, motors as the readings have them."""
        vector = np.zeros(self.size)
        for loaded, place in self.at.common.items():
            motor = self.machine.loaded_motor if loaded else self.machine.idle_motor
            assert motor is not None
            vector[place] = log(motor.rpm)
        for number, reading in enumerate(self.readings):
            logs = self._along(vector, reading)[0]
            read = [(log(s) - before) for s, before in zip(reading.speeds_rpm, logs, strict=True) if s is not None]
            vector[self.at.motors + number] = read[0]
        return vector

    def chain(self, vector: Floats, positions: Sequence[int], loaded: bool) -> tuple[Floats, Floats]:
        """Return ln(speed of each shaft over the motor's), with gradients, shape (stages + 1, unknowns).

        Gears are at their greatest ratios.
        """
        logs, gradients = np.zeros(self.at.stages + 1), np.zeros((self.at.stages + 1, self.size))
        for number, (stage, position) in enumerate(zip(self.machine.stages, positions, strict=True)):
            slip, shift = self.at.slip(number, loaded), self.at.shift(number)
            driver, driven = (places[position] for places in self.at.diameters[number])
            doubts = stage.driver_uncertainty_mm[position], stage.driven_uncertainty_mm[position]
            big = stage.driver_mm[position] + doubts[0] * vector[driver] + 2 * vector[shift]
            small = stage.driven_mm[position] + doubts[1] * vector[driven] + 2 * vector[shift]
            logs[number + 1] = logs[number] + np.log(stage.gain * big / small) + vector[slip]
            gradients[number + 1] = gradients[number]
            gradients[number + 1, slip] += 1
            gradients[number + 1, shift] += 2 / big - 2 / small
            gradients[number + 1, driver] += doubts[0] / big
            gradients[number + 1, driven] -= doubts[1] / small
        logs[-1] += log(self.machine.gain_out)
        return logs, gradients

    def _along(self, vector: Floats, reading: SpeedReading) -> tuple[Floats, Floats]:
        """Return the chain of a reading, with its gears as they were shifted."""
        logs, gradients = self.chain(vector, reading.positions, reading.loaded)
        return logs + np.log(reading.shares or np.ones(len(logs))), gradients

    def residuals(self, vector: Floats) -> tuple[Floats, Floats]:
        """Return residuals in standard uncertainties with their Jacobian, rows as in `rows`."""
        values, jacobian = [], []
        for number, reading in enumerate(self.readings):
            logs, gradients = self._along(vector, reading)
            motor = self.at.motors + number
            gradients[:, motor] = 1
            for shaft, rpm in enumerate(reading.speeds_rpm):
                if rpm is not None:
                    weight = rpm / reading.uncertainty_rpm
                    values.append(weight * (vector[motor] + logs[shaft] - log(rpm)))
                    jacobian.append(weight * gradients[shaft])
            said = self.motor(reading)
            if said is not None and reading.speeds_rpm[0] is None:
                weight = said.rpm / said.drift_rpm
                common = self.at.common[reading.loaded]
                values.append(weight * (vector[motor] - log(reading.motor_share) - vector[common]))
                jacobian.append(weight * self._unit(motor) - weight * self._unit(common))
        for loaded, place in self.at.common.items():
            said = self.machine.loaded_motor if loaded else self.machine.idle_motor
            assert said is not None
            weight = said.rpm / said.uncertainty_rpm
            values.append(weight * (vector[place] - log(said.rpm)))
            jacobian.append(weight * self._unit(place))
        for place in range(self.at.asked, self._diameters_end):
            values.append(vector[place])
            jacobian.append(self._unit(place))
        return np.array(values), np.array(jacobian)

    def expected_rpm(self, vector: Floats, number: int) -> tuple[float, ...]:
        """Return the speeds of all shafts in a reading as they follow from the unknowns [rpm]."""
        reading = self.readings[number]
        logs = self._along(vector, reading)[0]
        return tuple(exp(vector[self.at.motors + number] + value) for value in logs)

    def _unit(self, place: int) -> Floats:
        unit = np.zeros(self.size)
        unit[place] = 1
        return unit

    def _rows(self) -> tuple[ResidualRow, ...]:
        rows = []
        for number, reading in enumerate(self.readings):
            rows += [ResidualRow(number, shaft) for shaft, rpm in enumerate(reading.speeds_rpm) if rpm is not None]
            if reading.speeds_rpm[0] is None and self.motor(reading) is not None:
                rows.append(ResidualRow(number))
        return tuple(rows + [ResidualRow()] * (len(self.at.common) + self._diameters_end - self.at.asked))
