"""What the answers so far come to: spans, how far the machine reaches, its stages."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from dataclasses import dataclass
from math import ceil, inf, log, log10, sqrt
from typing import NamedTuple

from optimizer.asking.answer import Answer, Answers, Span, Wanted, Written
from optimizer.asking.purposes import purpose_named
from optimizer.catalogue.entry import Section
from optimizer.catalogue.lengths import series_of, stock_lengths
from optimizer.catalogue.lines import shifts
from optimizer.catalogue.sections import section
from optimizer.layouts.budget import CLIMB_SHARE, STRETCH_SHARE
from optimizer.mechanics.motors import idle_speed_rpm
from optimizer.mechanics.surface_speed import suited_mm
from optimizer.quantities import LENGTH, RIM_SPEED, SPEED, QuantityError, as_written, show_length
from optimizer.scenario.band import MOST_SPEEDS

__all__ = [
    "BOTH",
    "COUNTERSHAFT",
    "FEW",
    "ONE",
    "Bands",
    "Cone",
    "Sizes",
    "Speeds",
    "cone_of",
    "fits_one_stage",
    "has_countershaft",
    "highest_rpm",
    "locked",
    "lowest_rpm",
    "moved",
    "outermost",
    "positions_of",
    "rounded_rpm",
    "span_mm",
    "span_rpm",
    "spans_of",
    "speeds_suggested",
    "travel_mm",
    "variants",
    "wants_of",
]

LEAST_SIZE_MM = 0.1
"""No work is smaller."""
_COUNT = re.compile(r"(?:,\s*|\s+)(?:(?P<count>\d{1,3})\s*speeds?|x\s*(?P<times>\d{1,3}))\s*$", re.ASCII)


@dataclass(frozen=True)
class _Items(ABC):
    """Reads kinds of work, one a line or parted by semicolons."""

    @property
    def many(self) -> bool:
        """Whether an answer may take several lines."""
        return True

    @property
    @abstractmethod
    def form(self) -> str:
        """How one is written."""

    def read(self, value: Written, units: str) -> Answer:
        """Return the kinds of work."""
        lines = value if isinstance(value, tuple) else tuple(re.split(r"[;\n]", str(value)))
        texts = [str(line).strip() for line in lines if str(line).strip()]
        if not texts or len(texts) > MOST_SPEEDS:
            raise QuantityError(f"this takes 1 to {MOST_SPEEDS} lines", str(len(texts)), self.form)
        items = tuple(self._item(text, units) for text in texts)
        return Answer(tuple(texts), items)

    def shown(self, written: Written, units: str) -> str:
        """Return them one after the other."""
        del units
        return "; ".join(map(str, written)) if isinstance(written, tuple) else str(written)

    def _item(self, text: str, units: str) -> Wanted:
        name, colon, rest = text.rpartition(":")
        if not colon or not name.strip() or not rest.strip():
            raise QuantityError("a name, a colon and what is wanted belong here", as_written(text), self.form)
        found = _COUNT.search(rest)
        want = int(found["count"] or found["times"]) if found else None
        if want is not None and not 1 <= want <= MOST_SPEEDS:
            raise QuantityError(
                "a machine has no such number of speeds", as_written(text), f"1 to {MOST_SPEEDS} speeds"
            )
        return self._of(name.strip(), rest[: found.start()] if found else rest, want, units)

    @abstractmethod
    def _of(self, name: str, rest: str, want: int | None, units: str) -> Wanted:
        """Return the kind of work of this name."""


@dataclass(frozen=True)
class Bands(_Items):
    """Reads spans of spindle speeds."""

    @property
    def form(self) -> str:
        """How one is written."""
        return "iron: 200 to 450 rpm, 2 speeds"

    def _of(self, name: str, rest: str, want: int | None, units: str) -> Wanted:
        (low, least), (high, most) = Span(SPEED).ends(rest, units)
        if least >= most:
            raise QuantityError("a band needs two speeds", as_written(rest.strip()), self.form)
        return Wanted(name, least, most, (low, high), want)


@dataclass(frozen=True)
class Sizes(_Items):
    """Reads diameters of work, tool or wheel."""

    @property
    def form(self) -> str:
        """How one is written."""
        return "bowls: 80 to 200 mm at 8 to 12 m/s, 3 speeds; the part from at on may be left out"

    def _of(self, name: str, rest: str, want: int | None, units: str) -> Wanted:
        size, _, speed = rest.partition(" at ")
        (low, least), (high, most) = Span(LENGTH).ends(size, units)
        if least < LEAST_SIZE_MM:
            least_said = show_length(LEAST_SIZE_MM, units)
            raise QuantityError("this size is too small", as_written(size.strip()), f"{least_said} or more")
        if not speed.strip():
            return Wanted(name, least, most, (low, high), want)
        slow, fast = Span(RIM_SPEED).ends(speed, units)
        return Wanted(name, least, most, (low, high), want, (slow[1], fast[1]), (slow[0], fast[0]))


def span_rpm(size_mm: tuple[float, float], surface_m_s: tuple[float, float]) -> tuple[float, float]:
    """Return the slowest and fastest spindle speed for work between two sizes [rpm].

    The middle of the surface speeds, `v = √(v1·v2)`, belongs to the middle size, `d = √(d1·d2)`; from there the speeds
    go as far either way as the sizes or the surface speeds do, whichever go farther. So the largest work turns
    at the middle surface speed at the slowest speed, the smallest at the fastest, and work of one size has the whole
    span of surface speeds.

    Parameters
    ----------
    size_mm
        The smallest and the largest diameter, above 0.
    surface_m_s
        The least and the greatest speed along the surface, above 0.

    Examples
    --------
    Turned wood of 200 to 400 mm at 8 to 12 m/s; a wheel of 150 mm at 15 to 25 m/s:

    >>> [round(rpm) for rpm in span_rpm((200.0, 400.0), (8.0, 12.0))]
    [468, 936]
    >>> [round(rpm) for rpm in span_rpm((150.0, 150.0), (15.0, 25.0))]
    [1910, 3183]
    """
    middle_mm, middle_m_s = sqrt(size_mm[0] * size_mm[1]), sqrt(surface_m_s[0] * surface_m_s[1])
    # the diameter that suits 1 rpm at a surface speed is the speed that suits 1 mm
    middle_rpm = float(suited_mm(1.0, middle_m_s, middle_m_s).least) / middle_mm
    half = sqrt(max(size_mm[1] / size_mm[0], surface_m_s[1] / surface_m_s[0]))
    return middle_rpm / half, middle_rpm * half


def rounded_rpm(rpm: float, digits: int = 3) -> int | float:
    """Return a speed rounded to some leading digits, a whole number from 10 rpm on.

    Examples
    --------
    >>> rounded_rpm(468.1), rounded_rpm(2331.7), rounded_rpm(2331.7, 2), rounded_rpm(3.14159)
    (468, 2330, 2300, 3.14)
    """
    places = digits - 1 - int(log10(rpm)) if rpm >= 1 else digits
    found = round(rpm, places)
    return int(found) if found == int(found) else found


TIMBER_RIM_RPM_MM = 20.0 * 60_000 / 3.141592653589793
"""Speed times diameter of a timber rim at 20 m/s, the default limit of `making.rim_speed` [rpm·mm]."""
SAFE = 0.94
"""Share of the greatest ratio that suggestions use; the rest is for hubs, slip and belts of set lengths; judgement."""
STEP_UP = 1.5
"""Ratio of neighbouring speeds that is aimed at; judgement."""
FEW, MANY = 6, 8
"""Most speeds that are suggested: one pair of cones has no more than 6 steps, 2 x 4 positions give 8."""
EDGE = 1.03
"""How far inside its band a speed of an even series must lie to be counted on; as `series.ends`."""


class Cone(NamedTuple):
    """The smallest and the largest step that can be turned, on the datum line [mm]."""

    least_mm: float
    most_mm: float
    rim_rpm_mm: float
    """Greatest full-load speed times diameter of a rim [rpm·mm], slower than what bursts by what the motor gains."""

    def most_at(self, rpm: float) -> float:
        """Return the largest step of a cone whose shaft turns as fast at the most, whichever step is in use."""
        return max(min(self.most_mm, self.rim_rpm_mm / rpm), self.least_mm)


class Speeds(NamedTuple):
    """The slowest and the fastest spindle speed [rpm]."""

    slowest_rpm: float
    fastest_rpm: float

    @property
    def reach(self) -> float:
        """Fastest over slowest."""
        return self.fastest_rpm / self.slowest_rpm


def cone_of(answers: Answers) -> Cone:
    """Return the cones that the shop can turn for the belt that was chosen."""
    belt: Section = section(answers.word("section") or "A")
    blank = max((disc.sizes_mm[0] for disc in answers.stock("discs")), default=answers.real("largest_blank") or 240.0)
    blank = min(blank, answers.real("largest_blank") or blank)
    most = blank - (answers.real("truing") or 4.0) - shifts(belt).outside_less_datum
    motor = answers.real("motor_speed") or 1420.0
    idle = answers.real("motor_idle") or idle_speed_rpm(motor) or motor
    rim = TIMBER_RIM_RPM_MM * motor / idle if answers.word("steps") in ("", "timber") else inf
    return Cone(belt.smallest_datum_mm, max(most, belt.smallest_datum_mm), rim)


def highest_rpm(answers: Answers, stages: int) -> float:
    """Return the fastest spindle speed that one or two stages come up to."""
    motor, cone = answers.real("motor_speed") or 1420.0, cone_of(answers)
    up = SAFE * cone.most_at(motor) / cone.least_mm
    if stages == 1:
        return motor * up
    return min(motor * up * SAFE * cone.most_mm, SAFE * cone.rim_rpm_mm) / cone.least_mm


def lowest_rpm(answers: Answers, stages: int, fastest_rpm: float) -> float:
    """Return the slowest spindle speed that one or two stages come down to, where the fastest is wanted as well.

    The spindle's cone turns at the fastest speed with all its steps, so that a fast machine of timber has a small one:
    `D_v = min(D, 20 m/s / (π·n_max))`. One stage comes down to `n·d/D_v`. With a countershaft at `n_c` the second stage
    must reach the fastest speed, `n_c ≥ n_max·d/D`, and the first `n_c ≥ n·d/D`; from there it comes down by `d/D_v`.
    """
    motor, cone = answers.real("motor_speed") or 1420.0, cone_of(answers)
    down = cone.least_mm / (SAFE * cone.most_at(fastest_rpm))
    if stages == 1:
        return motor * down
    return max(fastest_rpm, motor) * cone.least_mm / (SAFE * cone.most_mm) * down


def fits_one_stage(answers: Answers) -> bool:
    """Tell whether one pair of cones gives all speeds that are wanted."""
    wanted = outermost(answers)
    few = (answers.count("speeds") or speeds_suggested(answers)) <= FEW
    low = lowest_rpm(answers, 1, wanted.fastest_rpm)
    return few and wanted.slowest_rpm >= low and wanted.fastest_rpm <= highest_rpm(answers, 1)


def spans_of(answers: Answers) -> tuple[tuple[Wanted, Speeds], ...]:
    """Return every kind of work with the slowest and the fastest speed it wants [rpm]."""
    found = [(band, Speeds(band.least, band.most)) for band in answers.wanted("bands")]
    for work in answers.wanted("sizes"):
        stated = answers.reals("surface_speed")
        usual = purpose_named(answers.word("purpose")).surface_m_s or (10.0, 10.0)
        surface = work.surface_m_s or ((stated[0], stated[1]) if stated else usual)
        found.append((work, Speeds(*span_rpm((work.least, work.most), surface))))
    return tuple(found)


def speeds_suggested(answers: Answers) -> int:
    """Return how many speeds suit the work: steps of about 1.5, at least one speed a kind of work."""
    spans = spans_of(answers)
    if not spans:
        return 4
    outer = outermost(answers)
    asked = min(sum(work.want or 1 for work, _ in spans), MOST_SPEEDS)
    most = max(FEW if outer.reach <= 12 else MANY, asked)
    first = max(2, asked, min(most, ceil(log(max(outer.reach, 1.001)) / log(STEP_UP) - 0.3) + 1))
    for count in range(first, most + 1):
        if all(_even(outer, count, number, spans) >= (work.want or 1) for number, (work, _) in enumerate(spans)):
            return count
    return first


def wants_of(answers: Answers) -> tuple[int, ...]:
    """Return how many speeds each kind of work gets: what was asked for, else what an even series gives it."""
    spans = spans_of(answers)
    outer = outermost(answers)
    count = answers.count("speeds") or speeds_suggested(answers)
    return tuple(work.want or max(1, _even(outer, count, number, spans)) for number, (work, _) in enumerate(spans))


def outermost(answers: Answers) -> Speeds:
    """Return the slowest and the fastest speed of all kinds of work; the motor's own where none is stated."""
    spans = [span for _, span in spans_of(answers)]
    motor = answers.real("motor_speed") or 1420.0
    return Speeds(
        min((span.slowest_rpm for span in spans), default=motor),
        max((span.fastest_rpm for span in spans), default=motor),
    )


