"""Slip of the belts and their effective pitch line, estimated from tachometer readings and told in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import exp, inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc

from optimizer.mechanics.motors import fields_above_rpm
from optimizer.recheck.slip_fit import NULL, USEFUL, Fit, Further, Outlook, and_listed, fit, shaft_name, state_words
from optimizer.recheck.slip_model import SlipMachine, SlipModel, SpeedReading

__all__ = [
    "CAUTION",
    "Certainty",
    "Combination",
    "SlipEstimate",
    "SlipFigure",
    "Suspect",
    "Unknown",
    "Weighted",
    "estimate",
]


Floats = NDArray[np.float64]
ABSURD = "no slip and pitch line that a belt can have explain the readings"
ABSURD_ADVICE = "look for a wrong position, diameter, speed or fixed ratio"
UNLIKELY = 0.01
"""Chance below which readings are said not to agree."""
AS_LIKELY = 4.0
"""Suspects that explain the sum of squares to within this of the best one are named with it: e² as likely at most."""
ONE = 1e-6
"""How close to 1 a factor must be for slips to be simply joined."""
CAUTION = (
    "Read speeds without touching: a mark and an optical tachometer, all guards closed, nothing loose near the belts. "
    "Move belts only with the motor's plug pulled."
)
FAR = 10.0
"""Limits of use of a shift, a tenth of the least diameter, beyond which no belt is believed to run (judgement)."""
MUCH = 0.05
"""Slip from which a belt is said to slip in earnest; sound V-belts lose 1 to 2 % (common practice, no source)."""


class Unknown(StrEnum):
    """What is asked of a stage."""

    SLIP = "slip"
    """Share of the speed that the belt loses."""
    SHIFT = "shift"
    """How much farther out the belt's effective pitch line runs than assumed, on the radius [mm]."""


class Certainty(StrEnum):
    """How well it is known."""

    YES = "known"
    NOT_READ = "not read"
    """No reading bears on it."""
    TOGETHER = "cannot be separated"
    """Readings bear on it together with something else only."""
    VAGUE = "too vague"
    """Readings bear on it, but not well enough to say anything."""


@dataclass(frozen=True)
class SlipFigure:
    """One slip or shift."""

    asked: Unknown
    stage: int
    """Counted from 0, motor's first."""
    loaded: bool | None
    """For slips; a shift is the same idle and loaded."""
    known: Certainty
    value: float | None = None
    """A share for slips, [mm] on the radius for shifts; nothing unless known."""
    uncertainty: float | None = None
    """Standard uncertainty."""
    why: str = ""
    """Why it is not known, or what is odd about it."""
    advice: str = ""
    """What to measure."""

    @property
    def interval(self) -> tuple[float, float] | None:
        """Two standard uncertainties to either side, which hold the truth in about 95 of 100 cases."""
        if self.value is None or self.uncertainty is None:
            return None
        return self.value - 2 * self.uncertainty, self.value + 2 * self.uncertainty

    @property
    def name(self) -> str:
        """What it is, in words."""
        if self.asked is Unknown.SHIFT:
            return f"shift of the pitch line of stage {self.stage + 1}"
        return f"slip of stage {self.stage + 1} {'loaded' if self.loaded else 'idle'}"


class Weighted(NamedTuple):
    """A quantity's place in `SlipEstimate.quantities`, and its factor."""

    place: int
    factor: float


@dataclass(frozen=True)
class Combination:
    """A combination that is known although its parts are not.

    It is the sum over its terms of factor times ln(1 − slip), or factor times shift [mm].
    """

    terms: tuple[Weighted, ...]
    value: float
    uncertainty: float
    text: str
    """What it means."""


@dataclass(frozen=True)
class Suspect:
    """Something that alone would explain why the readings do not agree."""

    text: str
    chi_square: float
    """How much less the sum of squares would be without it."""
    reading: int | None = None
    stage: int | None = None
    position: int | None = None


