"""Stages: positions, diameters on all lines, centre distances, what travel is for, settings of shared mounts."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.belts import CROSSED_CAUTION
from optimizer.documents.blocks import Table
from optimizer.documents.figures import Units, length, place_words
from optimizer.documents.gears import gear_cautions, gear_table, torque_out_table
from optimizer.documents.html import Markup, html_table, part, tag
from optimizer.quantities import show_length
from optimizer.quantities.written import percent
from optimizer.records.design import Design
from optimizer.records.sheet import MachineSheet, PositionSheet, SharedSheet, StageSheet, StepSheet, switch_lines

__all__ = [
    "line_table",
    "line_words",
    "pitch_words",
    "position_table",
    "rim_words",
    "setting_lines",
    "shared_words",
    "stage_title",
    "stages_part",
]


def stage_title(number: int, stage: StageSheet, units: Units) -> str:
    """Return what stands over a stage's positions: its shafts, belt, centre distances."""
    low, high = (length(c, units) for c in stage.centres.running_mm or (None, None))
    centres = f"centre distance {low}" if low == high else f"centre distances {low} to {high}"
    run = ", crossed" if stage.crossed else ""
    return f"Stage {number}, {stage.driver_shaft} to {stage.driven_shaft}: belt {stage.marking}{run}, {centres} {units}"


def position_table(stage: StageSheet, units: Units) -> Table:
    """Return a stage's positions with outside diameters, ratio, centre distance, least wrap.

    A driver that is the cone of the stage before has its steps numbered as they are there.
    """
    count = len(stage.positions)
    shared = ("on step",) if stage.shared_driver else ()
    heads = ("position", *shared, f"driver {units}", f"driven {units}", "ratio", f"centre {units}", "wrap °", "steps")
    rows = [
        (
            str(p.number),
            *((str(count + 1 - p.number),) if shared else ()),
            length(p.driver.outside_mm, units),
            length(p.driven.outside_mm, units),
            f"{p.ratio:.4f}",
            length(p.centre_mm, units),
            _least_wrap(p),
            _sources(p),
        )
        for p in stage.positions
    ]
    return Table(heads, tuple(rows))


def line_table(stage: StageSheet, units: Units) -> Table:
    """Return a stage's steps on all lines: outside, datum, pitch, and over gauge pins where these are known.

    A driver that is the cone of the stage before is told there.
    """
    sides = [("driver", stage.driver_shaft), ("driven", stage.driven_shaft)][stage.shared_driver :]
    steps: list[StepSheet] = [getattr(p, side) for p in stage.positions for side, _ in sides]
    pins = sorted({step.pin_mm for step in steps if step.pin_mm is not None})
    over = tuple(f"over {length(pin, units)} {units} pins" for pin in pins)
    heads = ("cone", "step", f"outside {units}", f"datum {units}", f"pitch {units}", *over, "groove", "source")
    rows = []
    for side, shaft in sides:
        for p in stage.positions:
            step: StepSheet = getattr(p, side)
            lines = (length(mm, units) for mm in (step.outside_mm, step.datum_mm, step.pitch_mm))
            sizes = (length(step.over_pins_mm, units) if step.pin_mm == pin else "" for pin in pins)
            rim = rim_words(step.rim, step.groove_deg)
            rows.append((f"{side} on {shaft}", str(p.number), *lines, *sizes, rim, step.source))
    return Table(heads, tuple(rows))


def shared_words(number: int, stage: StageSheet) -> tuple[str, ...]:
    """Return, in a sentence, that a stage's driver is the cone of the stage before; nothing where it has its own."""
    if not stage.shared_driver:
        return ()
    last = len(stage.positions)
    return (
        f"Its driver is the driven cone of stage {number - 1}, one cone for both belts, no step for both at once: "
        f"position 1 lies on step {last} of it, and so on to position {last} on step 1",
    )


def rim_words(rim: str, groove_deg: float | None) -> str:
    """Return what the belt lies on.

    Examples
    --------
    >>> rim_words("v", 34.0), rim_words("ribbed", 40.0), rim_words("round", None), rim_words("crowned", None)
    ('34°', 'ribs 40°', 'half-round', 'crowned')
    """
    if groove_deg is not None:
        return f"{groove_deg:g}°" if rim == "v" else f"ribs {groove_deg:g}°"
    return "half-round" if rim == "round" else rim


def _sources(position: PositionSheet) -> str:
    a, b = position.driver.source, position.driven.source
    return f"both {a}" if a == b else f"{a}, {b}"


def _least_wrap(position: PositionSheet) -> str:
    if position.driver_wrap_deg is None or position.driven_wrap_deg is None:
        return "none"
    return f"{min(position.driver_wrap_deg, position.driven_wrap_deg):.0f}"


def line_words(stage: StageSheet) -> str:
    """Return on which line the diameters were given."""
    own = stage.lines[1:] if stage.shared_driver else stage.lines  # the stage before tells of the cone it shares
    given = "; ".join(f"{line.side} on the line: {line.measured}, groove {line.groove}" for line in own)
    return f"Diameters given: {given}. Slip {percent(stage.slip, 1)}. {pitch_words(stage)}."


