"""What tachometer readings tell of a made machine: speeds against the reckoned ones, slip, pitch line, belt lengths."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import NamedTuple

from optimizer.geometry.belts import belt_length_mm, length_gradient
from optimizer.mechanics.motors import fields_above_rpm
from optimizer.recheck.made import MadeMachine, SizesNow
from optimizer.recheck.readings import DatedCheck, Measurements, RpmReading
from optimizer.recheck.records import BeltNow, ReadSpeed, SlipSheet, SlipValue
from optimizer.recheck.slip import SlipFigure, Unknown, estimate
from optimizer.recheck.slip_model import (
    MotorSpeed,
    SlipMachine,
    SlipStage,
    SpeedReading,
)
from optimizer.scenario import BeltStage, FixedStage
from optimizer.scenario.chain import MOTOR

__all__ = ["belt_lengths", "read_speeds", "slip_sheet"]

FINEST, COARSEST = 1e-6, 0.2
"""Least and largest standard uncertainty of a speed, as shares of it: no less can be worked with, and beyond, the
linear law of errors misleads."""
ALIKE = ("positions", "settings", "load", "motor_rpm")
"""What readings of several shafts have in common where nothing else changed between them."""
COVER = 2.0
"""Standard uncertainties that a stated resolution is taken for; judgement."""
FINEST_CENTRE_MM = 0.5
"""What a centre distance may be off by either way where no resolution is stated; judgement."""
UNMEASURED_MM = 0.5
"""Standard uncertainty of a step that is taken as designed, or as stated; judgement."""
PLATE_SHARE = 0.01
"""Least standard uncertainty of the nameplate's speed at full load, a share; judgement."""


class _Shaft(NamedTuple):
    """A driven shaft by the belt stage before it."""

    stage: int
    gain: float
    """Its speed over that of the shaft which that stage drives, gears at their greatest ratios."""


def _shafts(made: MadeMachine) -> dict[str, _Shaft]:
    """Return every driven shaft, by name; those before the first belt are of stage -1."""
    found: dict[str, _Shaft] = {}
    stage, gain = -1, 1.0
    for link in made.scenario.chain:
        if isinstance(link, BeltStage):
            stage, gain = stage + 1, 1.0
        elif isinstance(link, FixedStage):
            gain *= link.ratio
        found[link.to_shaft] = _Shaft(stage, gain)
    return found


def read_speeds(made: MadeMachine, sizes: SizesNow, measured: Measurements) -> tuple[ReadSpeed, ...]:
    """Return every speed that was read beside the one reckoned from the sizes, with the slip that was stated."""
    spindle = made.job.design.machine.spindle
    found = []
    for check in measured.checks:
        for read in check.speed:
            if read.speed_rpm is None:
                continue
            shaft = read.shaft or spindle
            reckoned = None
            if read.motor_rpm is not None:
                reckoned = read.motor_rpm * _ratio(made, sizes, read, shaft)
            found.append(
                ReadSpeed(
                    date=str(check.date),
                    positions=read.positions,
                    settings=read.settings,
                    shaft=shaft,
                    load=read.load,
                    rpm=read.speed_rpm,
                    motor_rpm=read.motor_rpm,
                    reckoned_rpm=reckoned,
                    off=None if reckoned is None else read.speed_rpm / reckoned - 1,
                )
            )
    return tuple(found)


def slip_sheet(made: MadeMachine, sizes: SizesNow, measured: Measurements) -> SlipSheet | None:
    """Return what the speeds of the newest check with any tell of slip and pitch line; nothing without readings."""
    check = next((c for c in reversed(measured.checks) if any(r.speed_rpm is not None for r in c.speed)), None)
    if check is None:
        return None
    told = estimate(_readings(made, check), _machine(made, sizes))
    return SlipSheet(
        values=tuple(_value(made, quantity) for quantity in told.quantities),
        together=tuple(both.text for both in told.together),
        consistent=told.consistent,
        suspects=tuple(suspect.text for suspect in told.suspects),
        further=told.next_reading.text if told.next_reading else "",
        remarks=told.remarks,
    )


def belt_lengths(made: MadeMachine, sizes: SizesNow, measured: Measurements) -> tuple[BeltNow, ...]:
    """Return how long every belt is by the centre distances at which it was taut."""
    found = []
    for check in measured.checks:
        for read in check.centre:
            if read.centre_mm is None or read.position is None:
                continue
            k, place = read.stage - 1, read.position - 1
            crossed, nominal = made.problem.stages[k].crossed, made.belts[k].length_mm
            steps = sizes[k].positions[place]
            a, b = (step.pitch_mm for step in steps)
            long = belt_length_mm(a, b, read.centre_mm, crossed=crossed)
            if not long > 0:
                continue
            slopes = length_gradient(a, b, read.centre_mm, crossed=crossed)
            finest = (FINEST_CENTRE_MM if read.resolution_mm is None else read.resolution_mm) / COVER
            doubts = (*(step.standard_mm for step in steps), finest)
            found.append(
                BeltNow(
                    date=str(check.date),
                    stage=read.stage,
                    position=read.position,
                    centre_mm=read.centre_mm,
                    length_mm=long,
                    uncertainty_mm=2 * hypot(*(slope * doubt for slope, doubt in zip(slopes, doubts, strict=True))),
                    longer_mm=long - nominal,
                )
            )
    return tuple(found)


