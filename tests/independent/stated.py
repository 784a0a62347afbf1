"""A scenario's text read once more: the keys that the generator of random machines writes, in exact millimetres."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from tests.independent.tables import Section, section_of

__all__ = ["Band", "Machine", "Shaft", "Side", "Stage", "read_machine"]

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
    kept: tuple[Fraction, ...]
    reversible: bool
    pitch: Fraction | None
    groove: str
    measured: str
    smallest: Fraction | None
    grid: Fraction
    material: str

    @property
    def turned(self) -> bool:
        """Whether steps may be turned."""
        return bool(self.blanks) or self.free is not None

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
    belts: list[Stage] = []
    gain = F(1)
    for number, stage in chain:
        if "ratio" in stage:
            gain *= _plain(stage["ratio"])
        else:
            belts.append(_stage(f"stage[{number}]", stage, (unit, making["grid"]), gain))
            gain = F(1)
    series = raw.get("series", {})
    return Machine(
        motor_rpm=_rpm(raw["motor"]["speed"]),
        bands=tuple(Band(b["name"], _rpm(b["from"]), _rpm(b["to"]), b.get("want", 1)) for b in raw.get("band", [])),
        stages=tuple(belts),
        gain_out=gain,
        shafts={s["name"]: _shaft(s, unit) for s in raw.get("shaft", [])},
        series={
            key: _share(_bare(series.get(key, default))) if key != "never_above" else _maybe_rpm(series.get(key))
            for key, default in SERIES.items()
        },
        making=making,
        chain=tuple((s["from"], s["to"], _plain(s["ratio"]) if "ratio" in s else None) for _, s in chain),
    )


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


def _shaft(raw: dict[str, Any], unit: Fraction) -> Shaft:
    hub = raw.get("hub", raw.get("diameter"))
    return Shaft(
        hub=None if hub is None else _length(hub, unit),
        room=_length(raw["room"], unit) if "room" in raw else None,
        beside=_length(raw.get("beside", 0), unit),
        never_above=_maybe_rpm(raw.get("never_above")),
    )


def _stage(key: str, raw: dict[str, Any], scale: tuple[Fraction, Fraction], gain: Fraction) -> Stage:
    """Return a belt stage; scale is the file's unit and the grid of turned sizes."""
    unit, grid = scale
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
        lengths=lengths if isinstance(lengths, str) else tuple(_length(x, unit) for x in lengths),
        length_measured=belt.get("measured", "datum"),
        every=_length(belt["every"], unit) if "every" in belt else F(10),
        shortest=_length(belt.get("shortest", 0), unit),
        longest=_length(belt["longest"], unit) if "longest" in belt else None,
        budget=tuple(_length(budget[k], unit) if k in budget else None for k in ("tolerance", "stretch", "climb")),  # type: ignore[arg-type]
        belt_speed=_m_s(raw.get("belt_speed", 30)),
        driver=_side(raw["driver"], section, unit, grid),
        driven=_side(raw["driven"], section, unit, grid),
        gain=gain,
    )


def _side(raw: dict[str, Any], section: Section, unit: Fraction, grid: Fraction) -> Side:
    groove = raw.get("groove", "flat" if section.kind == "flat" else "v")
    free = raw.get("free")
    return Side(
        section=section,
        ready=tuple(_length(x, unit) for x in raw.get("ready", [])),
        blanks=tuple(_length(x, unit) for x in raw.get("blanks", [])),
        free=(_length(free[0], unit), _length(free[1], unit)) if free else None,
        kept=tuple(_length(x, unit) for x in raw.get("kept", [])),
        reversible=raw.get("reversible", False),
        pitch=_length(raw["pitch"], unit) if "pitch" in raw else None,
        groove=groove,
        measured=raw.get("measured", section.measured if groove == "v" else "outside"),
        smallest=_length(raw["smallest"], unit) if "smallest" in raw else None,
        grid=_length(raw["grid"], unit) if "grid" in raw else grid,
        material=raw.get("material", "timber"),
    )
