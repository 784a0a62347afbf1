"""A scenario's text read once more: the keys that the generator of random machines writes, in exact millimetres."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from tests.independent.tables import Frame, Section, frame_named, frame_of_shaft, section_of

__all__ = ["Band", "Hand", "Machine", "Piece", "Shaft", "Side", "Stage", "read_machine", "turn_about"]

F = Fraction
NOTHING = F(0)
MM = {"mm": F(1), "cm": F(10), "in": F("25.4"), "m": F(1000)}
PER_M_S = {"m/s": F(1), "ft/min": F("0.3048") / 60}
SIZE = re.compile(r"^(?:(\d+)[ -])?(\d+)/(\d+)$")


@dataclass(frozen=True)
class Side:
    """What may stand on one side of a stage; sizes on the maker's line."""

    section: Section
    ready: tuple[Fraction, ...]
    blanks: tuple[Fraction, ...]
    free: tuple[Fraction, Fraction] | None
    kept: tuple[Fraction | None, ...]
    """Steps of a cone that exists, in their order; nothing for one that is still to be made."""
    hand: tuple[Fraction, ...]
    """Sheaves in hand that it may use, each once."""
    hand_discs: tuple[Fraction, ...]
    """Discs in hand that it may be turned from, each once."""
    reversible: bool
    pitch: Fraction | None
    groove: str
    measured: str
    smallest: Fraction | None
    grid: Fraction
    material: str | None
    most_outside: Fraction | None = None
    """Largest that what the motor stands on leaves; nothing where it leaves any."""

    @property
    def turned(self) -> bool:
        """Whether steps may be turned."""
        return bool(self.blanks or self.hand_discs) or self.free is not None

    @property
    def discs(self) -> tuple[Fraction, ...]:
        """All discs that steps may be turned from."""
        return self.blanks + self.hand_discs

    @property
    def pulleys(self) -> tuple[Fraction, ...]:
        """All pulleys that may be used as they are, with repeats."""
        return self.ready + self.hand

    @property
    def given_shift(self) -> Fraction:
        """The maker's diameter less the datum diameter."""
        if self.measured == "outside":
            return self.section.rim_shift(self.groove)
        return (self.section.pins or F(0)) if self.measured == "over pins" else F(0)

    @property
    def least_datum(self) -> Fraction:
        """The smallest datum diameter that the belt, or the maker, allows."""
        return self.section.smallest_datum if self.smallest is None else self.smallest - self.given_shift


@dataclass(frozen=True)
class Stage:
    """A belt stage as stated, with the fixed ratio on its way from the belt before."""

    key: str
    driver_shaft: str
    driven_shaft: str
    positions: tuple[int, ...]
    centres: tuple[Fraction, Fraction]
    travel: Fraction
    fit: Fraction
    slip: Fraction
    wrap: Fraction
    clearance: Fraction
    crossed: bool
    section_name: str
    hand_lengths: tuple[Fraction, ...]
    """Datum lengths of belts in hand."""
    lengths: str | tuple[Fraction, ...]
    length_measured: str
    every: Fraction
    shortest: Fraction
    longest: Fraction | None
    budget: tuple[Fraction | None, Fraction | None, Fraction | None]
    """Tolerance, stretch, climb, where the maker sets them."""
    belt_speed: Fraction
    driver: Side
    driven: Side
    gain: Fraction
    """Product of the fixed ratios before its driver, since the belt before."""

    @property
    def section(self) -> Section:
        """The belt's section."""
        return self.driver.section


@dataclass(frozen=True)
class Piece:
    """A kind of sheave in hand: datum diameters of its grooves in their order, how many there are."""

    section_name: str
    steps: tuple[Fraction, ...]
    count: int
    pitch: Fraction | None


@dataclass(frozen=True)
class Hand:
    """What is in hand."""

    pieces: tuple[Piece, ...] = ()
    discs: tuple[tuple[Fraction, int], ...] = ()
    belts: tuple[tuple[str, Fraction, int], ...] = ()
    """Section, datum length, count."""