@dataclass(frozen=True)
class SlipEstimate:
    """Slips and shifts, what they rest on, and what would make them surer."""

    quantities: tuple[SlipFigure, ...]
    """Slip of each stage idle and loaded, motor's stage first, then the shifts."""
    together: tuple[Combination, ...]
    chi_square: float
    """Sum of squares of the residuals in standard uncertainties."""
    freedom: int
    """How many readings check the others."""
    chance: float | None
    """Chance of so large a sum if all stated uncertainties are right; nothing where nothing is checked."""
    consistent: bool | None
    """Whether the readings agree within their uncertainties; nothing where nothing is checked."""
    suspects: tuple[Suspect, ...]
    """Where they do not: what may be wrong, likeliest first."""
    next_reading: Further | None
    """Nothing where all that can be known is known, and checked."""
    remarks: tuple[str, ...]

    def slip(self, stage: int, *, loaded: bool) -> SlipFigure:
        """Return the slip of a stage."""
        return next(q for q in self.quantities if q.asked is Unknown.SLIP and (q.stage, q.loaded) == (stage, loaded))

    def shift(self, stage: int) -> SlipFigure:
        """Return the shift of a stage's pitch line [mm on the radius]."""
        return next(q for q in self.quantities if q.asked is Unknown.SHIFT and q.stage == stage)


def estimate(readings: Sequence[SpeedReading], machine: SlipMachine) -> SlipEstimate:
    """Return slip and shift of the pitch line of every stage, where the readings can tell them apart.

    A stage with driver `D` and driven `d` on the assumed pitch line turns the speed by
    ``(D + 2·e)/(d + 2·e)·(1 − s)``: shift `e` outward [mm], slip `s`, one idle and one loaded. All are fitted by
    weighted least squares, with true diameters and motor speeds; no belief about slips or shifts enters. A number
    is given only where its standard uncertainty is below 1 % (slip) or 1 % of the stage's least diameter (shift).

    Parameters
    ----------
    readings
        Any number, none too.
    machine
        Its stages with diameters, and what the motor is said to do where its speed was not read.

    Examples
    --------
    A stage 80:160 and 160:80 whose belt runs 1 mm farther out than assumed and loses 2 %, the motor at 1490 rpm:
    1490·82/162·0.98 = 739.1 rpm, 1490·162/82·0.98 = 2884.8 rpm.

    >>> from optimizer.recheck.slip_model import SlipStage
    >>> stage = SlipStage((80.0, 160.0), (160.0, 80.0), (0.1, 0.1), (0.1, 0.1))
    >>> ends = [SpeedReading((0,), (1490.0, 739.1), 0.3), SpeedReading((1,), (1490.0, 2884.8), 0.3)]
    >>> told = estimate(ends, SlipMachine((stage,)))
    >>> slip, shift = told.slip(0, loaded=False), told.shift(0)
    >>> round(slip.value, 4), round(slip.uncertainty, 4), round(shift.value, 2), round(shift.uncertainty, 2)
    (0.02, 0.001, 1.0, 0.08)

    With the first reading alone the two look the same:

    >>> alone = estimate(ends[:1], SlipMachine((stage,)))
    >>> alone.slip(0, loaded=False).value, str(alone.slip(0, loaded=False).known)
    (None, 'cannot be separated')
    >>> print(alone.together[0].text)
    slip of stage 1 idle with its pitch line as assumed: 0.8 %, standard uncertainty 0.1 %
      a pitch line 1 mm farther out would make it 1.25 % more
    """
    model = SlipModel(readings, machine)
    found = fit(model)
    states = sorted({reading.loaded for reading in readings}) or [False]
    prospect = Outlook(found, states)
    chance = float(gammaincc(found.freedom / 2, found.chi_square / 2)) if found.freedom else None
    listed = tuple(suspects(found))
    agree = None if chance is None else chance >= UNLIKELY and not striking(found, listed)
    agree = agree if found.settled else False
    quantities = tuple(_quantity(place, found, prospect) for place in range(model.at.asked))
    return SlipEstimate(
        quantities=quantities,
        together=tuple(together(found, quantities)) if found.settled else (),
        chi_square=found.chi_square,
        freedom=found.freedom,
        chance=chance,
        consistent=agree,
        suspects=() if agree is not False else listed,
        next_reading=prospect.following(),
        remarks=tuple(_remarks(found, agree, listed)),
    )


