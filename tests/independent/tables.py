"""Belt sections and stock lengths once more, copied by hand with their sources: nothing here reads the catalogue.

Sources, as in docs/validation.md: G20 GOST 20889-88, G3 GOST 1284.3-96, MH Machinery's Handbook, 31st ed., pp.
2575-2576, HB a handbook's table of light-duty belts; "memory" was recalled, not seen; "practice" is common practice, no
source. Lengths are exact millimetres.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

__all__ = ["METAL_RIM_M_S", "Frame", "Section", "Stock", "frame_named", "frame_of_shaft", "section_of", "stock_of"]

F = Fraction
NOTHING = F(0)
INCH = F("25.4")
METAL_RIM_M_S = F("33.02")
"""6500 ft/min to the rounding that is printed; MPTA-B13i-2013, foreword, read, for cast iron."""


@dataclass(frozen=True)
class Section:
    """What the verification knows of a belt section."""

    kind: str
    top: Fraction
    height: Fraction
    datum_depth: Fraction
    """From the belt's top to its datum line."""
    smallest_datum: Fraction
    above: Fraction
    """From the datum line to the rim of the groove."""
    groove_depth: Fraction
    """From the rim to the bottom of the groove."""
    rim: Fraction
    """Width of a bought pulley's rim."""
    pitch_shift: Fraction = NOTHING
    """Pitch diameter less datum diameter."""
    pins: Fraction | None = None
    """Size over the gauge pins less the datum diameter; nothing where no standard names it."""
    measured: str = "datum"
    """The line meant where nothing is stated."""
    datum_width: Fraction = NOTHING
    angles: tuple[tuple[Fraction, int], ...] = ()
    """Datum diameters from which on an angle of the groove holds, with that angle [degrees]."""
    groove_top: Fraction | None = None
    """Width of the groove at the rim where it is printed."""

    def rim_shift(self, groove: str) -> Fraction:
        """Return outside diameter less datum diameter; a V-belt on a rim without a groove rests on its base."""
        if groove == "v" and self.kind != "flat":
            return 2 * self.above
        return 2 * (self.datum_depth - self.height)

    def depth(self, groove: str) -> Fraction:
        """Return the depth of the groove below the rim; 0 on a plain rim."""
        return self.groove_depth if groove == "v" and self.kind != "flat" else F(0)


# Z, A, B: top and height G3 read; b, h, Wp, f, angles, pins G20 read; smallest G20 read ("technically justified").
# AX, BX: as A and B; smallest MH read, 2.2 in and 4.0 in.
# 3L, 4L, 5L: top and height HB read (3/8 x 7/32, 1/2 x 5/16, 5/8 x 13/32 in); lines and depth as Z, A, B, memory;
# smallest OUTSIDE diameter 1.5, 2.5, 3.5 in, memory (ANSI/RMA IP-23), so that the datum one is less by 2b; tops memory.
# SPZ: memory (ISO 4183, ISO 4184). Rims of Z, A, B: 2f, G20 read.
_Z = ((F(0), 34), (F(80), 36), (F(112), 38), (F(180), 40))
_A = ((F(0), 34), (F(125), 36), (F(180), 38), (F(450), 40))
_B = ((F(0), 34), (F(180), 36), (F(250), 38), (F(560), 40))


def _classical(sizes: str, angles: tuple[tuple[Fraction, int], ...], measured: str = "datum") -> Section:
    top, height, depth, smallest, above, groove, rim, width, pins = sizes.split()
    return Section(
        kind="v",
        top=F(top),
        height=F(height),
        datum_depth=F(depth),
        smallest_datum=F(smallest),
        above=F(above),
        groove_depth=F(groove),
        rim=F(rim),
        datum_width=F(width),
        pins=None if pins == "-" else F(pins),
        angles=angles,
        measured=measured,
    )


def _light(sizes: str, groove_top_in: str) -> Section:
    plain = _classical(sizes, (), "outside")
    return Section(**{**vars(plain), "groove_top": F(groove_top_in) * INCH})


