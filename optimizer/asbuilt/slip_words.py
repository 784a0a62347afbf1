"""Why a slip or pitch line is not known, what would tell it, and what is odd, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf

import numpy as np

from optimizer.asbuilt.slip_model import Model
from optimizer.asbuilt.slip_next import Further, Prospect
from optimizer.asbuilt.slip_results import Asked, Known, NextReading, Quantity
from optimizer.asbuilt.slip_stated import SpeedReading, synchronous_rpm

__all__ = ["CAUTION", "next_words", "odd", "remarks", "stage_words", "state_words", "unknown"]

CAUTION = (
    "Read speeds without touching: a mark and an optical tachometer, all guards closed, nothing loose near the belts. "
    "Move belts only with the motor's plug pulled."
)
FAR = 10.0
"""Limits of use of a shift, a tenth of the least diameter, beyond which no belt is believed to run (judgement)."""
MUCH = 0.05
"""Slip from which a belt is said to slip in earnest; sound V-belts lose 1 to 2 % (common practice, no source)."""


def state_words(loaded: bool) -> str:
    """Return `idle` or `loaded`."""
    return "loaded" if loaded else "idle"


def stage_words(stages: Sequence[int]) -> str:
    """Return `stage 1`, or `stages 1 and 2`.

    Examples
    --------
    >>> stage_words([0]), stage_words([0, 1, 2])
    ('stage 1', 'stages 1, 2 and 3')
    """
    numbers = [str(stage + 1) for stage in stages]
    if len(numbers) == 1:
        return f"stage {numbers[0]}"
    return f"stages {', '.join(numbers[:-1])} and {numbers[-1]}"


def next_words(further: Further, stages: int) -> NextReading:
    """Return a further reading with what to do in words."""
    places = ", ".join(f"position {p + 1} of stage {s + 1}" for s, p in enumerate(further.positions))
    names = [_shaft_words(shaft, stages) for shaft in further.shafts]
    read = f"{', '.join(names[:-1])} and {names[-1]}"
    text = f"read the speeds of {read}, {state_words(further.loaded)}, belt at {places}"
    return NextReading(further.positions, further.loaded, further.shafts, text)


def unknown(place: int, prospect: Prospect) -> tuple[Known, str, str]:
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
            Known.NOT_READ,
            f"no{state} reading tells the speeds before and after stage {stage + 1}",
            f"read the motor's and the spindle's speed{state}",
        )
    weights = np.eye(at.asked)[place]
    known = Known.TOGETHER if prospect.fit.unseen(weights) else Known.VAGUE
    doubt = prospect.fit.doubt(weights) * model.scale[place]
    unit = f"{doubt:.1%} of the speed" if is_slip else f"{doubt:.1f} mm"
    vague = f"; given as a number it would have a standard uncertainty of {unit}" if known is Known.VAGUE else ""
    why, advice = _cure(place, stage, across, prospect)
    return known, why + vague, advice


def odd(quantity: Quantity, limit: float) -> str:
    """Return what is odd about a slip or shift that is known, its limit of use given, or nothing."""
    if quantity.interval is None or quantity.value is None:
        return ""
    low, high = quantity.interval
    if quantity.asked is Asked.SHIFT:
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


def remarks(model: Model) -> Iterator[str]:
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
    if plate is not None and synchronous_rpm(plate):
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


def _cure(place: int, stage: int, across: Sequence[SpeedReading], prospect: Prospect) -> tuple[str, str]:
    """Return the reason that what would help points to, least trouble first."""
    at = prospect.model.at
    alike = "the pitch line changes speeds" if place < 2 * at.stages else "slip changes speeds"
    here = sorted({r.positions[stage] for r in across})
    shafts = (
        f"the speeds of the shafts between were not read, so that only the product of {stage_words(range(at.stages))} "
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


def _lacking(across: Sequence[SpeedReading], model: Model, stage: int) -> str:
    """Return the stages read at one position although they have more, or else the stage itself."""
    single = [
        s
        for s, sizes in enumerate(model.machine.stages)
        if len(sizes.driver_mm) > 1 and len({r.positions[s] for r in across}) == 1
    ]
    return stage_words(single or [stage])


def _bears(reading: SpeedReading, model: Model) -> bool:
    """Return whether a reading tells any ratio of speeds."""
    read = sum(rpm is not None for rpm in reading.speeds_rpm)
    return read > 1 or (reading.speeds_rpm[0] is None and model.motor(reading) is not None)


def _crosses(reading: SpeedReading, stage: int, model: Model) -> bool:
    """Return whether a reading tells a ratio of speeds across a stage."""
    read = [shaft for shaft, rpm in enumerate(reading.speeds_rpm) if rpm is not None]
    first = 0 if model.motor(reading) is not None else read[0]
    return first <= stage < read[-1]


def _shaft_words(shaft: int, stages: int) -> str:
    if shaft == 0:
        return "the motor"
    return "the spindle" if shaft == stages else f"the shaft that stage {shaft} drives"


def _near(plate_rpm: float | None) -> str:
    speeds = synchronous_rpm(plate_rpm) if plate_rpm is not None else ()
    if not speeds:
        return "; an idle induction motor runs faster, near its synchronous speed"
    return f"; an idle induction motor runs just below {' or '.join(f'{s:g}' for s in speeds)} rpm"


def _reading_words(numbers: Sequence[int]) -> str:
    word = "reading" if len(numbers) == 1 else "readings"
    return f"{word} {', '.join(map(str, np.array(numbers)))}"