@dataclass(frozen=True)
class Shaft:
    """A shaft as stated."""

    hub: Fraction | None = None
    room: Fraction | None = None
    beside: Fraction = NOTHING
    never_above: Fraction | None = None


@dataclass(frozen=True)
class Band:
    """A working band."""

    name: str
    low: Fraction
    high: Fraction
    want: int


@dataclass(frozen=True)
class Machine:
    """All that the maker stated."""

    motor_rpm: Fraction
    bands: tuple[Band, ...]
    stages: tuple[Stage, ...]
    """The belt stages, motor first."""
    gain_out: Fraction
    """Product of the fixed ratios after the last belt."""
    shafts: dict[str, Shaft]
    series: dict[str, Fraction | None]
    making: dict[str, Any]
    chain: tuple[tuple[str, str, Fraction | None], ...]
    """Every stage, motor first: its two shafts, and its ratio where that is fixed."""
    hand: Hand
    idle: dict[str, Fraction]
    """How many times as fast as under full load every shaft turns without load; limits of speed are kept divided by
    it, so that speeds under full load are held to them."""


SERIES = {
    "ends": "0.03",
    "distinct": "0.04",
    "never_above": None,
    "end_miss": "0.1",
    "unevenness": "0.1",
    "end_weight": "1",
    "unevenness_weight": "1",
    "slack": "0.005",
}
"""Defaults, docs/scenario.md."""


LINES = ("tolerance", "stretch", "climb")
"""Lines of the travel budget that the maker may state."""


def read_machine(text: str) -> Machine:
    """Return what a scenario's text states."""
    raw = tomllib.loads(text, parse_float=Fraction)
    unit = MM[raw["units"]]
    stages: dict[int, dict[str, Any]] = dict(enumerate(raw["stage"]))
    chain: list[tuple[int, dict[str, Any]]] = []
    shaft = "motor"
    while shaft != "spindle":
        number = next(n for n, stage in stages.items() if stage["from"] == shaft)
        chain.append((number, stages.pop(number)))
        shaft = chain[-1][1]["to"]
    making = _making(raw.get("making", {}), unit)
    frame = _frame(raw, unit)
    hand = _hand(raw.get("in_hand", {}), unit)
    belts: list[Stage] = []
    gain = F(1)
    for number, stage in chain:
        if "ratio" in stage:
            gain *= _ratio(stage["ratio"])
        else:
            belts.append(_stage(f"stage[{number}]", stage, (unit, making["grid"], hand), gain))
            if stage["from"] == "motor":
                belts[-1] = replace(belts[-1], driver=_over_plate(belts[-1].driver, raw["motor"], frame))
            gain = F(1)
    series = raw.get("series", {})
    idle = _idle(raw["motor"], [stage for _, stage in chain])
    never_above = _maybe_rpm(series.get("never_above"))
    return Machine(
        motor_rpm=_rpm(raw["motor"]["speed"]),
        bands=tuple(Band(b["name"], _rpm(b["from"]), _rpm(b["to"]), b.get("want", 1)) for b in raw.get("band", [])),
        stages=tuple(belts),
        gain_out=gain,
        shafts=_shafts(raw, (unit, frame), idle),
        series={
            **{key: _share(_bare(series.get(key, default))) for key, default in SERIES.items() if key != "never_above"},
            "never_above": None if never_above is None else never_above / idle["spindle"],
        },
        making=making,
        chain=tuple((s["from"], s["to"], _ratio(s["ratio"]) if "ratio" in s else None) for _, s in chain),
        hand=hand,
        idle=idle,
    )


