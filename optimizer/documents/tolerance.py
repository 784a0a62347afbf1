"""How exactly to turn: the chance that all is well, what every size may be off, where to aim."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from optimizer.documents.blocks import MARKDOWN, Lines, Rank, Rows, Section, Table, Text, table_of
from optimizer.documents.figures import Units, length, percent, place_words, rpm
from optimizer.records.sheet import MachineSheet, StepSheet
from optimizer.records.tolerance import ChanceSheet, SizeSheet, ToleranceSheet

__all__ = [
    "allowed_table",
    "chance_table",
    "cut_size_table",
    "error_table",
    "error_words",
    "tolerance_notes",
    "tolerance_section",
    "tolerance_words",
]

SURE, LOST = 0.995, 0.005
"""Chances beyond which the tries say no more than that."""
SEEN_MM = 0.005
"""A shift of aim below this is not told."""
MOST_TOLD = 3
ALIKE = 0.05
"""Share by which figures may differ that are told as one."""
LARGE = "Err on the large side: a groove can be cut deeper, a rim skimmed, wood cannot be put back"
GROOVES = (
    "In a groove the errors are those of the size over pins. With the outside diameter right, a groove that is too "
    "wide lets the belt sink: the running diameter falls by the error of the width divided by the tangent of half the "
    "groove's angle, 0.65 mm for 0.2 mm at 34°"
)


def tolerance_section(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Section:
    """Return the chance that all is well and what to mind, then every size, spread and speed with its errors."""
    return Section(
        "How exactly to turn",
        (
            Lines([f"{line}." for line in tolerance_words(sheet, machine, units)], rank=Rank.ANSWER),
            Rows(chance_table(sheet), "Chance that all is well, by what may go wrong"),
            Text(f"How far every size may be off [{units}], and what share of that its accuracy uses:", only=MARKDOWN),
            Rows(allowed_table(sheet, machine, units), f"How far every size may be off, in {units}"),
            Text(f"Where to aim, and where to stop at first [{units}]:", only=MARKDOWN),
            Rows(cut_size_table(sheet, machine, units), f"Where to aim, where to stop at first, in {units}"),
            Rows(_spread_table(sheet, machine, units), "Centre distances of the positions, as turned"),
            Rows(error_table(sheet), "What errors of turning do to the speeds", rank=Rank.PROOF),
            Lines([f"{line}." for line in tolerance_notes(sheet, machine)], rank=Rank.PROOF),
        ),
        anchor="tolerance",
    )


def allowed_table(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how far every turned size may be off: alone, all at once at worst, all at once by chance."""

    def held(size: SizeSheet) -> str:
        parts = (size.smaller_held_by, size.larger_held_by)
        return ", ".join(dict.fromkeys(filter(None, parts))) or "nothing"

    return table_of(
        sheet.sizes,
        ("size", lambda size: size_words(size, machine)),
        (f"drawn {units}", lambda size: length(size.outside_mm, units)),
        ("alone: smaller", lambda size: length(size.alone.smaller_mm, units, "any")),
        ("alone: larger", lambda size: length(size.alone.larger_mm, units, "any")),
        ("held by", held),
        ("all at once: smaller", lambda size: length(size.together.smaller_mm, units, "any")),
        ("all at once: larger", lambda size: length(size.together.larger_mm, units, "any")),
        ("by chance: smaller", lambda size: length(size.by_chance.smaller_mm, units, "any")),
        ("by chance: larger", lambda size: length(size.by_chance.larger_mm, units, "any")),
        ("share used", lambda size: "none left" if size.share is None else percent(size.share, 0)),
    )


def cut_size_table(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how every size is measured, where to aim, where to stop at first; of grooves how wide they may be."""
    grooved = any(size.width_accuracy_mm is not None for size in sheet.sizes)

    def over_pins(size: SizeSheet) -> StepSheet | None:
        step = step_of(size, machine)
        return step if size.measured == "over pins" and step.over_pins_mm is not None else None

    def measured(size: SizeSheet) -> str:
        step = over_pins(size)
        return size.measured if step is None else f"over {length(step.pin_mm, units)} {units} pins"

    def drawn(size: SizeSheet) -> float:
        step = over_pins(size)
        return size.outside_mm if step is None or step.over_pins_mm is None else step.over_pins_mm

    return table_of(
        sheet.sizes,
        ("size", lambda size: size_words(size, machine)),
        ("measured", measured),
        (f"drawn {units}", lambda size: length(drawn(size), units)),
        ("to within", lambda size: length(size.accuracy_mm, units)),
        (f"aim at {units}", lambda size: length(drawn(size) + size.aim_mm, units)),
        (f"stop first at {units}", lambda size: length(drawn(size) + size.aim_mm + size.left_on_mm, units)),
        ("groove wider", lambda size: length(size.groove_wider_mm, units, "")) if grooved else None,
        ("narrower", lambda size: length(size.groove_narrower_mm, units, "")) if grooved else None,
        ("by rim and groove to within", lambda size: length(size.width_accuracy_mm, units, "")) if grooved else None,
    )


def chance_table(sheet: ToleranceSheet) -> Table:
    """Return the chances that all is well, and that each part is; nothing of evenness where it is not held to any."""
    rows = [("cut once to the drawing", sheet.chance)]
    if sheet.chance_by_width is not None:
        rows.append(("the same, grooves by rim and width only", sheet.chance_by_width))
    even = sheet.unevenness_most is not None
    table = table_of(
        rows,
        ("sizes", lambda row: row[0]),
        ("all is well", lambda row: chance_words(row[1].all_well)),
        ("belt fit", lambda row: chance_words(row[1].belt_fit)),
        ("speeds", lambda row: chance_words(row[1].speeds)),
        ("evenness", lambda row: chance_words(row[1].evenness) if even else ""),
        ("limits of size", lambda row: chance_words(row[1].size_limits)),
    )
    if not any(size.aim_mm or size.left_on_mm for size in sheet.sizes):
        return table
    last = ("left large, measured, cut once more", chance_words(sheet.chance_by_cuts), "", "", "", "")
    return Table(table.heads, (*table.rows, last))


def _spread_table(sheet: ToleranceSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how far the centre distances of every stage lie apart, as drawn and as turned."""
    return table_of(
        sheet.spreads,
        ("stage", lambda spread: place_words(spread.key, machine)),
        (f"window {units}", lambda spread: length(spread.window_mm, units)),
        (f"apart as drawn {units}", lambda spread: length(spread.drawn_mm, units)),
        ("standard deviation", lambda spread: length(spread.tried_deviation_mm, units)),
        (f"19 of 20 below {units}", lambda spread: length(spread.most_mm, units)),
    )


def error_table(sheet: ToleranceSheet) -> Table:
    """Return what errors of turning do to every speed, at two standard deviations."""
    return table_of(
        sheet.speeds,
        ("speed", lambda speed: str(speed.number)),
        ("rpm", lambda speed: rpm(speed.rpm)),
        ("19 of 20 within, first order", lambda speed: percent(2 * speed.deviation)),
        ("as tried", lambda speed: percent(2 * speed.tried_deviation)),
    )


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
