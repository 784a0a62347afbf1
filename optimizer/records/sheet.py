"""Parts of the design sheet: the machine, its settings, what is switched."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from optimizer.scenario.base import Model

__all__ = [
    "BudgetLine",
    "CentreSheet",
    "FixedSheet",
    "LineEcho",
    "MachineSheet",
    "OtherWay",
    "PositionSheet",
    "ShaftSpeed",
    "SharedSheet",
    "SpeedSheet",
    "StageSheet",
    "StepSheet",
    "StepSource",
    "SwitchSheet",
    "other_ways",
    "setting_column",
    "setting_names",
    "setting_words",
    "settings_said",
    "switch_heads",
    "switch_lines",
]


class SharedSheet(Model):
    """Where a shared mount is set; settings are counted from its stated place, onward as the belts tighten."""

    shaft: str
    kind: Literal["slide", "hinge"]
    """Whether settings are lengths along a slide, or arcs of the mount's axis about its hinge."""
    way: Literal["along its direction", "against its direction", "anticlockwise", "clockwise"]
    """Which way settings grow, a hinge's as seen from the motor's pulley end."""
    stages: tuple[str, ...]
    """Places of its stages in the scenario."""
    belt_on_mm: float
    """Setting at which every belt that it tensions can be put on."""
    running_mm: tuple[float, float]
    """Least and greatest setting at which it runs, over all combinations of positions."""
    worn_out_mm: float
    """Setting at which none of the belts that it tensions is loose at the end of its life."""
    common_mm: float
    """Over how many settings any two positions run together at least; below 0 where some never do."""


StepSource = Literal["turned", "ready", "kept", "in hand"]
"""Whether a step is turned, bought ready, a step of a cone that exists, or a sheave in hand."""


class StepSheet(Model):
    """One step of a cone, or one pulley."""

    outside_mm: float
    """Diameter over the rim."""
    datum_mm: float
    """Diameter at which the belt's datum line runs."""
    pitch_mm: float
    """Diameter that sets the speed."""
    over_pins_mm: float | None = None
    """Size over two gauge pins laid in the groove, which sets where the belt runs; nothing where no pins are known."""
    pin_mm: float | None = None
    """Diameter of those pins."""
    source: StepSource
    blank_mm: float | None = None
    """Disc that a turned step is cut from; nothing where the step is used as it is."""
    rim: Literal["v", "ribbed", "round", "flat", "crowned"]
    """What the belt lies on: a V groove, ribs, a half-round seat, a plain or crowned rim."""
    groove_deg: float | None = None
    """Angle of the groove; nothing without flanks."""
    top_width_mm: float
    """Width of the groove at the rim, or of the belt's track on a flat rim."""
    groove_depth_mm: float = 0.0
    rim_speed_m_s: float
    """Speed of the rim when every shaft before it runs its fastest, without load."""


class PositionSheet(Model):
    """One placing of a stage's belt, counted from 1, the slowest first."""

    number: int
    driver: StepSheet
    driven: StepSheet
    ratio: float
    """Speed of the driven shaft over that of the driver, slip included."""
    centre_mm: float | None
    """Centre distance at which a belt of nominal length is just taut here; nothing where it does not go round."""
    driver_wrap_deg: float | None
    driven_wrap_deg: float | None
    belt_speed_m_s: float
    """Speed of the belt when every shaft before it runs its fastest."""


class BudgetLine(Model):
    """One thing that uses up travel."""

    name: str
    amount_mm: float
    """Travel it takes, along the line of centres."""
    source: str
    """Where the figure comes from."""


class CentreSheet(Model):
    """Where a stage's mount stands over the life of its belt."""

    limits_mm: tuple[float, float]
    """Centre distances the maker allows."""
    travel_mm: float
    budget: tuple[BudgetLine, ...]
    belt_on_mm: float | None
    """Centre distance at which the shortest belt can be put on, or climbs; nothing where it does not go round."""
    running_mm: tuple[float, float] | None
    """Least and greatest running centre distance over all positions with a new belt of nominal length."""
    worn_out_mm: float | None
    """Centre distance that the longest belt needs at the end of its life."""


class LineEcho(Model):
    """On which line a cone's diameters were given, and what mistaking it would do to the speeds."""

    side: str
    """Place in the scenario, such as `stage[0].driver`."""
    measured: str
    """The line the maker's figures were read on: outside, datum, or over pins."""
    groove: str
    """The kind of rim: v, flat, crowned."""


class StageSheet(Model):
    """One belt stage as it stands on the bench."""

    key: str
    """Place in the scenario, such as `stage[0]`."""
    driver_shaft: str
    driven_shaft: str
    section: str
    marking: str
    """What a shop calls the belt."""
    belt_in_hand: bool = False
    """Whether the belt is there already."""
    datum_length_mm: float
    pitch_length_mm: float
    """Length along the line that sets the speed."""
    crossed: bool
    slip: float
    """Share of the speed that the belt loses."""
    step_pitch_mm: float | None = None
    """Distance of neighbouring steps along the shaft, the same on both cones; nothing with one position."""
    step_width_mm: float
    """Width that every step takes along the shaft, its walls included; the step pitch where there are several."""
    lines: tuple[LineEcho, ...]
    other_line_change: float
    """Greatest share by which a ratio would differ, were the outside diameters those that set the speed."""
    centres: CentreSheet
    positions: tuple[PositionSheet, ...]
    shared_driver: bool = False
    """Whether its driver is the driven cone of the stage before, so that it is there once for both.

    Its slowest position lies on the step of that stage's fastest, and so on."""