#             top      height    h_d smallest b   depth rim Wp  pins
SECTIONS = {
    "Z": _classical("10 6 2.5 50 2.5 9.5 16 8.5 12", _Z),
    "A": _classical("13 8 3.3 75 3.3 12 20 11 17", _A),
    "B": _classical("17 11 4.2 125 4.2 15 25 14 20.4", _B),
    "AX": _classical("13 8 3.3 55.88 3.3 12 20 11 17", _A),
    "BX": _classical("17 11 4.2 101.6 4.2 15 25 14 20.4", _B),
    "SPZ": _classical("9.7 8 2 63 2 11 16 8.5 -", ((F(0), 34), (F("80.000000002"), 38))),
    "3L": _light("9.525 5.55625 2.5 33.1 2.5 9.5 16 8.5 -", "0.364"),
    "4L": _light("12.7 7.9375 3.3 56.9 3.3 12 20 11 -", "0.490"),
    "5L": _light("15.875 10.31875 4.2 80.5 4.2 15 25 14 -", "0.630"),
}

ROUND_SMALLEST = ((3, 15), (4, 25), (5, 30), (6, 40), (8, 55), (10, 75), (12, 90), (15, 120))
"""Belt diameter and smallest pulley [mm], round polyurethane of 85 Shore A, a maker's table, read."""


def section_of(name: str) -> Section:
    """Return the section that a belt's name says.

    Examples
    --------
    >>> section_of("round 7").smallest_datum, section_of("flat 3x40").pitch_shift, section_of("PJ 6").top
    (Fraction(55, 1), Fraction(3, 1), Fraction(351, 25))
    """
    if name in SECTIONS:
        return SECTIONS[name]
    kind, _, size = name.partition(" ")
    numbers = [F(part) for part in re.findall(r"[\d.]+", size)]
    if (
        kind == "PJ"
    ):  # rib pitch 2.34 read; height 4, depth 2.06, effective line to pitch line 1.2, edge 1.8, smallest 20: memory
        ribs = numbers[0] if numbers else F(4)
        return Section(
            kind="ribbed",
            top=F("2.34") * ribs,
            height=F(4),
            datum_depth=F("1.94"),
            smallest_datum=F(20),
            above=F(0),
            groove_depth=F("2.06"),
            rim=(ribs - 1) * F("2.34") + F("3.6"),
            pitch_shift=F("2.4"),
            measured="outside",
            groove_top=F("2.34") * ribs,
        )
    if kind == "round":  # its middle is datum and pitch line and lies at the rim of its half-round seat: practice
        thick = numbers[0]
        smallest = next((F(least) for most, least in ROUND_SMALLEST if thick <= most), 8 * thick)
        return Section(
            kind="round",
            top=thick,
            height=thick,
            datum_depth=thick / 2,
            smallest_datum=smallest,
            above=F(0),
            groove_depth=thick / 2,
            rim=2 * thick,
            groove_top=thick,
        )
    if (
        kind == "flat"
    ):  # datum line its inner face, pitch line its middle: practice; smallest 20 times its thickness, read
        thick, wide = numbers
        return Section(
            kind="flat",
            top=wide,
            height=thick,
            datum_depth=thick,
            smallest_datum=20 * thick,
            above=F(0),
            groove_depth=F(0),
            rim=wide,
            pitch_shift=thick,
            measured="outside",
            groove_top=wide,
        )
    raise ValueError(f"no such section here: {name}")


@dataclass(frozen=True)
class Frame:
    """What a motor's frame tells: shaft, height of its middle above the feet [mm], usual greatest power [kW]."""

    shaft: Fraction
    height: Fraction
    power: Fraction


