"""Slip of the belts and their effective pitch line, estimated from tachometer readings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import exp

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc

from optimizer.asbuilt.slip_fit import USEFUL, Fit, fit
from optimizer.asbuilt.slip_model import Model
from optimizer.asbuilt.slip_next import Prospect
from optimizer.asbuilt.slip_results import (
    Asked,
    Known,
    NextReading,
    Quantity,
    Residual,
    SlipEstimate,
    Suspect,
    Term,
    Together,
)
from optimizer.asbuilt.slip_stated import (
    MotorSpeed,
    SlipMachine,
    SlipStage,
    SpeedReading,
    plate_motor,
    refuse_unusable,
    resolution_uncertainty,
    synchronous_rpm,
)
from optimizer.asbuilt.slip_suspects import UNLIKELY, striking, suspects
from optimizer.asbuilt.slip_together import together
from optimizer.asbuilt.slip_words import CAUTION, next_words, odd, remarks, unknown

__all__ = [
    "CAUTION",
    "Asked",
    "Known",
    "MotorSpeed",
    "NextReading",
    "Quantity",
    "Residual",
    "SlipEstimate",
    "SlipMachine",
    "SlipStage",
    "SpeedReading",
    "Suspect",
    "Term",
    "Together",
    "estimate",
    "plate_motor",
    "resolution_uncertainty",
    "synchronous_rpm",
]

Floats = NDArray[np.float64]
ABSURD = "no slip and pitch line that a belt can have explain the readings"
ABSURD_ADVICE = "look for a wrong position, diameter, speed or fixed ratio"


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

    Raises
    ------
    ValueError
        For figures that are missing, not finite or cannot be, uncertainties of 0 among them; lists them all.

    Examples
    --------
    A stage 80:160 and 160:80 whose belt runs 1 mm farther out than assumed and loses 2 %, the motor at 1490 rpm:
    1490·82/162·0.98 = 739.1 rpm, 1490·162/82·0.98 = 2884.8 rpm.

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
    refuse_unusable(readings, machine)
    model = Model(readings, machine)
    found = fit(model)
    states = sorted({reading.loaded for reading in readings}) or [False]
    prospect = Prospect(found, states)
    further, needed = prospect.plan()
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
        residuals=tuple(_residuals(found)),
        next_reading=next_words(further, model.at.stages) if further else None,
        more_needed=needed,
        remarks=tuple(_remarks(found, agree, listed)),
    )


def _quantity(place: int, found: Fit, prospect: Prospect) -> Quantity:
    at, scale = found.model.at, found.model.scale
    is_slip = place < 2 * at.stages
    asked = Asked.SLIP if is_slip else Asked.SHIFT
    stage, loaded = (place // 2, bool(place % 2)) if is_slip else (place - 2 * at.stages, None)
    doubt = found.doubt(np.eye(at.asked)[place])
    if doubt > 1:
        known, why, advice = unknown(place, prospect)
        return Quantity(asked, stage, loaded, known, why=why, advice=advice)
    if not found.settled:
        return Quantity(asked, stage, loaded, Known.VAGUE, why=ABSURD, advice=ABSURD_ADVICE)
    value, doubt = float(found.vector[place]), float(doubt * scale[place])
    if is_slip:
        value, doubt = 1 - exp(value), doubt * exp(value)
    quantity = Quantity(asked, stage, loaded, Known.YES, value, doubt)
    return Quantity(asked, stage, loaded, Known.YES, value, doubt, why=odd(quantity, scale[place]))


def _residuals(found: Fit) -> Iterator[Residual]:
    model = found.model
    for number, reading in enumerate(model.readings):
        expected = model.expected_rpm(found.vector, number)
        for shaft, read in enumerate(reading.speeds_rpm):
            if read is not None:
                yield Residual(number, shaft, read, expected[shaft])


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