def _ratio(made: MadeMachine, sizes: SizesNow, read: RpmReading, shaft: str) -> float:
    """Return the speed of a shaft over the motor's, from the sizes, the slip that was stated, gears as they were."""
    stage, gain = _shafts(made)[shaft]
    ratio = gain * _shifted(made, read.settings)[shaft]
    for k in range(stage + 1):
        a, b = (step.pitch_mm for step in sizes[k].positions[read.positions[k] - 1])
        ratio *= made.problem.stages[k].gain * a / b * (1 - made.problem.stages[k].slip)
    return ratio


def _shares(made: MadeMachine, settings: tuple[int, ...]) -> dict[str, float]:
    """Return what every switch makes of a speed at its setting, counted from 1, by its place: 1 at its fastest."""
    switches = zip(made.scenario.switches, settings, strict=True)
    return {switch.key: switch.shares[setting - 1] for switch, setting in switches}


def _shifted(made: MadeMachine, settings: tuple[int, ...]) -> dict[str, float]:
    """Return what gears, as they were shifted, make of the speed of every shaft: 1 at their greatest ratio."""
    shares, chain, share = _shares(made, settings), made.scenario.chain, 1.0
    found = {chain[0].from_shaft: share}
    for stage in chain:
        share *= shares.get(made.scenario.place_of(stage), 1.0)
        found[stage.to_shaft] = share
    return found


@dataclass
class _AtOnce:
    """Speeds of several shafts that were read one after the other while nothing else changed."""

    read: RpmReading
    """The first of them."""
    speeds_rpm: list[float | None]
    doubt_rpm: float

    def takes(self, read: RpmReading, place: int, value_rpm: float, doubt_rpm: float) -> bool:
        """Tell whether a speed can stand beside them: nothing else has changed, its place is free, and the doubt that
        all would have suits the slowest.
        """
        same = all(getattr(read, key) == getattr(self.read, key) for key in ALIKE) and self.speeds_rpm[place] is None
        slowest = min(rpm for rpm in (*self.speeds_rpm, value_rpm) if rpm is not None)
        return same and max(self.doubt_rpm, doubt_rpm) <= COARSEST * slowest


def _readings(made: MadeMachine, check: DatedCheck) -> list[SpeedReading]:
    """Return the readings of one check; those of several shafts at the same positions and load are one."""
    shafts, spindle = _shafts(made), made.job.design.machine.spindle
    belts = [stage.to_shaft for stage in made.scenario.chain if isinstance(stage, BeltStage)]
    ends = (*belts[:-1], spindle)
    rows: list[_AtOnce] = []
    for read in check.speed:
        shaft = read.shaft or spindle
        stage, gain = shafts[shaft]
        if read.speed_rpm is None or stage < 0:
            continue
        into, shifted = shafts[ends[stage]].gain, _shifted(made, read.settings)
        value = read.speed_rpm / (gain * shifted[shaft]) * into * shifted[ends[stage]]
        doubt = read.finest_rpm / COVER * value / read.speed_rpm
        row = next((row for row in rows if row.takes(read, stage + 1, value, doubt)), None)
        if row is None:
            row = _AtOnce(read, [read.motor_rpm, *(None for _ in made.problem.stages)], doubt)
            rows.append(row)
        row.speeds_rpm[stage + 1] = value
        row.doubt_rpm = max(row.doubt_rpm, doubt)
    found = []
    for row in rows:
        shifted = _shifted(made, row.read.settings)
        found.append(
            SpeedReading(
                positions=tuple(p - 1 for p in row.read.positions),
                speeds_rpm=tuple(row.speeds_rpm),
                uncertainty_rpm=max(row.doubt_rpm, 2 * FINEST * max(rpm for rpm in row.speeds_rpm if rpm is not None)),
                loaded=row.read.load == "loaded",
                motor_share=_shares(made, row.read.settings).get(MOTOR, 1.0),
                shares=tuple(shifted[shaft] for shaft in (made.scenario.chain[0].from_shaft, *ends)),
            )
        )
    return found


def _machine(made: MadeMachine, sizes: SizesNow) -> SlipMachine:
    """Return the machine as the estimate wants it."""
    stages = []
    sheets = made.job.design.machine.stages
    for rules, sheet, two in zip(made.problem.stages, sheets, sizes, strict=True):
        drivers, drivens = (tuple(step.pitch_mm for step in side) for side in two)
        one, other = (tuple(step.standard_mm or UNMEASURED_MM for step in side) for side in two)
        stages.append(SlipStage(drivers, drivens, one, other, rules.gain, sheet.shared_driver))
    motor = made.scenario.motor
    shares = [PLATE_SHARE]
    for plate in (*motor.slower_rpm, motor.speed_rpm):
        above = min(fields_above_rpm(plate), default=plate)
        shares.append((above - plate) / 2 / plate)
    doubt = max(shares) * motor.speed_rpm
    # What one winding's plate is off by is not what another's is, so that with several each reading is as doubtful.
    drift = doubt if motor.slower_rpm else doubt / 2
    return SlipMachine(tuple(stages), MotorSpeed(motor.speed_rpm, doubt, drift), None, made.problem.gain_out)


def _value(made: MadeMachine, quantity: SlipFigure) -> SlipValue:
    slip = quantity.asked is Unknown.SLIP
    return SlipValue(
        name=quantity.name,
        known=str(quantity.known),
        value=quantity.value,
        unit="share" if slip else "mm",
        uncertainty=None if quantity.uncertainty is None else 2 * quantity.uncertainty,
        stated=made.problem.stages[quantity.stage].slip if slip else 0.0,
        why="; ".join(part for part in (quantity.why, quantity.advice) if part),
    )
