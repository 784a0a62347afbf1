"""The tables of how exactly to turn, and their section of the design sheet."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.sheet import MachineSheet
from optimizer.records.tolerance import AllowedSheet, SizeSheet, ToleranceSheet
from optimizer.report.figures import Units, length, percent, rpm
from optimizer.report.table import Table, plain
from optimizer.report.tables import place_words
from optimizer.report.tolerance import chance_words, size_words, step_of, tolerance_words

__all__ = [
    "allowed_table",
    "chance_table",
    "cut_size_table",
    "error_table",
    "spread_table",
    "tolerance_notes",
    "tolerance_paper",
]


GROOVES = (
    "In a groove the errors are those of the size over pins. With the outside diameter right, a groove that is too "
    "wide lets the belt sink: the running diameter falls by the error of the width divided by the tangent of half the "
    "groove's angle, 0.65 mm for 0.2 mm at 34°"
)


def allowed_table(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how far every turned size may be off: alone, all at once at worst, all at once by chance."""
    heads = (
        "size",
        f"drawn {units}",
        "alone: smaller",
        "alone: larger",
        "held by",
        "all at once: smaller",
        "all at once: larger",
        "by chance: smaller",
        "by chance: larger",
        "share used",
    )
    rows = (
        (
            size_words(size, machine),
            length(size.outside_mm, units),
            *_allowed(size.alone, units),
            _held(size),
            *_allowed(size.together, units),
            *_allowed(size.by_chance, units),
            "none left" if size.share is None else percent(size.share, 0),
        )
        for size in sheet.sizes
    )
    return Table(heads, tuple(rows))


def cut_size_table(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how every size is measured, where to aim, where to stop at first; of grooves how wide they may be."""
    heads = (
        "size",
        "measured",
        f"drawn {units}",
        "to within",
        f"aim at {units}",
        f"stop first at {units}",
        "groove wider",
        "narrower",
        "by rim and groove to within",
    )
    used = len(heads) if any(size.width_accuracy_mm is not None for size in sheet.sizes) else len(heads) - 3
    return Table(heads[:used], tuple(_cut(size, machine, units)[:used] for size in sheet.sizes))


def _cut(size: SizeSheet, machine: MachineSheet, units: Units) -> tuple[str, ...]:
    step = step_of(size, machine)
    by_pins = size.measured == "over pins" and step.over_pins_mm is not None
    drawn = step.over_pins_mm if by_pins and step.over_pins_mm is not None else size.outside_mm
    widths = (size.groove_wider_mm, size.groove_narrower_mm, size.width_accuracy_mm)
    return (
        size_words(size, machine),
        f"over {length(step.pin_mm, units)} {units} pins" if by_pins else size.measured,
        *(length(mm, units) for mm in (drawn, size.accuracy_mm, drawn + size.aim_mm)),
        length(drawn + size.aim_mm + size.left_on_mm, units),
        *("" if mm is None else length(mm, units) for mm in widths),
    )


def chance_table(sheet: ToleranceSheet) -> Table:
    """Return the chances that all is well, and that each part is; nothing of evenness where it is not held to any."""
    rows = [("cut once to the drawing", sheet.chance)]
    if sheet.chance_by_width is not None:
        rows.append(("the same, grooves by rim and width only", sheet.chance_by_width))
    told = [
        (
            name,
            chance_words(c.all_well),
            chance_words(c.belt_fit),
            chance_words(c.speeds),
            "" if sheet.unevenness_most is None else chance_words(c.evenness),
            chance_words(c.size_limits),
        )
        for name, c in rows
    ]
    if any(size.aim_mm or size.left_on_mm for size in sheet.sizes):
        told.append(("left large, measured, cut once more", chance_words(sheet.chance_by_cuts), "", "", "", ""))
    return Table(("sizes", "all is well", "belt fit", "speeds", "evenness", "limits of size"), tuple(told))


def spread_table(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how far the centre distances of every stage lie apart, as drawn and as turned."""
    heads = ("stage", f"window {units}", f"apart as drawn {units}", "standard deviation", f"19 of 20 below {units}")
    rows = (
        (
            place_words(spread.key, machine),
            *(
                length(mm, units)
                for mm in (spread.window_mm, spread.drawn_mm, spread.tried_deviation_mm, spread.most_mm)
            ),
        )
        for spread in sheet.spreads
    )
    return Table(heads, tuple(rows))


def error_table(sheet: ToleranceSheet) -> Table:
    """Return what errors of turning do to every speed, at two standard deviations."""
    rows = (
        (str(speed.number), rpm(speed.rpm), percent(2 * speed.deviation), percent(2 * speed.tried_deviation))
        for speed in sheet.speeds
    )
    return Table(("speed", "rpm", "19 of 20 within, first order", "as tried"), tuple(rows))


def tolerance_notes(sheet: ToleranceSheet, machine: MachineSheet) -> Iterator[str]:
    """Yield what the figures mean and how far they can be trusted."""
    plated = any(not speed.on_plate for speed in machine.speeds)
    of_plate = " of those on the plate" if plated else ""
    even = (
        f", the unevenness{of_plate} at most {percent(sheet.unevenness_most)} as advised"
        if sheet.unevenness_most is not None
        else ""
    )
    yield (
        "All is well: every belt fits at all its positions, every speed is within "
        f"{percent(sheet.speed_within, 1)} of the one designed{even}, every size within its limits"
    )
    yield (
        "A stated accuracy is kept by 19 of 20 sizes: two standard deviations of normal errors, independent of each "
        f"other. Chances: {sheet.samples} sets of such errors, the same every time, each worked out exactly; good to "
        "one or two per cent. They say nothing of belts, slip, wear, run-out"
    )
    first = sheet.first_order
    chance = "" if first.all_well is None else f" ({chance_words(first.all_well)} that all is well)"
    valid = "claim to be valid here" if first.speeds_valid and first.chance_valid else "are only a guide here"
    yield f"Errors allowed are first-order figures{chance}; they {valid}. {first.rule[:-1]}"
    if any(size.width_accuracy_mm is not None for size in sheet.sizes):
        yield GROOVES


def tolerance_paper(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield the section of the design sheet."""
    yield "## How exactly to turn"
    yield "\n".join(f"- {plain(line)}." for line in tolerance_words(sheet, machine, units))
    yield chance_table(sheet).markdown()
    yield f"How far every size may be off [{units}], and what share of that its accuracy uses:"
    yield allowed_table(sheet, machine, units).markdown()
    yield f"Where to aim, and where to stop at first [{units}]:"
    yield cut_size_table(sheet, machine, units).markdown()
    yield spread_table(sheet, machine, units).markdown()
    yield error_table(sheet).markdown()
    yield "\n".join(f"- {plain(line)}." for line in tolerance_notes(sheet, machine))


def _allowed(allowed: AllowedSheet, units: Units) -> tuple[str, ...]:
    return tuple("any" if mm is None else length(mm, units) for mm in (allowed.smaller_mm, allowed.larger_mm))


def _held(size: SizeSheet) -> str:
    return ", ".join(dict.fromkeys(part for part in (size.smaller_held_by, size.larger_held_by) if part)) or "nothing"
