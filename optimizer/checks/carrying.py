"""What every belt carries at every spindle speed, how hard it pulls, and what torque is left for the work."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan, pi
from typing import NamedTuple

from optimizer.catalogue.ratings import ratings_of
from optimizer.checks.spindle import bands_at
from optimizer.checks.stated import Machine, Pair, wraps_deg
from optimizer.checks.verdict import Check, Rule, Skipped, at_least
from optimizer.mechanics.carrying import FrictionRating, Rating, carried_kw, governing
from optimizer.mechanics.shafts import torque_nm as torque_of_nm
from optimizer.mechanics.tension import Strands, bends_per_second, pretension_n, shaft_pull_n, slip_pull_n, strands_n
from optimizer.quantities.digits import meaningful
from optimizer.scenario.stage import passed_on

__all__ = ["BeltLoad", "Pull", "carrying_checks", "loads", "must_kw", "place_in_chain", "torque_nm", "unknown_carrying"]

CREEP_M_S = 0.01
"""Slowest belt of which pulls are told: a belt that stands carries nothing."""


class Pull(NamedTuple):
    """How hard a belt pulls while it carries what it must, or what it can if that is less."""

    pretension_n: float
    """Pull of each strand at rest."""
    tight_n: float
    slack_n: float
    shaft_n: float
    """Pull of both strands on the shaft of the smaller pulley, while it carries."""
    centrifugal_n: float
    carried_kw: float


class BeltLoad(NamedTuple):
    """One belt at one spindle speed."""

    key: str
    """Place of the stage in the scenario."""
    stage: int
    """The stage among those with a belt, from 0."""
    position: int
    """The belt's position, from 1."""
    number: int
    """The spindle speed, from 1."""
    rpm: float
    entering_rpm: float
    """Speed of the driver's shaft."""
    speed_m_s: float
    wrap_deg: float
    """On the smaller pulley."""
    carries_kw: float
    source: str
    """Who says so: the source of the lowest figure."""
    must_kw: float
    """Power that it must carry, duty included; 0 where nobody says."""
    limit_kw: float
    """Power below which it breaks a limit of the maker's."""
    bends_per_s: float
    pull: Pull | None
    """Nothing where no power is stated."""

    @property
    def grip(self) -> float | None:
        """Power that it carries over power that it must; nothing where nobody says what it must."""
        return self.carries_kw / self.must_kw if self.must_kw > 0 else None


def loads(machine: Machine) -> tuple[BeltLoad, ...]:
    """Return every belt of which it is known what it carries, at every spindle speed, slowest first."""
    return machine.once("loads", lambda: tuple(_loads(machine)))


def _loads(machine: Machine) -> Iterator[BeltLoad]:
    for number, (rpm, chosen, settings) in enumerate(machine.speeds, 1):
        must, limit = must_kw(machine, rpm, machine.motor_kw(settings) or 0.0)
        for stage, (pair, position) in enumerate(zip(machine.pairs, chosen, strict=True)):
            ratings = _ratings(pair)
            if ratings and not isnan(pair.centres_mm[position]):
                place = (stage, position, number)
                entering = _entering_rpm(machine, chosen, stage) * machine.share(settings, pair.stage)
                yield _load(machine, pair, place, (rpm, entering, must, limit), ratings)


def unknown_carrying(machine: Machine) -> Iterator[Skipped]:
    """Yield what cannot be said of belts, and why."""
    for pair in machine.pairs:
        if not _ratings(pair):
            why = f"no source is known that tells what a belt of section {pair.section.name} carries"
            yield Skipped(name="belt carries", where=pair.key, why=why)
        elif not pair.fits:
            yield Skipped(name="belt carries", where=pair.key, why="the belt does not go round at every position")
    if machine.scenario.motor.power_kw is None and not any(b.work_power_kw for b in machine.scenario.bands):
        why = "neither the motor's power nor any work_power of a band is stated"
        yield Skipped(name="grip, pulls, torque", where="motor.power", why=why)


def torque_nm(machine: Machine, number: int, belts: tuple[BeltLoad, ...]) -> tuple[float, str] | None:
    """Return the usable torque [N·m] at a spindle speed, from 1, and what limits it; nothing where nothing is known.

    The least of the motor's rated power and of what each belt carries, duty counted, less what fixed stages behind it
    lose, as torque of the spindle; losses of belts and bearings are not taken off.
    """
    speed, chain = machine.speeds[number - 1], machine.scenario.chain
    motor = machine.motor_kw(speed.settings)
    powers = [
        (load.carries_kw / machine.scenario.work.duty * passed_on(chain, place_in_chain(machine, load)), load.key)
        for load in belts
        if load.number == number
    ]
    if motor is not None:
        powers.append((motor * passed_on(chain), "motor"))
    if not powers:
        return None
    power, limits = min(powers, key=lambda entry: meaningful(entry[0]))
    return float(torque_of_nm(power, speed.rpm)), limits


def place_in_chain(machine: Machine, load: BeltLoad) -> int:
    """Return which stage of the chain a belt is, those with fixed ratios counted."""
    stage = machine.pairs[load.stage].stage
    return next(index for index, other in enumerate(machine.scenario.chain) if other is stage)