def _even(outer: Speeds, count: int, number: int, spans: tuple[tuple[Wanted, Speeds], ...]) -> int:
    """Return how many speeds of an even series lie well within the span of one kind of work."""
    span = spans[number][1]
    series = [outer.slowest_rpm * outer.reach ** (k / max(count - 1, 1)) for k in range(count)]
    low = span.slowest_rpm if span.slowest_rpm <= outer.slowest_rpm else span.slowest_rpm * EDGE
    high = span.fastest_rpm if span.fastest_rpm >= outer.fastest_rpm else span.fastest_rpm / EDGE
    return sum(low * 0.999 <= speed <= high * 1.001 for speed in series)


ONE, COUNTERSHAFT, BOTH = "one stage", "countershaft", "both"
OPENING = 0.75
"""Least centre distance as a share of the largest and smallest diameter; GOST 1284.3-96, eq. 7, read: 0.7."""
ROOM_MM = 100.0
"""How far apart least and greatest centre distance are suggested, so that some belts of a series fall between."""
SPREAD_MM = 18.0
"""Travel that is left for the positions' own centre distances; judgement."""
MOST_POSITIONS = 6


def variants(answers: Answers) -> tuple[bool, ...]:
    """Return whether each machine that is to be written has a countershaft."""
    return {ONE: (False,), COUNTERSHAFT: (True,)}.get(answers.word("shafts"), (False, True))


