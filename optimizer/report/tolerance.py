"""What papers and screens say of how exactly to turn, in sentences."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from optimizer.records.sheet import MachineSheet, StepSheet
from optimizer.records.tolerance import ChanceSheet, SizeSheet, ToleranceSheet
from optimizer.report.figures import Units, length
from optimizer.report.tables import place_words

__all__ = ["chance_words", "error_words", "size_words", "step_of", "tolerance_words"]

SURE, LOST = 0.995, 0.005
"""Chances beyond which the tries say no more than that."""
SEEN_MM = 0.005
"""A shift of aim below this is not told."""
MOST_TOLD = 3
ALIKE = 0.05
"""Share by which figures may differ that are told as one."""
LARGE = "Err on the large side: a groove can be cut deeper, a rim skimmed, wood cannot be put back"


def tolerance_words(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield the chance that all is well, the steps to turn most carefully, which way to err, a sentence each."""
    yield (
        f"Chance that all is well where sizes are turned to the stated accuracy: {chance_words(sheet.chance.all_well)}"
        f"{_parts(sheet.chance)}{_by_width(sheet)}"
    )
    yield _careful(sheet, machine, units)
    yield _large(sheet, units)
    if aims := list(_aims(sheet, machine, units)):
        more = f", and {len(aims) - MOST_TOLD} more" if len(aims) > MOST_TOLD else ""
        yield f"Aim off the drawing, as there is more room that way: {'; '.join(aims[:MOST_TOLD])}{more}"
    if sheet.unevenness_most is None and len(machine.speeds) > 2:
        yield "The speeds are less even than advised as drawn, so errors of turning are not held to that advice"


def chance_words(chance: float) -> str:
    """Return a chance in whole per cent, as far as the tries can tell.

    Examples
    --------
    >>> chance_words(1.0), chance_words(0.9721), chance_words(0.001)
    ('over 99 %', '97 %', 'under 1 %')
    """
    if chance >= SURE:
        return "over 99 %"
    return "under 1 %" if chance < LOST else f"{100 * chance:.0f} %"


def error_words(smaller_mm: float | None, larger_mm: float | None, units: Units) -> str:
    """Return how far a size may be off, with its unit.

    Examples
    --------
    >>> error_words(0.2, 0.2, "mm"), error_words(0.0, 0.3, "mm"), error_words(None, 0.3, "mm")
    ('0.20 mm either way', '0.00 mm smaller, 0.30 mm larger', '0.30 mm larger, smaller by any amount')
    """
    if smaller_mm and larger_mm and abs(smaller_mm - larger_mm) <= ALIKE * max(smaller_mm, larger_mm):
        return f"{length(min(smaller_mm, larger_mm), units)} {units} either way"
    small, large = (None if mm is None else length(mm, units) for mm in (smaller_mm, larger_mm))
    if small is None and large is None:
        return "any amount"
    if small is None:
        return f"{large} {units} larger, smaller by any amount"
    if large is None:
        return f"{small} {units} smaller, larger by any amount"
    return f"{small} {units} smaller, {large} {units} larger"


def size_words(size: SizeSheet, machine: MachineSheet) -> str:
    """Return the name of a turned size."""
    return f"{place_words(size.key, machine)}, step {size.position}"


def step_of(size: SizeSheet, machine: MachineSheet) -> StepSheet:
    """Return the step that a turned size belongs to."""
    key, side = size.key.rsplit(".", 1)
    stage = next(stage for stage in machine.stages if stage.key == key)
    position = stage.positions[size.position - 1]
    return position.driver if side == "driver" else position.driven


def _parts(chance: ChanceSheet) -> str:
    """Return the parts that are not as good as sure."""
    parts = (
        ("belt fit", chance.belt_fit),
        ("speeds", chance.speeds),
        ("evenness", chance.evenness),
        ("limits of size", chance.size_limits),
    )
    told = [f"{name} {chance_words(share)}" for name, share in parts if share < SURE]
    return f" ({', '.join(told)})" if told else ""


def _by_width(sheet: ToleranceSheet) -> str:
    if sheet.chance_by_width is None:
        return ""
    told = chance_words(sheet.chance_by_width.all_well)
    if told == chance_words(sheet.chance.all_well):
        return ", whether grooves are measured over pins or across the rim"
    return f" with grooves measured over pins, {told} where they are measured across the rim only"


def _careful(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> str:
    if _alike(sheet):
        size = min(sheet.sizes, key=lambda one: min(_room(one)))
        return f"Turn all sizes with the same care: each alone may be off {_may_be_off(size, units)}"
    told = [
        f"{size_words(size, machine)} ({_may_be_off(size, units)})"
        for size in (sheet.sizes[place] for place in sheet.careful)
    ]
    if not told:
        return "No size has to be turned more carefully than the others"
    return f"Turn most carefully, with what each alone may be off: {'; '.join(told)}"


def _alike(sheet: ToleranceSheet) -> bool:
    """Tell whether all sizes, more than are named, use the same share of what is allowed."""
    used = [size.share for size in sheet.sizes if size.share is not None]
    return len(used) == len(sheet.sizes) > MOST_TOLD and min(used) >= (1 - ALIKE) * max(used)


def _may_be_off(size: SizeSheet, units: Units) -> str:
    return error_words(size.alone.smaller_mm, size.alone.larger_mm, units)


def _room(size: SizeSheet) -> tuple[float, ...]:
    return tuple(mm for mm in (size.alone.smaller_mm, size.alone.larger_mm) if mm is not None) or (inf,)


def _large(sheet: ToleranceSheet, units: Units) -> str:
    most = max(size.left_on_mm for size in sheet.sizes)
    if most < SEEN_MM:
        return f"{LARGE}; nothing more need be left on than for measuring before the last cut"
    least = min(size.left_on_mm for size in sheet.sizes)
    ends = dict.fromkeys((length(least, units), length(most, units)))
    much = " to ".join(ends) if least >= SEEN_MM else f"up to {length(most, units)}"
    return (
        f"{LARGE}: leave {much} {units} on, measure all sizes, cut those too large once more; that makes "
        f"the chance {chance_words(sheet.chance_by_cuts)}"
    )


def _aims(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Iterator[str]:
    for size in sheet.sizes:
        if abs(size.aim_mm) >= SEEN_MM:
            way = "larger" if size.aim_mm > 0 else "smaller"
            yield f"{size_words(size, machine)}, {length(abs(size.aim_mm), units)} {units} {way}"
