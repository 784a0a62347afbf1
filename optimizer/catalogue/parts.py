"""Keys, motor frames, balance, torque classes, stresses, by name or size."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from optimizer.catalogue.entry import INCH_MM, CatalogueError, table

__all__ = [
    "BALANCED_M_S",
    "ConeMaterial",
    "Flat",
    "Frame",
    "Key",
    "Shafting",
    "balance_grade",
    "breakdown_torque",
    "cone_material",
    "frame",
    "frame_names",
    "frame_of_shaft",
    "key_for",
    "rolling_lever",
    "shafting",
    "start_torque",
    "torque_classes",
    "unbalance_g_m",
]

BALANCED_M_S = (5.0, 30.0)
"""Speeds of the rim above and up to which static balance is asked for; GOST 20889-88, table 3, read."""
SAME_SHAFT_MM = 0.05
"""How far a shaft may differ from that of a frame and still be taken as it."""
TOUCH_MM = 1e-6
"""How far a shaft may pass the edge of a row and still be on it."""


class Key(NamedTuple):
    """A key with its seats."""

    width_mm: float
    height_mm: float
    shaft_depth_mm: float | None
    """Depth of the seat in the shaft at its middle (t1); nothing for inch keys, which are measured over the shaft."""
    hub_depth_mm: float | None
    """The same in the hub (t2)."""
    source: str


class Flat(NamedTuple):
    """A flat along a shaft, on which set screws bear."""

    over_mm: float
    """From the flat to the far side of the shaft."""
    source: str


class Frame(NamedTuple):
    """What a motor frame tells of its shaft."""

    name: str
    shaft_mm: float
    length_mm: float
    """How far the shaft stands out."""
    height_mm: float
    """From the feet to the middle of the shaft."""
    power_kw: float
    """Usual greatest power of such a motor with 4 poles."""
    source: str
    flat: Flat | None = None
    """The flat of its shaft; nothing where the shaft has a keyway."""


class ConeMaterial(NamedTuple):
    """What cones are made of."""

    mass_kg_m3: float
    """Density that counts for their mass: the least where nobody says more; of plywood the middle."""
    stress_kg_m3: float
    """Density that counts for stress: the greatest."""
    strength_mpa: float
    """Least strength in tension."""
    source: str


class Shafting(NamedTuple):
    """What a steel shaft is allowed."""

    stress_mpa: float
    bending_factor: float
    torsion_factor: float
    source: str


def key_for(shaft_mm: float, *, inch: bool) -> Key | None:
    """Return the usual key of a shaft; nothing where the table has none for its size.

    Examples
    --------
    >>> key_for(25.4, inch=True).width_mm, key_for(20, inch=False).width_mm, key_for(200, inch=False)
    (6.35, 6.0, None)
    """
    scale = INCH_MM if inch else 1.0
    for group in table("parts")["keys_inch" if inch else "keys_metric"]:
        for over, upto, *sizes in group["rows"]:
            if _number(over) * scale + TOUCH_MM < shaft_mm <= _number(upto) * scale + TOUCH_MM:
                return _key([_number(size) * scale for size in sizes], group["source"])
    return None


def _key(sizes_mm: list[float], source: str) -> Key:
    if len(sizes_mm) == 1:
        return Key(sizes_mm[0], sizes_mm[0], None, None, source)
    width, height, shaft, hub = sizes_mm
    return Key(width, height, shaft, hub, source)


def frame(name: str) -> Frame:
    """Return a motor frame by its name; the letter of an IEC frame's length (S, M, L) says nothing of its shaft.

    Raises
    ------
    CatalogueError
        There is no such frame.

    Examples
    --------
    >>> frame("iec 80").shaft_mm, frame("NEMA 56").shaft_mm, frame("IEC 90L").name
    (19.0, 15.875, 'IEC 90')

    A flat that leaves 29/64 of 1/2 in:

    >>> round(frame("NEMA 48").flat.over_mm, 2), frame("NEMA 56").flat
    (11.51, None)
    """
    plain = re.sub(r"^(IEC \d+)[SML]$", r"\1", " ".join(name.upper().split()))
    if plain not in _frames():
        raise CatalogueError("there is no such motor frame", repr(name), ", ".join(frame_names()))
    return _frames()[plain]


def frame_of_shaft(shaft_mm: float, power_kw: float | None) -> Frame | None:
    """Return the frame of the motors that have such a shaft; nothing where none has.

    Of frames with one shaft it is the smallest that usually has the power, else the largest; the smallest, which lies
    lowest, where the power is not known.

    Examples
    --------
    >>> [frame_of_shaft(28, kw).name for kw in (None, 2.2, 4.0)], frame_of_shaft(19, 0.55).height_mm
    (['IEC 100', 'IEC 100', 'IEC 112'], 80.0)
    >>> frame_of_shaft(20, 0.55) is None
    True
    """
    found = [one for one in _frames().values() if abs(one.shaft_mm - shaft_mm) <= SAME_SHAFT_MM]
    found.sort(key=lambda one: (one.power_kw, one.height_mm))
    return next((one for one in found if power_kw is None or one.power_kw >= power_kw), found[-1] if found else None)


def frame_names() -> tuple[str, ...]:
    """Return the names of all frames."""
    return tuple(_frames())


@cache
def _frames() -> dict[str, Frame]:
    found, flats = {}, table("parts")["flats"]
    for part, unit in (("frames_iec", 1.0), ("frames_nema", INCH_MM)):
        for group in table("parts")[part]:
            for name, *sizes in group["rows"]:
                shaft, length, height = (size * unit for size in sizes[:3])
                over = flats.get(name)
                flat = None if over is None else Flat(_number(over) * INCH_MM, flats["source"])
                found[name] = Frame(name, shaft, length, height, sizes[3], group["source"], flat)
    return found


def torque_classes() -> tuple[str, ...]:
    """Return the names of the torque classes."""
    return tuple(table("parts")["torque_classes"])


def start_torque(name: str) -> tuple[float, str]:
    """Return the torque at standstill of a class as a multiple of the full-load torque, with its source.

    Raises
    ------
    CatalogueError
        There is no such class.

    Examples
    --------
    >>> start_torque("N")[0]
    1.4
    """
    classes = table("parts")["torque_classes"]
    if name not in classes:
        raise CatalogueError("there is no such torque class", repr(name), ", ".join(classes))
    return float(classes[name]["start"]), str(classes[name]["source"])


def breakdown_torque(name: str | None) -> tuple[float, str]:
    """Return the greatest torque of a class as a multiple of the full-load torque, with its source.

    Where the class is not known, that of the strongest ordinary motors counts.

    Examples
    --------
    >>> breakdown_torque("C")[0], breakdown_torque(None)[0]
    (2.25, 3.0)
    """
    entry = table("parts")["torque_classes"]["B" if name is None else name]
    unknown = "; the motor's class is not stated" if name is None else ""
    return float(entry["breakdown"]), f"{entry['breakdown_source']}{unknown}"


def unbalance_g_m(rim_speed_m_s: float) -> tuple[float | None, str]:
    """Return the unbalance [g·m] that may be left at a rim speed, with its source; nothing below 5 and above 30 m/s.

    Examples
    --------
    >>> [unbalance_g_m(speed)[0] for speed in (4, 8, 12, 18, 25, 40)]
    [None, 6.0, 3.0, 2.0, 1.0, None]
    """
    data = table("parts")["balance"]
    for over, upto, left in data["rows"]:
        if over < rim_speed_m_s <= upto:
            return float(left), data["source"]
    return None, data["source"]


def balance_grade() -> tuple[float, str]:
    """Return the balance grade of pulleys, the speed of the centre of mass about the axis [mm/s], with its source."""
    data = table("parts")["balance"]
    return float(data["grade"]), str(data["grade_source"])


def rolling_lever() -> tuple[float, str]:
    """Return the lever of rolling friction of an arbor on level edges [mm], with its source."""
    data = table("parts")["balance"]
    return float(data["rolling_mm"]), str(data["rolling_source"])


def cone_material(name: str) -> ConeMaterial:
    """Return what a material of cones weighs and stands.

    Examples
    --------
    >>> cone_material("timber")[:3], cone_material("metal")[:3]
    ((685.0, 710.0, 2.1), (2700.0, 7850.0, 150.0))
    """
    entry = table("parts")["materials"][name]
    light, heavy = entry["kg_m3"]
    return ConeMaterial(float(light), float(heavy), float(entry["mpa"]), str(entry["source"]))


def shafting(*, keyed: bool, shock: str, plain_mpa: float | None = None) -> Shafting:
    """Return what a shaft is allowed: in shear, with the factors for shock.

    Parameters
    ----------
    keyed
        Whether it has a keyway, which leaves three quarters of the stress.
    shock
        How roughly it is loaded.
    plain_mpa
        Shear stress that its steel stands without a keyway, where the maker states it; else that of plain steel.

    Examples
    --------
    >>> shafting(keyed=True, shock="steady")[:3], shafting(keyed=True, shock="steady", plain_mpa=80)[0]
    ((41.0, 1.5, 1.0), 60.0)
    """
    data = table("parts")["shafting"]
    bending, torsion = data[shock]
    if plain_mpa is None:
        stress, source = float(data["keyed_mpa" if keyed else "plain_mpa"]), str(data["source"])
    else:
        stress = plain_mpa * (float(data["keyed_share"]) if keyed else 1.0)
        source = f"stress stated by the maker; {data['factors']}"
    return Shafting(stress, float(bending), float(torsion), source)


def _number(size: str | float) -> float:
    """Return a size of the tables, `1 1/4` too."""
    return float(sum(Fraction(part) for part in size.split())) if isinstance(size, str) else float(size)
