"""Random drives that work: belts and sizes drawn first, so that a machine can be stated around them.

Plain floats and formulas of its own; figures of sections from the hand-copied tables beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from math import asin, exp, log, pi, sqrt
from random import Random

from tests.independent.tables import Section, section_of, stock_of

__all__ = ["Bench", "Drive", "Half", "draw_drive"]

F = Fraction
INCH = F("25.4")
NOTHING = F(0)
_SIZES = """50 53 56 60 63 67 71 75 80 85 90 95 100 106 112 118 125 132 140 150 160 170 180 190 200 212 224 236 250 265
280 300 315"""
PREFERRED = tuple(map(int, _SIZES.split()))
"""Datum diameters [mm], GOST 20889-88, read to 250; above, the series goes on as R40, from memory."""
KINDS = (
    *[("free", "free")] * 6,
    *[("ready", "free")] * 4,
    *[("ready", "blanks"), ("free", "blanks"), ("blanks", "free"), ("free", "ready")] * 2,
    *[("ready+free", "free"), ("free", "ready+free"), ("kept", "free"), ("free", "kept"), ("kept", "blanks")],
    *[("blanks", "blanks"), ("ready", "ready"), ("kept", "kept"), ("ready", "free+blanks"), ("ready", "kept")],
    *[("kept+free", "free"), ("free", "kept+free"), ("kept+blanks", "free"), ("kept+free", "kept+free")],
    *[("hand", "free"), ("hand", "blanks"), ("ready+hand", "free"), ("hand", "hand"), ("hand+free", "free")],
    *[("free", "discs"), ("discs", "discs"), ("hand", "discs"), ("free", "hand"), ("discs+free", "free")],
)
SECTIONS = (
    "Z",
    "Z",
    "Z",
    "A",
    "A",
    "A",
    "A",
    "B",
    "4L",
    "4L",
    "4L",
    "3L",
    "5L",
    "AX",
    "BX",
    "SPZ",
    "PJ",
    "round",
    "round",
    "flat",
)


@dataclass(frozen=True)
class Bench:
    """What all stages of a machine share."""

    inches: bool
    tick: Fraction
    grid: Fraction
    rise: Fraction


@dataclass
class Half:
    """One side of a stage: what it is, and its sizes on the maker's line, slowest position first."""

    kind: str
    groove: str
    measured: str
    shift: Fraction
    """Given less datum diameter."""
    rim: Fraction
    """Outside less datum diameter."""
    sizes: list[Fraction] = field(default_factory=list)
    start: Fraction = NOTHING
    """Where the grid of a free range begins."""
    stands: list[bool] = field(default_factory=list)
    """Which steps are there already: kept, or pulleys."""

    @property
    def turned(self) -> bool:
        """Whether steps may be turned."""
        return any(word in self.kind for word in ("free", "blanks", "discs"))


@dataclass
class Drive:
    """One belt stage that works."""

    section_name: str
    section: Section
    crossed: bool
    slip: Fraction
    offsets: tuple[int, ...]
    halves: tuple[Half, Half]
    lengths: str | tuple[Fraction, ...]
    """As stated: a series, any length, or a list on the line `length_measured`."""
    length_measured: str
    length: Fraction
    """Datum length of its belt."""
    centres: list[float] = field(default_factory=list)

    @property
    def kinds(self) -> tuple[str, str]:
        """Where the two sides' sizes come from."""
        return self.halves[0].kind, self.halves[1].kind

    @property
    def pitch(self) -> list[tuple[float, float]]:
        """Pitch diameters of every position."""
        shift = self.section.pitch_shift
        a, b = ([float(x - h.shift + shift) for x in h.sizes] for h in self.halves)
        return list(zip(a, b, strict=True))

    @property
    def outside(self) -> list[tuple[float, float]]:
        """Outside diameters of every position."""
        a, b = ([float(x - h.shift + h.rim) for x in h.sizes] for h in self.halves)
        return list(zip(a, b, strict=True))

    @property
    def ratios(self) -> list[float]:
        """Speed ratios of every position, slip included."""
        return [a / b * (1 - float(self.slip)) for a, b in self.pitch]


