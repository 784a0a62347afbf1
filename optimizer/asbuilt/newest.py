"""What is known of every step by its newest reading, with the older ones beside it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Literal, NamedTuple

from optimizer.asbuilt.against import reading_of, step_at
from optimizer.asbuilt.measured import Measured
from optimizer.asbuilt.sizes import Size, combined, rim_of, sizes_of
from optimizer.records.sheet import MachineSheet, StageSheet, StepSheet

__all__ = ["CONTRADICT", "Dated", "State", "StepKnown", "newest"]

State = Literal["measured", "not turned", "as stated", "cannot tell"]
CONTRADICT = 3.0
"""Standard uncertainties that two readings of one step may lie apart."""


class Dated(NamedTuple):
    """A size as it was on one day; nothing where the reading of that day does not tell it."""

    date: datetime.date
    size: Size | None
    apart: float
    """How far several readings of that day lie apart, in standard uncertainties."""


class StepKnown(NamedTuple):
    """One step with what its readings tell."""

    stage: int
    """Belt stage from 0."""
    side: Literal["driver", "driven"]
    place: int
    """Position from 0."""
    designed: StepSheet
    state: State
    size: Size | None
    """By the newest reading that tells it."""
    history: tuple[Dated, ...]
    """All readings, oldest first."""


def newest(measured: Measured, machine: MachineSheet) -> tuple[StepKnown, ...]:
    """Return every step of a machine with what is known of it.

    A turned step without any reading is not turned yet, a bought or kept one is as it was stated. A step whose last
    reading does not tell its size is not guessed at, even where an older one did: it may have worn or been skimmed.
    A cone that two belts share is there once, as the driven one of the first.
    """
    return tuple(
        _known(measured, stage, (number, side, place))
        for number, stage in enumerate(machine.stages)
        for side in (("driven",) if stage.shared_driver else ("driver", "driven"))
        for place in range(len(stage.positions))
    )


def _known(measured: Measured, stage: StageSheet, where: tuple[int, str, int]) -> StepKnown:
    number, side, place = where
    designed = step_at(stage, side, place + 1)
    history: list[Dated] = []
    for day, size, apart in _readings(measured, stage, where):
        if apart < 0:
            history.clear()
        else:
            history.append(Dated(day, size, apart))
    last = history[-1].size if history else None
    state: State = "measured"
    if not history:
        state = "not turned" if designed.source == "turned" else "as stated"
    elif last is None:
        state = "cannot tell"
    return StepKnown(number, "driver" if side == "driver" else "driven", place, designed, state, last, tuple(history))


def _readings(
    measured: Measured, stage: StageSheet, where: tuple[int, str, int]
) -> Iterator[tuple[datetime.date, Size | None, float]]:
    """Yield day and size of every reading, oldest first; a distance below 0 says that the step is to be made anew."""
    number, side, place = where
    rim = rim_of(stage.section, step_at(stage, side, place + 1))
    for check in measured.checks:
        day = check.date or datetime.date.min
        for step in check.step:
            if (step.stage - 1, step.side, step.position - 1) != (number, side, place):
                continue
            if not step.turned:
                yield day, None, -1.0
            elif step.read:
                sizes = sizes_of(rim, reading_of(step, check))
                size, apart = combined(sizes) if sizes else (None, 0.0)
                yield day, size, apart