def has_countershaft(answers: Answers) -> bool:
    """Tell whether a machine with a countershaft is to be written."""
    return True in variants(answers)


def moved(answers: Answers, *, countershaft: bool) -> tuple[bool, ...]:
    """Return of every belt, from the motor on, whether a mount changes its centre distance."""
    motor = answers.word("motor_mount") not in ("", "fixed")
    spindle = answers.word("spindle_mount") not in ("", "fixed")
    if not countershaft:
        return (motor or spindle,)
    middle = answers.word("countershaft_mount") not in ("", "fixed")
    rides = answers.flag("motor_rides")
    return (motor or (middle and not rides), middle or spindle)


def locked(answers: Answers) -> bool:
    """Tell whether a belt of some machine to be written is slackened by no mount."""
    return any(not moves for middle in variants(answers) for moves in moved(answers, countershaft=middle))


def positions_of(answers: Answers, *, countershaft: bool) -> tuple[tuple[int, ...], ...]:
    """Return the numbers of positions that each belt may have, for as many speeds as are wanted.

    A motor that can be switched makes several speeds of every position. With a countershaft, one or two positions
    before it up to four speeds at one setting, as many as it takes from five on.
    """
    count = ceil((answers.count("speeds") or 4) / (1 + len(answers.reals("motor_slower"))))
    if not countershaft:
        return (tuple(range(min(count, FEW), min(count + 1, FEW) + 1)),)
    first = (1, 2) if count <= 4 else (max(2, ceil(count / MOST_POSITIONS)),)
    second = sorted({min(MOST_POSITIONS, ceil(count / number)) for number in first})
    return (first, tuple(second))