def carrying_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield, for each belt, the check of its grip at the speed where it is least."""
    yield from unknown_carrying(machine)
    found = loads(machine)
    for pair in machine.pairs:
        mine = [load for load in found if load.key == pair.key]
        if not mine:
            continue
        asked = [load for load in mine if load.must_kw > 0]
        if asked:
            worst = min(asked, key=lambda load: (meaningful(load.carries_kw / load.must_kw), load.number))
            rule = Rule("belt carries", "advice", worst.must_kw, "kW", worst.source)
            yield at_least(rule, _place(worst), worst.carries_kw, "a belt that carries less slips under full load")
        held = [load for load in mine if load.limit_kw > 0]
        if held:
            worst = min(held, key=lambda load: (meaningful(load.carries_kw / load.limit_kw), load.number))
            rule = Rule("grip", "limit", worst.limit_kw, "kW", f"stated by the maker; {worst.source}")
            yield at_least(rule, _place(worst), worst.carries_kw)


def _place(load: BeltLoad) -> str:
    return f"{load.key}, position {load.position} at {load.rpm:.0f} rpm"


def _ratings(pair: Pair) -> tuple[Rating, ...]:
    flat_rim = pair.stage.driver.groove != "v" or pair.stage.driven.groove != "v"
    return ratings_of(pair.section, flat_rim=flat_rim, grade=pair.stage.belt.grade)


def must_kw(machine: Machine, rpm: float, motor: float) -> tuple[float, float]:
    """Return the power that belts must carry at a spindle speed, and that below which a limit is broken.

    `motor` is the motor's rated power as it is switched [kW], 0 where none is stated.

    Work takes its power at the spindle, so that what fixed stages lose comes on top; a belt behind one of them is held
    to the same, which is more than reaches it.
    """
    scenario = machine.scenario
    bands = bands_at(machine, rpm)
    duty, least = scenario.work.duty, scenario.series.least_grip
    if not bands:
        return motor * duty, motor * duty * least
    lost = passed_on(scenario.chain)
    powers = [(band.work_power_kw / lost if band.work_power_kw else motor) * duty for band in bands]
    limits = [p * max(least, band.carry == "limit") for p, band in zip(powers, bands, strict=True)]
    return max(powers), max(limits)


def _entering_rpm(machine: Machine, chosen: tuple[int, ...], stage: int) -> float:
    """Return the speed of the driver's shaft of a stage with the belts of those before it at their positions."""
    pair = machine.pairs[stage]
    rpm = pair.entering_rpm
    for before, position in zip(machine.pairs[:stage], chosen, strict=False):
        rpm *= before.ratios[position] / max(before.ratios)
    return rpm


def _load(
    machine: Machine,
    pair: Pair,
    place: tuple[int, int, int],
    figures: tuple[float, float, float, float],
    ratings: tuple[Rating, ...],
) -> BeltLoad:
    stage, position, number = place
    rpm, entering, must, limit = figures
    driver, driven = pair.driver.pitch_mm[position], pair.driven.pitch_mm[position]
    wrap = min(wraps_deg(driver, driven, pair.centres_mm[position], pair.crossed))
    speed = pi * driver * entering / 60_000
    small, ratio = min(driver, driven), max(driver, driven) / min(driver, driven)
    carries = float(carried_kw(ratings, speed, small, ratio, wrap, pair.length_mm))
    which = int(governing(ratings, speed, small, ratio, wrap, pair.length_mm))
    pull = _pull(pair, ratings[which], (speed, wrap), (min(must, carries), machine.scenario.work.duty))
    return BeltLoad(
        key=pair.key,
        stage=stage,
        position=position + 1,
        number=number,
        rpm=rpm,
        entering_rpm=entering,
        speed_m_s=speed,
        wrap_deg=wrap,
        carries_kw=carries,
        source=ratings[which].source,
        must_kw=must,
        limit_kw=limit,
        bends_per_s=float(bends_per_second(speed, pair.length_mm)),
        pull=pull if must > 0 else None,
    )


def _pull(pair: Pair, rating: Rating, moving: tuple[float, float], carried: tuple[float, float]) -> Pull | None:
    speed, wrap = moving
    power, duty = carried[0] / carried[1], carried[1]
    if speed < CREEP_M_S or power <= 0:
        return None
    mass = pair.section.kg_per_m
    if isinstance(rating, FrictionRating):
        strands = slip_pull_n(power * duty, speed, rating.friction, wrap, mass)
        rest = float(strands.tight_n + strands.slack_n) / 2
        strands = strands_n(rest, power, speed)
    else:
        arc = _arc_factor(rating, wrap)
        rest = float(pretension_n(power, speed, arc, mass, duty))
        strands = strands_n(rest, power, speed)
    return _told(strands, rest, wrap, mass * speed**2, power)


def _told(strands: Strands, rest: float, wrap: float, centrifugal: float, power: float) -> Pull:
    tight, slack = float(strands.tight_n), float(strands.slack_n)
    return Pull(rest, tight, slack, float(shaft_pull_n(tight, slack, wrap)), centrifugal, power)


def _arc_factor(rating: Rating, wrap: float) -> float:
    """Return the factor of the arc alone, never so small that no pull would do."""
    assert rating.factors is not None
    longest = rating.factors.length[-1][0]
    whole = float(rating.factors.at(wrap, longest)) / rating.factors.length[-1][1]
    return max(whole, 0.1)