def _quantity(place: int, found: Fit, prospect: Outlook) -> SlipFigure:
    at, scale = found.model.at, found.model.scale
    is_slip = place < 2 * at.stages
    asked = Unknown.SLIP if is_slip else Unknown.SHIFT
    stage, loaded = (place // 2, bool(place % 2)) if is_slip else (place - 2 * at.stages, None)
    doubt = found.doubt(np.eye(at.asked)[place])
    if doubt > 1:
        known, why, advice = unknown(place, prospect)
        return SlipFigure(asked, stage, loaded, known, why=why, advice=advice)
    if not found.settled:
        return SlipFigure(asked, stage, loaded, Certainty.VAGUE, why=ABSURD, advice=ABSURD_ADVICE)
    value, doubt = float(found.vector[place]), float(doubt * scale[place])
    if is_slip:
        value, doubt = 1 - exp(value), doubt * exp(value)
    quantity = SlipFigure(asked, stage, loaded, Certainty.YES, value, doubt)
    return SlipFigure(asked, stage, loaded, Certainty.YES, value, doubt, why=odd(quantity, scale[place]))


def _remarks(found: Fit, agree: bool | None, listed: Sequence[Suspect]) -> Iterator[str]:
    yield from remarks(found.model)
    if agree is None and found.singular[0] >= USEFUL:
        yield "no reading checks another: a wrong one would not be noticed"
    if agree is False and found.settled:
        yield "the readings do not agree within their uncertainties: do not rely on the figures until it is known why"
    if agree is False and len({suspect.reading for suspect in listed}) > 1:
        yield "which one is wrong they do not tell: read again those that are listed"
    at = found.model.at
    for stage in range(at.stages):
        weights = np.zeros(at.asked)
        weights[at.slip(stage, True)], weights[at.slip(stage, False)] = 1, -1
        if found.asked @ weights > 2 * found.doubt(weights) and found.doubt(weights) <= 1:
            yield (
                f"stage {stage + 1} seems to slip less loaded than idle, which no belt does: "
                "was the motor's speed read both times?"
            )
    if not found.settled:
        yield f"{ABSURD}: {ABSURD_ADVICE}"


def suspects(found: Fit) -> Iterator[Suspect]:
    """Yield what explains the sum of squares best, each alone, with what comes close to it."""
    listed = sorted(_offsets(found), key=lambda suspect: -round(suspect.chi_square, 6))
    least = max(AS_LIKELY, listed[0].chi_square - AS_LIKELY) if listed else 0.0
    same: dict[tuple[int | None, ...], list[Suspect]] = {}
    for suspect in listed:
        if suspect.chi_square >= least:
            same.setdefault((suspect.reading, suspect.stage, suspect.position), []).append(suspect)
    for first, *others in same.values():
        words = ", or ".join([first.text, *(other.text for other in others)])
        yield first if first.reading is None else replace(first, text=f"reading {first.reading + 1}: {words}")


def striking(found: Fit, listed: Sequence[Suspect]) -> bool:
    """Return whether any suspect explains more than the largest of so many chances would, but once in a hundred."""
    alone = 1 - (1 - UNLIKELY) ** (1 / len(found.model.rows))
    return any(float(gammaincc(0.5, suspect.chi_square / 2)) < alone for suspect in listed)


def _offsets(found: Fit) -> Iterator[Suspect]:
    yield from _of_speeds(found)
    yield from _of_diameters(found)


def _of_speeds(found: Fit) -> Iterator[Suspect]:
    model = found.model
    for number, row in enumerate(model.rows):
        if row.reading is None or row.shaft is None:
            continue
        offset = found.offset(np.eye(len(model.rows))[number])
        reading = model.readings[row.reading]
        read = reading.speeds_rpm[row.shaft]
        if offset is not None and read is not None:
            should = read * exp(-offset.value * reading.uncertainty_rpm / read)
            text = f"{shaft_name(row.shaft, model.at.stages)} read as {read:g} rpm, {should:.4g} rpm by the others"
            yield Suspect(text, offset.chi_square, reading=row.reading)


def _of_diameters(found: Fit) -> Iterator[Suspect]:
    model = found.model
    _, jacobian = model.residuals(found.vector)
    speeds = np.array([row.reading is not None for row in model.rows])
    for stage, (drivers, _) in enumerate(model.at.diameters):
        for position, driver in enumerate(drivers):
            doubt = model.machine.stages[stage].driver_uncertainty_mm[position]
            column = np.where(speeds, jacobian[:, driver] / doubt, 0.0)
            offset = found.offset(column)
            if offset is not None:
                ways = ("larger", "smaller") if offset.value > 0 else ("smaller", "larger")
                text = (
                    f"stage {stage + 1}, position {position + 1}: its diameters; by the speeds the driver is "
                    f"{abs(offset.value):.2g} mm {ways[0]}, or the driven {ways[1]} in proportion"
                )
                yield Suspect(text, offset.chi_square, stage=stage, position=position)


def together(found: Fit, quantities: Sequence[SlipFigure]) -> Iterator[Combination]:
    """Yield combinations of unknowns that are known, by reducing the rows of what is seen to echelon form.

    Shifts that are not known are left as assumed, so that figures hold for the pitch line that is assumed.
    """
    if all(_told(row, quantities) for row in _echelon(found.directions[found.singular >= USEFUL])):
        return
    held = [p for p, q in enumerate(quantities) if q.asked is Unknown.SHIFT and q.known is not Certainty.YES]
    found = fit(found.model, held, least=USEFUL)
    scale = found.model.scale
    rows = _echelon(found.directions[found.singular >= USEFUL])
    for row in rows:
        places: list[int] = np.flatnonzero(row).tolist()
        doubt = found.doubt(row)
        if _told(row, quantities) or doubt > 1:
            continue
        pivot = scale[places[0]]
        factors = row[places] / scale[places] * pivot
        terms = tuple(Weighted(p, float(f)) for p, f in zip(places, factors, strict=True))
        value, doubt = float(row @ found.asked * pivot), float(doubt * pivot)
        yield Combination(terms, value, doubt, _together_words(terms, value, doubt, quantities))


def _told(row: Floats, quantities: Sequence[SlipFigure]) -> bool:
    """Return whether a combination tells nothing beyond what is known of its parts."""
    places = np.flatnonzero(row)
    return len(places) < 2 or all(quantities[int(p)].known is Certainty.YES for p in places)


def _together_words(terms: Sequence[Weighted], value: float, doubt: float, quantities: Sequence[SlipFigure]) -> str:
    slips = [(t, quantities[t.place]) for t in terms if quantities[t.place].asked is Unknown.SLIP]
    shifts = [(t, quantities[t.place]) for t in terms if quantities[t.place].asked is Unknown.SHIFT]
    states = {q.loaded for _, q in slips}
    if len(states) != 1 or any(abs(t.factor - 1) > ONE for t, _ in slips):
        parts = [f"{t.factor:.4g}·ln(1 − {q.name})" for t, q in slips]
        parts += [f"{t.factor:.4g}·{q.name} in mm" for t, q in shifts]
        return f"{' + '.join(parts)} = {value:.4g}, standard uncertainty {doubt:.2g}"
    stages = [q.stage for _, q in slips]
    one = len(stages) == 1
    name = f"slip of {_stage_words(stages)}{'' if one else ' together'} {state_words(bool(states.pop()))}"
    if shifts:
        name += f" with {'its pitch line' if one else 'pitch lines'} as assumed"
    lines = [f"{name}: {100 * (1 - exp(value)):.1f} %, standard uncertainty {100 * doubt * exp(value):.1f} %"]
    for term, quantity in shifts:
        line = "a pitch line" if one else f"a pitch line of stage {quantity.stage + 1}"
        more = "more" if term.factor > 0 else "less"
        lines.append(f"  {line} 1 mm farther out would make it {abs(term.factor) * 100:.2f} % {more}")
    return "\n".join(lines)


def _echelon(rows: Floats) -> Floats:
    """Return the reduced row echelon form: each row's first figure is 1, alone in its column."""
    rows = rows.copy()
    done = 0
    for column in range(rows.shape[1]):
        if done == len(rows):
            break
        best = done + int(np.argmax(np.abs(rows[done:, column])))
        if abs(rows[best, column]) < NULL:
            rows[done:, column] = 0
            continue
        rows[[done, best]] = rows[[best, done]]
        rows[done] /= rows[done, column]
        others = np.arange(len(rows)) != done
        rows[others] -= np.outer(rows[others, column], rows[done])
        done += 1
    rows[np.abs(rows) < NULL] = 0
    return rows[:done]


def _stage_words(stages: Sequence[int]) -> str:
    return f"stage{'' if len(stages) == 1 else 's'} {and_listed([str(stage + 1) for stage in stages])}"


def unknown(place: int, prospect: Outlook) -> tuple[Certainty, str, str]:
    """Return why something asked is not known, and what to measure.

    Parameters
    ----------
    place
        Its place among what is asked.
    prospect
        What further readings would tell.
    """
    model, at = prospect.model, prospect.model.at
    is_slip = place < 2 * at.stages
    stage, loaded = (place // 2, bool(place % 2)) if is_slip else (place - 2 * at.stages, None)
    used = [r for r in model.readings if _bears(r, model) and loaded in (None, r.loaded)]
    across = [r for r in used if _crosses(r, stage, model)]
    if not across:
        state = "" if loaded is None else f" {state_words(loaded)}"
        return (
            Certainty.NOT_READ,
            f"no{state} reading tells the speeds before and after stage {stage + 1}",
            f"read the motor's and the spindle's speed{state}",
        )
    weights = np.eye(at.asked)[place]
    known = Certainty.TOGETHER if prospect.fit.unseen(weights) else Certainty.VAGUE
    doubt = prospect.fit.doubt(weights) * model.scale[place]
    unit = f"{doubt:.1%} of the speed" if is_slip else f"{doubt:.1f} mm"
    vague = f"; given as a number it would have a standard uncertainty of {unit}" if known is Certainty.VAGUE else ""
    why, advice = _cure(place, stage, across, prospect)
    return known, why + vague, advice


def odd(quantity: SlipFigure, limit: float) -> str:
    """Return what is odd about a slip or shift that is known, its limit of use given, or nothing."""
    if quantity.interval is None or quantity.value is None:
        return ""
    low, high = quantity.interval
    if quantity.asked is Unknown.SHIFT:
        far = low > FAR * limit or high < -FAR * limit
        return (
            "no belt's pitch line runs so far off: a diameter, a speed or a position is not what was stated"
            if far
            else ""
        )
    if high < 0:
        return "a belt cannot gain speed: a diameter, a speed or the motor's speed is not what was stated"
    if quantity.value < 0:
        return "below 0 within its uncertainty: as good as none"
    if low > MUCH:
        return (
            f"more than {MUCH:.0%}: the belt slips in earnest, gets hot and can burn; stop the machine, pull its plug, "
            "look for a slack, oily or worn belt"
        )
    return ""


def remarks(model: SlipModel) -> Iterator[str]:
    """Yield what must be said of the motor's speed."""
    bare = [(n, r) for n, r in enumerate(model.readings, 1) if r.speeds_rpm[0] is None]
    idle = [n for n, r in bare if not r.loaded and model.machine.idle_motor is None]
    said = model.machine.loaded_motor
    plate = said.rpm if said else None
    if idle:
        yield (
            f"{_reading_words(idle)}, idle: the motor's speed was not read, and its plate tells full load only"
            f"{_near(plate)}; what rests on it is left out"
        )
    loaded = [n for n, r in bare if r.loaded]
    if loaded and said is None:
        yield f"{_reading_words(loaded)}, loaded: the motor's speed is not known; what rests on it is left out"
    if loaded and said is not None:
        yield (
            f"{_reading_words(loaded)}, loaded: the motor's speed is taken as {_plate(said.rpm, bare)} rpm, standard "
            f"uncertainty {said.uncertainty_rpm:g} rpm; below full load it runs faster, and slip then comes out too "
            "small"
        )
    if plate is not None and fields_above_rpm(plate):
        idling = [(n, r) for n, r in enumerate(model.readings, 1) if not r.loaded]
        slow = [n for n, r in idling if (r.speeds_rpm[0] or inf) <= plate * r.motor_share]
        if slow:
            yield (
                f"{_reading_words(slow)}, idle: the motor's speed is not above the {plate:g} rpm of its plate"
                f"{_near(plate)}: was it read?"
            )


def _plate(rpm: float, bare: Sequence[tuple[int, SpeedReading]]) -> str:
    """Return the full-load speeds at the settings of readings, the slowest first."""
    return " or ".join(f"{share * rpm:g}" for share in sorted({r.motor_share for _, r in bare if r.loaded}))


def _cure(place: int, stage: int, across: Sequence[SpeedReading], prospect: Outlook) -> tuple[str, str]:
    """Return the reason that what would help points to, least trouble first."""
    at = prospect.model.at
    alike = "the pitch line changes speeds" if place < 2 * at.stages else "slip changes speeds"
    here = sorted({r.positions[stage] for r in across})
    shafts = (
        f"the speeds of the shafts between were not read, so that only the product of {_stage_words(range(at.stages))} "
        "is seen",
        "read the speeds of the shafts between as well",
    )
    places = (
        f"stage {stage + 1} was read at position {here[0] + 1} only, where {alike} alike"
        if len(here) == 1
        else "the positions read are too few or too alike to tell the pitch line from slip",
        f"read positions of {_lacking(across, prospect.model, stage)} with other ratios",
    )
    if any(r.speeds_rpm[0] is None for r in across) and prospect.known(prospect.with_motor())[place]:
        return (
            "the motor's speed was not read, and is not known well enough otherwise",
            "read the motor's speed together with the others",
        )
    if any(None in r.speeds_rpm[1:-1] for r in across) and prospect.known(prospect.with_shafts())[place]:
        return shafts
    if prospect.known(prospect.with_places(all_shafts=False))[place]:
        return places
    if prospect.known(prospect.with_places(all_shafts=True))[place]:
        return f"{shafts[0]}; {places[0]}", f"{shafts[1]}, and {places[1]}"
    if len(prospect.model.machine.stages[stage].driver_mm) == 1:
        return (
            f"stage {stage + 1} has one position only, where {alike} alike",
            f"nothing: take the pitch line of stage {stage + 1} as assumed",
        )
    return (
        f"on this machine the positions of stage {stage + 1} are too few or too alike, or diameters and speeds are not "
        "known well enough",
        "measure diameters and speeds to a finer resolution, or take the pitch line as assumed",
    )


def _lacking(across: Sequence[SpeedReading], model: SlipModel, stage: int) -> str:
    """Return the stages read at one position although they have more, or else the stage itself."""
    single = [
        s
        for s, sizes in enumerate(model.machine.stages)
        if len(sizes.driver_mm) > 1 and len({r.positions[s] for r in across}) == 1
    ]
    return _stage_words(single or [stage])


def _bears(reading: SpeedReading, model: SlipModel) -> bool:
    """Return whether a reading tells any ratio of speeds."""
    read = sum(rpm is not None for rpm in reading.speeds_rpm)
    return read > 1 or (reading.speeds_rpm[0] is None and model.motor(reading) is not None)


def _crosses(reading: SpeedReading, stage: int, model: SlipModel) -> bool:
    """Return whether a reading tells a ratio of speeds across a stage."""
    read = [shaft for shaft, rpm in enumerate(reading.speeds_rpm) if rpm is not None]
    first = 0 if model.motor(reading) is not None else read[0]
    return first <= stage < read[-1]


def _near(plate_rpm: float | None) -> str:
    speeds = fields_above_rpm(plate_rpm) if plate_rpm is not None else ()
    if not speeds:
        return "; an idle induction motor runs faster, near its synchronous speed"
    return f"; an idle induction motor runs just below {' or '.join(f'{s:g}' for s in speeds)} rpm"


def _reading_words(numbers: Sequence[int]) -> str:
    word = "reading" if len(numbers) == 1 else "readings"
    return f"{word} {', '.join(map(str, np.array(numbers)))}"
