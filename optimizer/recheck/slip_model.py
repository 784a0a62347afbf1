"""Tachometer readings and the machine they were taken on, as residuals with their exact derivatives."""

from __future__ import annotations

from collections.abc import Sequence
from math import log
from typing import Annotated, NamedTuple

import numpy as np
from numpy.typing import NDArray
from pydantic import Field
from pydantic.dataclasses import dataclass

__all__ = [
    "SHIFT_LIMIT",
    "SLIP_LIMIT",
    "MotorSpeed",
    "ResidualRow",
    "SlipMachine",
    "SlipModel",
    "SlipStage",
    "SpeedReading",
]

Floats = NDArray[np.float64]
SLIP_LIMIT = 0.01
"""Standard uncertainty above which a slip says nothing: slips of sound belts are of that size (judgement)."""
SHIFT_LIMIT = 0.01
"""The same for the shift of the pitch line, as a share of the stage's least diameter (judgement)."""

FURTHEST_SIZE = 0.15
"""A true diameter is let go from its measured one by no more than this share, so that none comes near 0."""

Positive = Annotated[float, Field(gt=1e-6, lt=1e6)]
"""What speeds, sizes, their uncertainties and ratios are: nothing is read, or measured, exactly."""


@dataclass(frozen=True)
class SpeedReading:
    """Speeds of one machine's shafts, read one after the other while nothing else changed."""

    positions: tuple[int, ...]
    """Where the belt of every stage lay, motor's stage first, counted from 0 as the stage's diameters are."""
    speeds_rpm: tuple[Positive | None, ...]
    """Speeds of the motor, of the shaft each stage drives, the spindle last; nothing where it was not read."""
    uncertainty_rpm: Positive
    """Standard uncertainty of each of the speeds."""
    loaded: bool = False
    """Whether the machine was at work; else it ran idle."""
    motor_share: Positive = 1.0
    """Full-load speed of the motor as it was switched over that of the fastest setting, which the machine states."""
    shares: tuple[Positive, ...] = ()
    """What gears, as they were shifted, make of the speed of every shaft, 1 at their greatest ratio; all 1 where
    nothing is stated. The motor's is 1."""


@dataclass(frozen=True)
class SlipStage:
    """One stage: diameters on the pitch line that is assumed, with their standard uncertainties."""

    driver_mm: tuple[Positive, ...]
    driven_mm: tuple[Positive, ...]
    driver_uncertainty_mm: tuple[Positive, ...]
    driven_uncertainty_mm: tuple[Positive, ...]
    gain: Positive = 1.0
    """Fixed ratio between the shaft before, whose speed is read, and this stage's driver."""
    shared_driver: bool = False
    """Whether its driver is the driven cone of the stage before, read from the other end: `driver_mm` are its sizes."""


@dataclass(frozen=True)
class MotorSpeed:
    """Speed the motor is said to run at where it was not read."""

    rpm: Positive
    uncertainty_rpm: Positive
    """Standard uncertainty that all readings share."""
    drift_rpm: Positive
    """Standard deviation of the motor's speed from one reading to the next."""


@dataclass(frozen=True)
class SlipMachine:
    """A chain of stages from motor to spindle."""

    stages: Annotated[tuple[SlipStage, ...], Field(min_length=1)]
    loaded_motor: MotorSpeed | None = None
    """For loaded readings without the motor's speed: mostly from its plate, which tells full load."""
    idle_motor: MotorSpeed | None = None
    """For idle readings without it: read once, never from the plate."""
    gain_out: Positive = 1.0
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
    readings
        Any number, none too, at positions that the machine has.
    machine
        Its stages, and what the motor is said to do.
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