class FixedSheet(Model):
    """A stage with a ratio that is given, such as a pair of gears."""

    key: str
    driver_shaft: str
    driven_shaft: str
    ratio: float
    """Speed of the driven shaft over that of the driver, the greatest where several can be engaged."""
    reverses: bool


class SwitchSheet(Model):
    """Something with several settings: a motor's speeds, a back gear."""

    key: str
    """Place in the scenario: `motor`, or that of a stage."""
    name: str
    """What it is called on papers: `motor`, `gear`, with a number where there are several gears."""
    settings: tuple[str, ...]
    """What each setting is called, the slowest first."""


class ShaftSpeed(Model):
    """How fast one shaft runs at one spindle speed."""

    shaft: str
    rpm: float


class OtherWay(Model):
    """A second way of making a speed, where ranges share it, or one that makes nearly it."""

    rpm: float
    positions: tuple[int, ...]
    """Position of every belt stage, motor first, counted from 1."""
    settings: tuple[int, ...] = ()
    """Setting of every switch, counted from 1, the slowest."""


class SpeedSheet(Model):
    """One spindle speed, counted from 1, the slowest first."""

    number: int
    rpm: float
    positions: tuple[int, ...]
    """Position of every belt stage, motor first, counted from 1."""
    settings: tuple[int, ...] = ()
    """Setting of every switch, counted from 1, the slowest."""
    shafts: tuple[ShaftSpeed, ...]
    """Every shaft's speed, motor first, spindle last."""
    bands: tuple[str, ...]
    """Names of the bands it counts in."""
    others: tuple[OtherWay, ...] = ()
    """Other ways of making it, where ranges share it; where speeds are free, of making nearly it."""
    on_plate: bool = True
    """Whether it stands on the plate; where speeds are free, those that would make the plate less even do not."""


class MachineSheet(Model):
    """A machine with every diameter, belt, centre distance, speed."""

    motor_rpm: float
    spindle: str
    """Name of the last shaft."""
    turns: str
    """Which way the spindle turns, seen from the same end as the motor."""
    stages: tuple[StageSheet, ...]
    """The belt stages, motor first."""
    fixed: tuple[FixedSheet, ...] = ()
    shared: tuple[SharedSheet, ...] = ()
    """Mounts whose one movement changes several belts."""
    switches: tuple[SwitchSheet, ...] = ()
    """What has several settings, motor first."""
    speeds: tuple[SpeedSheet, ...]


SAME_RPM = 0.05
"""Speeds that differ by less read the same."""


def other_ways(machine: MachineSheet) -> Iterator[str]:
    """Yield a sentence for every speed that can be had, or nearly so, by other settings and positions as well."""
    for speed in machine.speeds:
        ways = []
        for way in speed.others:
            placed = [*setting_words(machine, way.settings)]
            placed += [f"belt {stage} on position {p}" for stage, p in enumerate(way.positions, 1)]
            ways.append(f"{', '.join(placed)}, {way.rpm:.1f} rpm")
        if ways:
            nearly = " nearly so" if any(abs(way.rpm - speed.rpm) >= SAME_RPM for way in speed.others) else ""
            yield f"Speed {speed.number}{nearly} also by {'; or '.join(ways)}."


def switch_heads(machine: MachineSheet) -> tuple[str, ...]:
    """Return what every switch is called at the head of a column, motor first."""
    return tuple(switch.name for switch in machine.switches)


def setting_names(machine: MachineSheet, settings: Sequence[int]) -> tuple[str, ...]:
    """Return what the settings of a speed are called, counted from 1, each in the column of its switch."""
    return tuple(switch.settings[s - 1] for switch, s in zip(machine.switches, settings, strict=True))


def setting_words(machine: MachineSheet, settings: Sequence[int]) -> tuple[str, ...]:
    """Return every switch with its setting, as a sentence names it: `motor at 1420 rpm`, `gear at ratio 0.16`."""
    names = setting_names(machine, settings)
    return tuple(f"{switch.name} at {name}" for switch, name in zip(machine.switches, names, strict=True))


def setting_column(machine: MachineSheet, settings: Sequence[int]) -> str:
    """Return all settings in one cell: `1420 rpm, ratio 0.16`."""
    return ", ".join(setting_names(machine, settings))


def settings_said(machine: MachineSheet, settings: Sequence[int]) -> str:
    """Return all settings in one piece, to stand before where the belts lie; nothing without switches."""
    return "".join(f"{words}, " for words in setting_words(machine, settings))


def switch_lines(machine: MachineSheet) -> tuple[str, ...]:
    """Return a line about every switch: what it is, its settings, the slowest first."""
    return tuple(_line(machine, switch) for switch in machine.switches)


def _line(machine: MachineSheet, switch: SwitchSheet) -> str:
    fixed = next((fixed for fixed in machine.fixed if fixed.key == switch.key), None)
    said = f"{', '.join(switch.settings[:-1])} or {switch.settings[-1]}"
    if fixed is None:
        return f"{switch.name.capitalize()}: switched to {said}"
    joins = f"{fixed.driver_shaft} to {fixed.driven_shaft}{', reversing' if fixed.reverses else ''}"
    return f"{switch.name.capitalize()}, {joins}: {said}, one at a time, shifted at rest only"