def _frame(raw: dict[str, Any], unit: Fraction) -> Frame | None:
    """Return the motor's frame: the one stated, else the one that has its shaft and power."""
    motor = raw["motor"]
    if "frame" in motor:
        return frame_named(motor["frame"])
    power = _kw(motor["power"]) if "power" in motor else None
    for shaft in raw.get("shaft", []):
        if shaft["name"] == "motor" and "diameter" in shaft:
            return frame_of_shaft(_length(shaft["diameter"], unit), power)
    return None


def _kw(power: str) -> Fraction:
    """Return a power [kW]; the horsepower is 550 ft lbf/s."""
    value, unit = power.split()
    return _plain(value) * {"kW": F(1), "hp": F("0.745699872")}[unit]


def _over_plate(driver: Side, motor: dict[str, Any], frame: Frame | None) -> Side:
    """Return a side on the motor's shaft, no larger than stays 5 mm clear of what the motor's feet stand on.

    Nothing limits it where nothing reaches under it, nor a cone that exists whole where nobody says that it does.
    """
    exists = bool(driver.kept) and None not in driver.kept
    if frame is None or not motor.get("plate", not exists):
        return driver
    return replace(driver, most_outside=2 * (frame.height - 5))


def _idle(motor: dict[str, Any], chain: list[dict[str, Any]]) -> dict[str, Fraction]:
    """Return the gains of speed without load: the motor turns as fast as its field, and no belt slips.

    The field turns 120 · Hz / poles, at 50 or 60 Hz and 2 to 8 poles; the fastest counts of which the full-load speed
    is 85 to 100 %. A motor that has none is taken to idle no faster.
    """
    loaded = _rpm(motor["speed"])
    fields = [F(120 * hertz, poles) for hertz in (50, 60) for poles in (2, 4, 6, 8)]
    free = _maybe_rpm(motor.get("idle"))
    if free is None:
        free = max([field for field in fields if field * F(85, 100) <= loaded <= field], default=loaded)
    found = {"motor": free / loaded}
    for stage in chain:
        slip = F(0) if "ratio" in stage else _share(_bare(stage.get("slip", "0.01")))
        found[stage["to"]] = found[stage["from"]] / (1 - slip)
    return found


def _bare(value: Any) -> Any:
    """Return the value of a limit that is stated with its reason."""
    return value["value"] if isinstance(value, dict) else value


def _plain(value: Any) -> Fraction:
    """Return a number: whole, decimal, or a shop fraction in text."""
    value = _bare(value)
    if isinstance(value, str):
        value = value.strip()
        if found := SIZE.match(value):
            whole, above, below = found.groups()
            return F(int(whole or 0)) + F(int(above), int(below))
    return F(value)


def _length(value: Any, unit: Fraction) -> Fraction:
    """Return a length [mm]; a bare number is in the file's units."""
    value = _bare(value)
    if isinstance(value, str):
        for name, factor in MM.items():
            if value.endswith(f" {name}"):
                return _plain(value[: -len(name)]) * factor
    return _plain(value) * unit


def _rpm(value: Any) -> Fraction:
    value = _bare(value)
    return _plain(value.removesuffix("rpm").strip() if isinstance(value, str) else value)


def _maybe_rpm(value: Any) -> Fraction | None:
    return None if value is None else _rpm(value)


def _share(value: Any) -> Fraction:
    if isinstance(value, str) and value.endswith("%"):
        return _plain(value[:-1]) / 100
    return _plain(value)


def _m_s(value: Any) -> Fraction:
    value = _bare(value)
    if isinstance(value, str):
        for name, factor in PER_M_S.items():
            if value.endswith(name):
                return _plain(value[: -len(name)]) * factor
    return _plain(value)


