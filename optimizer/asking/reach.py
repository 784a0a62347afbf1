"""How far cones of a shop come: the speeds within reach, how many of them, how many of each kind of work."""

from __future__ import annotations

from math import ceil, inf, log
from typing import NamedTuple

from optimizer.asking.answer import Answers, Wanted
from optimizer.asking.purposes import purpose_named
from optimizer.asking.spans import span_rpm
from optimizer.catalogue.entry import Section
from optimizer.catalogue.lines import shifts
from optimizer.catalogue.sections import section
from optimizer.mechanics.motors import idle_speed_rpm
from optimizer.scenario.band import MOST_SPEEDS

__all__ = [
    "FEW",
    "Cone",
    "Speeds",
    "cone_of",
    "fits_one_stage",
    "highest_rpm",
    "lowest_rpm",
    "outermost",
    "spans_of",
    "speeds_suggested",
    "wants_of",
]

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
