"""The machine as the sheet shows it."""

from __future__ import annotations

from math import isnan, pi
from typing import Literal

from optimizer.catalogue.grooves import groove, over_pins
from optimizer.checks.along import step_pitch_mm
from optimizer.checks.coupled import Movement, movements_of
from optimizer.checks.in_hand import belts_in_hand, discs_in_hand, steps_in_hand
from optimizer.checks.sizes import kept_places
from optimizer.checks.stated import Cone, Machine, MadeSpeed, Pair, wraps_deg
from optimizer.checks.travel import budget, centres_of
from optimizer.layouts.problem import band_targets
from optimizer.records.sheet import (
    BudgetLine,
    CentreSheet,
    FixedSheet,
    LineEcho,
    MachineSheet,
    OtherWay,
    PositionSheet,
    ShaftSpeed,
    SharedSheet,
    SpeedSheet,
    StageSheet,
    StepSheet,
    StepSource,
    SwitchSheet,
)
from optimizer.records.speeds import counts
from optimizer.scenario import BeltStage, FixedStage, Scenario
from optimizer.scenario.chain import MOTOR, Switch

__all__ = ["machine_sheet", "shared_sheets"]


def shared_sheets(machine: Machine) -> tuple[SharedSheet, ...]:
    """Return where every shared mount is set, as the checks work it out."""
    return tuple(map(_sheet, movements_of(machine)))


def _sheet(movement: Movement) -> SharedSheet:
    hinged = movement.shaft.hinge is not None
    on, out = movement.ends_mm
    kind: Literal["hinge", "slide"] = "hinge" if hinged else "slide"
    if hinged:
        way: Literal["along its direction", "against its direction", "anticlockwise", "clockwise"] = (
            "anticlockwise" if movement.way > 0 else "clockwise"
        )
    else:
        way = "along its direction" if movement.way > 0 else "against its direction"
    return SharedSheet(
        shaft=movement.shaft.name,
        kind=kind,
        way=way,
        stages=tuple(pair.key for pair in movement.pairs),
        belt_on_mm=on,
        running_mm=movement.running_mm,
        worn_out_mm=out,
        common_mm=min(meeting.common_mm[1] - meeting.common_mm[0] for meeting in movement.meetings),
    )


OPPOSITE = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}


def machine_sheet(machine: Machine) -> MachineSheet:
    """Return everything that is known of a machine from its statement and its final outside diameters.

    Lengths and speeds are those the checks work out, so that papers and checks cannot tell two stories.
    """
    scenario = machine.scenario
    chain = scenario.chain
    fixed = tuple(_fixed(scenario, stage) for stage in chain if isinstance(stage, FixedStage))
    return MachineSheet(
        motor_rpm=scenario.motor.speed_rpm,
        spindle=chain[-1].to_shaft,
        turns=_direction(scenario),
        stages=tuple(
            _stage(machine, pair, in_hand) for pair, in_hand in zip(machine.pairs, belts_in_hand(machine), strict=True)
        ),
        fixed=fixed,
        shared=shared_sheets(machine),
        switches=tuple(_switch(switch) for switch in scenario.switches),
        speeds=_speeds(machine),
    )


def _direction(scenario: Scenario) -> str:
    """Return which way the spindle turns: an open belt keeps the direction, a crossed one turns it round."""
    turns: str = scenario.motor.turns
    for stage in scenario.chain:
        if stage.crossed if isinstance(stage, BeltStage) else stage.reverses:
            turns = OPPOSITE[turns]
    return turns


def _fixed(scenario: Scenario, stage: FixedStage) -> FixedSheet:
    return FixedSheet(
        key=scenario.place_of(stage),
        driver_shaft=stage.from_shaft,
        driven_shaft=stage.to_shaft,
        ratio=stage.ratio,
        reverses=stage.reverses,
    )


def _switch(switch: Switch) -> SwitchSheet:
    return SwitchSheet(key=switch.key, name=switch.name, settings=switch.said)


def _stage(machine: Machine, pair: Pair, belt_in_hand: bool) -> StageSheet:
    leaving = dict(machine.idle_rpm)[pair.stage.to_shaft]
    width_mm = step_pitch_mm(pair, machine.scenario.making)
    return StageSheet(
        key=pair.key,
        driver_shaft=pair.stage.from_shaft,
        driven_shaft=pair.stage.to_shaft,
        section=pair.section.name,
        marking=pair.built.marking,
        belt_in_hand=belt_in_hand,
        datum_length_mm=pair.built.datum_length_mm,
        pitch_length_mm=pair.length_mm,
        crossed=pair.crossed,
        slip=pair.stage.slip,
        step_pitch_mm=width_mm if pair.driver.positions > 1 else None,
        step_width_mm=width_mm,
        lines=tuple(
            LineEcho(side=cone.key, measured=cone.side.measured, groove=cone.side.groove)
            for cone in (pair.driver, pair.driven)
        ),
        other_line_change=_other_line(pair),
        centres=_centres(pair),
        positions=tuple(_position(machine, pair, p, (pair.idle_rpm, leaving)) for p in pair.positions),
        shared_driver=pair.before is not None,
    )


def _other_line(pair: Pair) -> float:
    """Return by how much a ratio would differ, did the belt set the speed at the rims."""
    real = [a / b for a, b in zip(pair.driver.pitch_mm, pair.driven.pitch_mm, strict=True)]
    rims = [a / b for a, b in zip(pair.driver.outside_mm, pair.driven.outside_mm, strict=True)]
    return max(abs(rim / ratio - 1) for ratio, rim in zip(real, rims, strict=True))