def _making(raw: dict[str, Any], unit: Fraction) -> dict[str, Any]:
    """Return what the shop can make; defaults from docs/scenario.md."""

    def of(key: str, default: str | None) -> Fraction | None:
        if key in raw:
            return _length(raw[key], unit)
        return None if default is None else F(default)

    pitch = raw.get("step_pitch", "layers" if "layer" in raw else "faced")
    turn_to = of("turn_to", "0.5")
    rise = of("rise", None)
    return {
        "largest_blank": of("largest_blank", None),
        "truing": of("truing", "4"),
        "turn_to": turn_to,
        "grid": of("grid", "5"),
        "rise": turn_to if rise is None else rise,
        "layer": of("layer", None),
        "step_pitch": pitch if pitch in ("layers", "faced") else _length(pitch, unit),
        "wall": of("wall", "4"),
        "rim_speed": _m_s(raw.get("rim_speed", 20)),
    }


def _ratio(value: Any) -> Fraction:
    """Return driven speed over driving speed; in text, turns in to turns out."""
    if isinstance(value, str) and ":" in value:
        turns = [_plain(part) for part in value.split(":")]
        return turns[1] / turns[0]
    return _plain(value)


def _shafts(raw: dict[str, Any], scale: tuple[Fraction, Frame | None], idle: dict[str, Fraction]) -> dict[str, Shaft]:
    """Return the shafts, each held to what a gear that it drives may be driven at under full load.

    Scale is the file's unit, and the motor's frame, which has its shaft where no diameter is stated.
    """
    unit, frame = scale
    found = {shaft["name"]: _shaft(shaft, unit) for shaft in raw.get("shaft", [])}
    motor = found.get("motor", Shaft())
    if frame is not None and motor.hub is None:
        found["motor"] = replace(motor, hub=frame.shaft)
    for name, own in found.items():
        if own.never_above is not None:
            found[name] = replace(own, never_above=own.never_above / idle.get(name, F(1)))
    for stage in raw["stage"]:
        most, name = _maybe_rpm(stage.get("input_speed")), stage["from"]
        if most is not None:
            own = found.get(name, Shaft())
            limits = [limit for limit in (own.never_above, most) if limit is not None]
            found[name] = replace(own, never_above=min(limits))
    return found


def _shaft(raw: dict[str, Any], unit: Fraction) -> Shaft:
    hub = raw.get("hub", raw.get("diameter"))
    return Shaft(
        hub=None if hub is None else _length(hub, unit),
        room=_length(raw["room"], unit) if "room" in raw else None,
        beside=_length(raw.get("beside", 0), unit),
        never_above=_maybe_rpm(raw.get("never_above")),
    )


def _hand(raw: dict[str, Any], unit: Fraction) -> Hand:
    """Return what is in hand."""
    pieces = []
    for sheave in raw.get("sheave", []):
        section = section_of(sheave["section"])
        measured = sheave.get("measured", section.measured)
        shift = {"outside": section.rim_shift("v"), "datum": F(0), "over pins": section.pins or F(0)}[measured]
        steps = sheave["steps"] if isinstance(sheave["steps"], list) else [sheave["steps"]]
        pitch = _length(sheave["pitch"], unit) if "pitch" in sheave else None
        sizes = tuple(_length(step, unit) - shift for step in steps)
        pieces.append(Piece(sheave["section"], sizes, sheave.get("count", 1), pitch))
    discs = tuple((_length(disc["diameter"], unit), disc.get("count", 1)) for disc in raw.get("disc", []))
    belts = []
    for belt in raw.get("belt", []):
        around = turn_about(section_of(belt["section"]), belt.get("measured", "datum"))
        belts.append((belt["section"], _length(belt["length"], unit) + around, belt.get("count", 1)))
    return Hand(tuple(pieces), discs, tuple(belts))


def turn_about(section: Section, measured: str) -> Fraction:
    """Return what is added to a belt's length on a line to get its datum length: the distance, one whole turn of it."""
    turn = 2 * F("3.14159265358979323846264338327950288")
    inside, outside = turn * (section.height - section.datum_depth), -turn * section.datum_depth
    return {"datum": F(0), "inside": inside, "outside": outside}[measured]