def pitch_words(stage: StageSheet) -> str:
    """Return on which line speeds are computed, with how much the outside diameters would change them."""
    change = percent(stage.other_line_change, 1)
    return f"Speeds are computed on the pitch line; by outside diameters ratios would differ by up to {change}"


def setting_lines(machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield for every shared mount, in sentences without the last full stop, where it is set and what fits it."""
    for sheet in machine.shared:
        yield _words(sheet, machine, units)


def _words(sheet: SharedSheet, machine: MachineSheet, units: Units) -> str:
    belts = [place_words(key, machine) for key in sheet.stages]
    listed = f"{', '.join(belts[:-1])} and {belts[-1]}"
    counted = "along it" if sheet.kind == "slide" else "on the arc of its axis"
    on, low, high, out = (_signed(value, units) for value in (sheet.belt_on_mm, *sheet.running_mm, sheet.worn_out_mm))
    runs = f"it runs at {low}" if low == high else f"it runs from {low} to {high}"
    shared = any(stage.shared_driver for stage in machine.stages if stage.key in sheet.stages)
    two = "any two positions on different steps of the cone" if shared else "any two positions"
    common = (
        f"{two} run together over {show_length(round(sheet.common_mm, 3), units)} of it"
        if sheet.common_mm >= 0
        else f"some positions have no setting in common, by {show_length(round(-sheet.common_mm, 3), units)}"
    )
    return (
        f"One movement of the {sheet.kind} of {sheet.shaft} changes the belts of {listed}. Counted {counted} from its "
        f"stated place, {sheet.way}: belts on at {on}, {runs}, worn out at {out}; {common}"
    )


def _signed(value_mm: float, units: Units) -> str:
    shown = show_length(round(abs(value_mm), 2), units)
    return shown if round(abs(value_mm), 2) == 0 else f"{'+' if value_mm > 0 else '-'}{shown}"


def stages_part(design: Design) -> Markup:
    """Return the section of stages and fixed ratios."""
    units = design.scenario.units
    content: list[Markup] = []
    for number, stage in enumerate(design.machine.stages, 1):
        content.append(tag("h3", stage_title(number, stage, units)))
        content += _stage(number, stage, units)
    if design.gears:
        content.append(tag("h3", "Fixed stages"))
        content += _gears(design, units)
    content += [tag("p", f"{line}.") for line in setting_lines(design.machine, units)]
    content += [tag("p", f"{line}.") for line in switch_lines(design.machine)]
    return part("stages", "Stages and diameters", content)


def _gears(design: Design, units: Units) -> Iterator[Markup]:
    for line in gear_cautions(design.gears):
        yield tag("p", line, class_="caution")
    yield html_table(gear_table(design.gears, units), "Fixed stages, what goes in and comes out at most")
    for gear in design.gears:
        if gear.torque_limit_nm is not None and gear.torques:
            said = f"What can leave {gear.driver_shaft} to {gear.driven_shaft} before motor or belt gives way"
            yield html_table(torque_out_table(gear, design.machine, units), said)


def _stage(number: int, stage: StageSheet, units: Units) -> Iterator[Markup]:
    name = f"Stage {number}"
    if stage.crossed:
        yield tag("p", CROSSED_CAUTION, class_="caution")
    yield html_table(position_table(stage, units), f"{name}: positions, diameters over the rim")
    yield from (tag("p", f"{line}.") for line in shared_words(number, stage))
    yield html_table(line_table(stage, units), f"{name}: every step on all lines")
    yield tag("p", line_words(stage))
    yield html_table(_centres(stage, units), f"{name}: centre distances over the life of the belt")
    yield html_table(_budget(stage, units), f"{name}: what travel is needed for")


def _centres(stage: StageSheet, units: Units) -> Table:
    c = stage.centres
    low, high = c.running_mm or (None, None)
    stands = (
        ("belt on", c.belt_on_mm, "the shortest belt can be put on, or climbs"),
        ("running, least", low, "new belt of nominal length"),
        ("running, greatest", high, "new belt of nominal length"),
        ("worn out", c.worn_out_mm, "the longest belt at the end of its life"),
        ("allowed, least", c.limits_mm[0], "as stated"),
        ("allowed, greatest", c.limits_mm[1], "as stated"),
    )
    return Table(
        ("centre distance", units, "when"), tuple((name, length(mm, units), when) for name, mm, when in stands)
    )


def _budget(stage: StageSheet, units: Units) -> Table:
    lines = stage.centres.budget
    rows = [(line.name, length(line.amount_mm, units), line.source) for line in lines]
    rows.append(("sum", length(sum(line.amount_mm for line in lines), units), "all of the above"))
    rows.append(("travel of the mount", length(stage.centres.travel_mm, units), "as stated"))
    return Table(("travel for", units, "source"), tuple(rows))