def _centres(pair: Pair) -> CentreSheet:
    lines = tuple(BudgetLine(name=n, amount_mm=mm, source=s) for n, mm, s in budget(pair))
    stands = centres_of(pair) if pair.fits else None
    return CentreSheet(
        limits_mm=pair.stage.centres_mm,
        travel_mm=pair.stage.travel_mm,
        budget=lines,
        belt_on_mm=stands.belt_on if stands else None,
        running_mm=stands.running if stands else None,
        worn_out_mm=stands.worn_out if stands else None,
    )


def _position(machine: Machine, pair: Pair, place: int, rpm: tuple[float, float]) -> PositionSheet:
    """Return one position; `rpm` are the greatest speeds of the shafts before and behind the belt, without load."""
    own = pair.centres_mm[place]
    sizes = pair.driver.pitch_mm[place], pair.driven.pitch_mm[place]
    wraps = (None, None) if isnan(own) else wraps_deg(*sizes, own, pair.crossed)
    return PositionSheet(
        number=place + 1,
        driver=_step(machine, pair.driver, place, rpm[0]),
        driven=_step(machine, pair.driven, place, rpm[1]),
        ratio=pair.ratios[place],
        centre_mm=None if isnan(own) else own,
        driver_wrap_deg=wraps[0],
        driven_wrap_deg=wraps[1],
        belt_speed_m_s=_m_s(sizes[0], pair.entering_rpm),
    )


def _step(machine: Machine, cone: Cone, place: int, rpm: float) -> StepSheet:
    datum = cone.datum_mm[place]
    cut = groove(cone.section, datum, cone.side.groove)
    size, pin = over_pins(cone.section, datum, cone.side.groove) or (None, None)
    return StepSheet(
        outside_mm=cone.outside_mm[place],
        datum_mm=datum,
        pitch_mm=cone.pitch_mm[place],
        over_pins_mm=size,
        pin_mm=pin,
        source=_source(machine, cone, place),
        blank_mm=_blank_mm(machine, cone, place) if cone.turned[place] else None,
        rim=cut.kind,
        groove_deg=cut.angle_deg or None,
        top_width_mm=cut.top_width_mm,
        groove_depth_mm=cut.depth_mm,
        rim_speed_m_s=_m_s(cone.outside_mm[place], rpm),
    )


def _source(machine: Machine, cone: Cone, place: int) -> StepSource:
    if cone.turned[place]:
        return "turned"
    if place in kept_places(cone):
        return "kept"
    return "in hand" if (cone.key, place) in steps_in_hand(machine) else "ready"


def _blank_mm(machine: Machine, cone: Cone, place: int) -> float:
    """Return the disc in hand that a step is cut from, the smallest of those in set sizes, or just what it needs.

    A side that may have any diameter between two limits takes a blank of any size.
    """
    there = discs_in_hand(machine).get((cone.key, place))
    if there is not None:
        return there
    needed = cone.outside_mm[place] + machine.scenario.making.truing_mm
    discs = () if cone.side.free_mm else cone.side.blanks_mm
    return min((disc for disc in discs if disc >= needed - 1e-9), default=needed)


def _speeds(machine: Machine) -> tuple[SpeedSheet, ...]:
    bands = band_targets(machine.scenario)
    ways: dict[int, list[MadeSpeed]] = {}
    for place, speed in machine.ways:
        ways.setdefault(place, []).append(speed)
    others = [
        tuple(
            OtherWay(rpm=way.rpm, positions=_counted(way.positions), settings=_counted(way.settings))
            for way in ways[place]
            if way != shown
        )
        for place, shown in zip(sorted(ways), machine.speeds, strict=True)
    ]
    return tuple(
        SpeedSheet(
            number=number,
            rpm=rpm,
            positions=_counted(chosen),
            settings=_counted(settings),
            shafts=_shafts(machine, chosen, settings),
            bands=tuple(band.name for band in bands if counts(band, rpm)),
            others=others[number - 1],
            on_plate=MadeSpeed(rpm, chosen, settings) in machine.shown,
        )
        for number, (rpm, chosen, settings) in enumerate(machine.speeds, 1)
    )


def _counted(places: tuple[int, ...]) -> tuple[int, ...]:
    """Return places counted from 1."""
    return tuple(place + 1 for place in places)


def _shafts(machine: Machine, chosen: tuple[int, ...], settings: tuple[int, ...]) -> tuple[ShaftSpeed, ...]:
    chain = machine.scenario.chain
    switches = zip(machine.scenario.switches, settings, strict=True)
    engaged = {switch.key: switch.values[setting] for switch, setting in switches}
    rpm = engaged.get(MOTOR, machine.scenario.motor.speed_rpm)
    found = [ShaftSpeed(shaft=chain[0].from_shaft, rpm=rpm)]
    belts = iter(zip(machine.pairs, chosen, strict=True))
    for stage in chain:
        if isinstance(stage, FixedStage):
            rpm *= engaged.get(machine.scenario.place_of(stage), stage.ratio)
        else:
            pair, place = next(belts)
            rpm *= pair.ratios[place]
        found.append(ShaftSpeed(shaft=stage.to_shaft, rpm=rpm))
    return tuple(found)


def _m_s(diameter_mm: float, rpm: float) -> float:
    return pi * diameter_mm * rpm / 60_000