def span_mm(answers: Answers) -> tuple[float, float]:
    """Return the least and the greatest centre distance that suit the cones, or the belts that were listed [mm]."""
    belt, cone = section(answers.word("section") or "A"), cone_of(answers)
    rims = cone.most_mm + cone.least_mm + 2 * shifts(belt).outside_less_datum
    lengths = answers.reals("belt_lengths")
    if not lengths:
        return OPENING * rims, OPENING * rims + ROOM_MM
    around = 1.6 * (cone.most_mm + cone.least_mm)
    least = max((min(lengths) - around) / 2 - ROOM_MM / 4, rims / 2 + ROOM_MM / 4)
    return least, max((max(lengths) - around) / 2 + ROOM_MM / 2, least + ROOM_MM / 2)


def travel_mm(answers: Answers, greatest_mm: float) -> float:
    """Return the travel that pays for tolerance, stretch and fitting of the longest belt, and for some spread [mm].

    The belt is taken as `2·C + 1.6·(D + d)` long, C the greatest centre distance.
    """
    belt, cone = section(answers.word("section") or "A"), cone_of(answers)
    length = max(answers.reals("belt_lengths"), default=2 * greatest_mm + 1.6 * (cone.most_mm + cone.least_mm))
    tolerance = 0.0
    if answers.word("belt_lengths") == "stock" and series_of(belt):
        tolerance = max(one.tolerance_mm for one in stock_lengths(belt))
    elif answers.reals("belt_lengths"):
        tolerance = 0.005 * length
    return tolerance + (STRETCH_SHARE + CLIMB_SHARE) * length + belt.height_mm + SPREAD_MM