def _stage(key: str, raw: dict[str, Any], scale: tuple[Fraction, Fraction, Hand], gain: Fraction) -> Stage:
    """Return a belt stage; scale is the file's unit, the grid of turned sizes, and what is in hand."""
    unit, grid, hand = scale
    belt = raw["belt"] if isinstance(raw["belt"], dict) else {"section": raw["belt"]}
    section = section_of(belt["section"])
    default = "any" if section.kind in ("round", "flat") or belt.get("link") else "stock"
    lengths = belt.get("lengths", default)
    centres = raw["centres"] if isinstance(raw["centres"], list) else [raw["centres"]] * 2
    kept = [len(raw[side]["kept"]) for side in ("driver", "driven") if "kept" in raw[side]]
    positions = raw.get("positions", min(kept) if kept and min(kept) <= 6 else 1)
    budget = raw.get("budget", {})
    return Stage(
        key=key,
        driver_shaft=raw["from"],
        driven_shaft=raw["to"],
        positions=tuple(positions) if isinstance(positions, list) else (positions,),
        centres=(_length(centres[0], unit), _length(centres[1], unit)),
        travel=_length(raw.get("travel", 0), unit),
        fit=_length(raw["fit"], unit) if "fit" in raw else F("0.2"),
        slip=_share(raw.get("slip", "0.01")),
        wrap=_plain(raw.get("wrap", 90)),
        clearance=_length(raw["clearance"], unit) if "clearance" in raw else F(10),
        crossed=raw.get("run") == "crossed",
        section_name=belt["section"],
        hand_lengths=tuple(length for name, length, _ in hand.belts if name == belt["section"]),
        lengths=lengths if isinstance(lengths, str) else tuple(_length(x, unit) for x in lengths),
        length_measured=belt.get("measured", "datum"),
        every=_length(belt["every"], unit) if "every" in belt else F(10),
        shortest=_length(belt.get("shortest", 0), unit),
        longest=_length(belt["longest"], unit) if "longest" in belt else None,
        budget=tuple(_length(budget[k], unit) if k in budget else None for k in LINES),  # type: ignore[arg-type]  # of just three
        belt_speed=_m_s(raw.get("belt_speed", 30)),
        driver=_side(raw["driver"], belt["section"], unit, (grid, hand)),
        driven=_side(raw["driven"], belt["section"], unit, (grid, hand)),
        gain=gain,
    )


def _side(raw: dict[str, Any], name: str, unit: Fraction, there: tuple[Fraction, Hand]) -> Side:
    grid, hand = there
    section = section_of(name)
    groove = raw.get("groove", "flat" if section.kind == "flat" else "v")
    free = raw.get("free")
    measured = raw.get("measured", section.measured if groove == "v" else "outside")
    shift = {"outside": section.rim_shift(groove), "datum": F(0), "over pins": section.pins or F(0)}[measured]
    fits = raw.get("sheaves_in_hand", False) and groove == ("flat" if section.kind == "flat" else "v")
    grooves = [step + shift for p in hand.pieces if p.section_name == name for step in p.steps for _ in range(p.count)]
    discs = [size for size, count in hand.discs for _ in range(count)]
    return Side(
        section=section,
        ready=tuple(_length(x, unit) for x in raw.get("ready", [])),
        blanks=tuple(_length(x, unit) for x in raw.get("blanks", [])),
        free=(_length(free[0], unit), _length(free[1], unit)) if free else None,
        kept=tuple(None if x == "open" else _length(x, unit) for x in raw.get("kept", [])),
        hand=tuple(grooves) if fits else (),
        hand_discs=tuple(discs) if raw.get("discs_in_hand", False) else (),
        reversible=raw.get("reversible", False),
        pitch=_length(raw["pitch"], unit) if "pitch" in raw else None,
        groove=groove,
        measured=measured,
        smallest=_length(raw["smallest"], unit) if "smallest" in raw else None,
        grid=_length(raw["grid"], unit) if "grid" in raw else grid,
        material=raw.get("material"),
    )
