"""What may be wrong where tachometer readings do not agree."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import exp

import numpy as np
from scipy.special import gammaincc

from optimizer.asbuilt.slip_fit import Fit
from optimizer.asbuilt.slip_model import Model
from optimizer.asbuilt.slip_results import Suspect

__all__ = ["UNLIKELY", "striking", "suspects"]

UNLIKELY = 0.01
"""Chance below which readings are said not to agree."""
AS_LIKELY = 4.0
"""Suspects that explain the sum of squares to within this of the best one are named with it: e² as likely at most."""


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
            text = f"{_shaft(row.shaft, model)} read as {read:g} rpm, {should:.4g} rpm by the others"
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


def _shaft(shaft: int, model: Model) -> str:
    return "motor" if shaft == 0 else "spindle" if shaft == model.at.stages else f"shaft that stage {shaft} drives"