def draw_drive(rng: Random, bench: Bench, offsets: tuple[int, ...], log_phi: float, middle: float) -> Drive | None:
    """Return a stage whose ratios rise nearly as wanted on one belt, or nothing where this draw comes to nothing."""
    name, section, crossed = _section(rng)
    kinds = rng.choice(KINDS)
    if crossed and rng.random() < 0.5:
        kinds = ("free", "free")
    halves = _half(rng, section, kinds[0]), _half(rng, section, kinds[1])
    mean = (offsets[0] + offsets[-1]) / 2
    ratios = [middle * exp(log_phi * (offset - mean)) for offset in offsets]
    steepest = max(max(r, 1 / r) for r in ratios)
    if steepest > 4.2:
        return None
    total = float(section.smallest_datum + section.pitch_shift) * (1 + steepest) * rng.uniform(1.03, 1.5)
    if total > 620:
        return None
    slip = F(rng.choice(["0.01", "0.01", "0.01", "0", "0.02", "0.015"]))
    drive = Drive(name, section, crossed, slip, offsets, halves, "any", "datum", F(0))
    half_way = ratios[len(ratios) // 2] / (1 - float(slip))
    driven = total / (1 + half_way)
    centre = total * rng.uniform(0.72, 1.35) + 25
    _draw_belt(rng, bench, drive, _length(half_way * driven, driven, centre, crossed))
    pitch_length = float(drive.length) + pi * float(section.pitch_shift)
    found = _centre(half_way * driven, driven, pitch_length, crossed)
    if found is None or not 0.6 * total < found < 2.5 * total:
        return None
    pairs = [_pair(r / (1 - float(slip)), found, pitch_length, crossed) for r in ratios]
    if any(pair is None for pair in pairs):
        return None
    _snap(rng, bench, drive, [pair for pair in pairs if pair is not None])
    return drive if _works(bench, drive, pitch_length) else None


def _section(rng: Random) -> tuple[str, Section, bool]:
    name = rng.choice(SECTIONS)
    if name == "PJ":
        name = f"PJ {rng.randint(3, 8)}"
    elif name == "round":
        name = f"round {rng.choice([3, 4, 5, 6, 8, 10])}"
    elif name == "flat":
        name = f"flat {rng.choice(['2', '3', '2.5'])}x{rng.choice([20, 30, 40])}"
    section = section_of(name)
    return name, section, section.kind in ("round", "flat") and rng.random() < 0.35


def _half(rng: Random, section: Section, kind: str) -> Half:
    groove = "flat" if section.kind == "flat" else "v"
    if kind in ("free", "blanks", "discs") and section.kind in ("v", "flat") and rng.random() < 0.08:
        groove = rng.choice(["flat", "crowned"])
    lines = ["outside", "datum"] + (["over pins"] if groove == "v" and section.pins is not None else [])
    measured = rng.choice(lines) if rng.random() < 0.3 else section.measured if groove == "v" else "outside"
    rim = section.rim_shift(groove)
    shift = {"outside": rim, "datum": F(0), "over pins": section.pins or F(0)}[measured]
    return Half(kind, groove, measured, shift, rim)


def _draw_belt(rng: Random, bench: Bench, drive: Drive, wanted: float) -> None:
    """Choose how the belt's lengths are stated, and the belt whose length is near the one wanted."""
    section = drive.section
    datum = wanted - pi * float(section.pitch_shift)
    stock = section.kind == "v" and drive.section_name != "SPZ"
    how = rng.choice(["stock", "stock", "list", "list", "any"] if stock else ["list", "list", "any"])
    if how == "stock":
        series = "stock"
        if drive.section_name in ("A", "B", "AX", "BX") and rng.random() < 0.4:
            series = rng.choice(["metric stock", "inch stock"])
        kept = stock_of(drive.section_name, {"stock": None}.get(series, series.split()[0]))
        drive.lengths, drive.length = series, min(kept, key=lambda b: abs(float(b.length) - datum)).length
        return
    if how == "any":
        drive.lengths, drive.length = "any", F(10 * round(datum / 10))
        return
    # the ring about another line is longer by its distance times the whole turn
    drive.length_measured = rng.choice(["datum", "datum", "inside", "outside"])
    pi_exact = F("3.14159265358979323846264338327950288")
    shifts = {"datum": F(0), "inside": section.height - section.datum_depth, "outside": -section.datum_depth}
    shift = 2 * pi_exact * shifts[drive.length_measured]
    step = INCH / 2 if bench.inches else F(rng.choice([1, 5, 10]))
    given = round((F(datum) - shift) / step) * step
    others = {given + step * rng.choice([-9, -4, -2, 2, 3, 7]) for _ in range(rng.randint(0, 2))}
    drive.lengths, drive.length = tuple(sorted({given, *others})), given + shift


def _snap(rng: Random, bench: Bench, drive: Drive, pairs: list[tuple[float, float]]) -> None:
    """Bring both sides to sizes that they may have: pulleys of a list, the grid of turned sides, ticks."""
    both = all(half.turned for half in drive.halves)
    for number, half in enumerate(drive.halves):
        wanted = [F(pair[number]) - drive.section.pitch_shift + half.shift for pair in pairs]
        half.stands = _standing(rng, half, len(pairs))
        step = bench.grid if both else bench.tick
        if "free" in half.kind:
            half.start = (min(wanted) // bench.tick - rng.randint(0, 20)) * bench.tick
            half.start = max(half.start, -(-6 // bench.tick) * bench.tick)
            floor = drive.section.smallest_datum + half.shift
            if half.start < floor and rng.random() < 0.7:
                half.start = -(-floor // bench.tick) * bench.tick
        if "kept" in half.kind:
            fine = INCH / 16 if bench.inches else F(1, 2)
            there = [round(want / fine) * fine for want in wanted]
        else:
            bought = [n * INCH / 4 for n in range(6, 60)] if bench.inches else [F(n) for n in PREFERRED]
            there = [_nearest(bought, want) for want in wanted]
        half.sizes = [
            own if stands else half.start + round((want - half.start) / step) * step
            for own, stands, want in zip(there, half.stands, wanted, strict=True)
        ]


def _nearest(sizes: list[Fraction], wanted: Fraction) -> Fraction:
    return min(sizes, key=lambda size: abs(size - wanted))


def _standing(rng: Random, half: Half, count: int) -> list[bool]:
    """Return which steps are there already: all where nothing is turned, of a part-kept cone some but not all."""
    if not half.turned:
        return [True] * count
    if "kept" in half.kind:
        stands = [rng.random() < 0.5 for _ in range(count)]
        stands[rng.randrange(count)] = True
        return stands
    return [("ready" in half.kind or "hand" in half.kind) and rng.random() < 0.4 for _ in range(count)]


def _works(bench: Bench, drive: Drive, pitch_length: float) -> bool:
    """Tell whether the sizes are cones, and the belt goes round at every position; note the centre distances."""
    for half, way in zip(drive.halves, (1, -1), strict=True):
        if min(half.sizes) - half.shift < drive.section.smallest_datum:
            return False
        if not half.turned and "kept" not in half.kind:
            continue
        for a, b in pairwise(half.sizes):
            if (b - a) * way < 0 or 0 < (b - a) * way < bench.rise:
                return False
    centres = [_centre(a, b, pitch_length, drive.crossed) for a, b in drive.pitch]
    if any(centre is None for centre in centres):
        return False
    drive.centres = [centre for centre in centres if centre is not None]
    rims = max((a + b) / 2 for a, b in drive.outside)
    lean = max(abs(a - b) / 2 / c for (a, b), c in zip(drive.pitch, drive.centres, strict=True))
    logs = [log(ratio) for ratio in drive.ratios]
    rising = all(b - a > 0.05 for a, b in pairwise(logs))
    return rising and min(drive.centres) > rims + 45 and (drive.crossed or lean < 0.7)


def _length(driver: float, driven: float, centre: float, crossed: bool) -> float:
    lean = (driver + driven) / 2 if crossed else (driver - driven) / 2
    around = pi * (driver + driven) / 2 + 2 * lean * asin(lean / centre)
    return 2 * sqrt(centre * centre - lean * lean) + around


def _centre(driver: float, driven: float, length: float, crossed: bool) -> float | None:
    low = ((driver + driven) if crossed else abs(driver - driven)) / 2 + 1e-9
    high = length
    if low >= high or _length(driver, driven, low, crossed) >= length:
        return None
    for _ in range(60):
        middle = (low + high) / 2
        if _length(driver, driven, middle, crossed) < length:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _pair(ratio: float, centre: float, length: float, crossed: bool) -> tuple[float, float] | None:
    """Return the two sizes of a ratio that a belt fits at a centre distance."""
    low, high = 1.0, 1.9 * centre / (1 + ratio)
    if not _length(low * ratio, low, centre, crossed) < length < _length(high * ratio, high, centre, crossed):
        return None
    for _ in range(60):
        middle = (low + high) / 2
        if _length(middle * ratio, middle, centre, crossed) < length:
            low = middle
        else:
            high = middle
    return low * ratio, low