# IEC 60072, memory, height as in the name; NEMA MG 1, shafts of 48, 56, 143T, 145T read, all else memory
_IEC = "56 9 0.09, 63 11 0.18, 71 14 0.37, 80 19 0.75, 90 24 1.5, 100 28 3, 112 28 4, 132 38 7.5"
_NEMA = """42 3/8 21/8 0.12, 48 1/2 3 0.37, 56 5/8 7/2 1.1, 143T 7/8 7/2 0.75, 145T 7/8 7/2 1.5, 182T 9/8 9/2 2.2,
184T 9/8 9/2 3.7"""
FRAMES = {
    **{f"IEC {n}": Frame(F(d), F(n), F(kw)) for n, d, kw in (row.split() for row in _IEC.split(","))},
    **{
        f"NEMA {n}": Frame(F(d) * INCH, F(h) * INCH, F(kw)) for n, d, h, kw in (row.split() for row in _NEMA.split(","))
    },
}


def frame_named(name: str) -> Frame:
    """Return a motor's frame by its name."""
    return FRAMES[name]


def frame_of_shaft(shaft: Fraction, power: Fraction | None) -> Frame | None:
    """Return the least frame with such a shaft, to 0.05 mm, that usually has the power; else the greatest with it.

    Examples
    --------
    >>> [float(frame_of_shaft(F(28), kw).height) for kw in (None, F(4), F(9))], frame_of_shaft(F(20), None) is None
    ([100.0, 112.0, 112.0], True)
    """
    there = sorted((f for f in FRAMES.values() if abs(f.shaft - shaft) <= F("0.05")), key=lambda f: (f.power, f.height))
    enough = [f for f in there if power is None or f.power >= power]
    return next(iter(enough or there[-1:]), None)


@dataclass(frozen=True)
class Stock:
    """A belt that shops keep: datum length, with how far it may differ either way."""

    length: Fraction
    tolerance: Fraction


R40 = """400 425 450 475 500 530 560 600 630 670 710 750 800 850 900 950 1000 1060 1120 1180 1250 1320 1400 1500 1600
1700 1800 1900 2000 2120 2240 2360 2500"""
"""Datum lengths [mm], G3, table 19, read; Z from 400, A from 560, B from 900."""
A_INCH = "26 31 35 38 42 46 51 55 60 68 75 80 85 90 96 105 112 120 128"
B_INCH = "35 38 42 46 51 55 60 68 75 81 85 90 97 105 112 120 128"
"""Numbers, MH read: datum length = number + 1.3 in for A, + 1.8 in for B."""
METRIC_FROM = {"Z": 400, "A": 560, "AX": 560, "B": 900, "BX": 900}
LIGHT_INCHES = {"3L": (14, 60), "4L": (20, 100), "5L": (25, 100)}
"""First and last whole inch of OUTSIDE length that is kept; memory."""


def _tolerance(marked: Fraction) -> Fraction:
    """Return 0.6 in up to 46 in, 0.7 in up to 80 in, 0.8 in above, MH read; taken for all belts here, judgement."""
    return INCH * (F("0.6") if marked <= F("46.5") * INCH else F("0.7") if marked <= 80 * INCH else F("0.8"))


def stock_of(name: str, series: str | None) -> tuple[Stock, ...]:
    """Return the stock belts of a section in a series, `metric` or `inch`; the usual one where none is named.

    Examples
    --------
    >>> [float(round(b.length, 2)) for b in stock_of("4L", None)[:2]], len(stock_of("Z", "metric"))
    ([487.27, 512.67], 33)
    """
    if name in LIGHT_INCHES:
        first, last = LIGHT_INCHES[name]
        # the ring about the datum line is 2·pi·h_d shorter than the outside
        around = 2 * F("3.14159265358979323846264338327950288") * section_of(name).datum_depth
        return tuple(Stock(n * INCH - around, _tolerance(n * INCH)) for n in range(first, last + 1))
    usual = "inch" if name in ("AX", "BX") else "metric"
    if (series or usual) == "metric":
        return tuple(Stock(F(n), _tolerance(F(n))) for n in map(int, R40.split()) if n >= METRIC_FROM[name])
    numbers, adds = (A_INCH, F("1.3")) if name in ("A", "AX") else (B_INCH, F("1.8"))
    return tuple(Stock((n + adds) * INCH, _tolerance(n * INCH)) for n in map(int, numbers.split()))
