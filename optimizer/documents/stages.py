"""Stages: positions, diameters on all lines, centre distances, what travel is for, settings of shared mounts."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.crossed import CROSSED_CAUTION
from optimizer.documents.blocks import (
    MARKDOWN,
    PAGE,
    TERMINAL,
    Block,
    Lines,
    Rank,
    Rows,
    Section,
    Table,
    Text,
    table_of,
)
from optimizer.documents.figures import Units, length, percent, place_words
from optimizer.documents.gears import gears_section
from optimizer.quantities import show_length
from optimizer.records.gears import GearSheet
from optimizer.records.settings import SharedSheet
from optimizer.records.sheet import CentreSheet, MachineSheet, PositionSheet, StageSheet, StepSheet
from optimizer.records.switching import switch_lines

__all__ = ["least_wrap", "line_table", "position_table", "rim_words", "setting_lines", "shared_words", "stage_sections"]


def stage_sections(machine: MachineSheet, gears: tuple[GearSheet, ...], units: Units) -> Iterator[Section]:
    """Yield every stage, then mounts that several share, fixed stages and switches."""
    for number, stage in enumerate(machine.stages, 1):
        yield _section(number, stage, units)
    settings, switched = [f"{line}." for line in setting_lines(machine, units)], switch_lines(machine)
    told = {gear.key for gear in gears}
    pairs = zip(machine.switches, switched, strict=True)
    for line in (*settings, *(line for switch, line in pairs if switch.key not in told)):
        yield Section("", [Text(line, rank=Rank.ANSWER)], only=TERMINAL)
    if gears:
        yield gears_section(gears, machine, units)
    if settings or switched:
        blocks: list[Block] = [Lines([*settings, *switched], only=MARKDOWN)]
        blocks += (Text(line, only=PAGE) for line in (*settings, *(f"{line}." for line in switched)))
        yield Section("", blocks)


def _section(number: int, stage: StageSheet, units: Units) -> Section:
    """Return one stage."""
    name, centres = f"Stage {number}", stage.centres
    ends = (length(mm, units) for mm in (centres.belt_on_mm, centres.worn_out_mm))
    crossed = Text(CROSSED_CAUTION, rank=Rank.ANSWER, only=TERMINAL)
    shared = [f"{line}." for line in shared_words(number, stage)]
    blocks: list[Block] = []
    if stage.crossed:
        blocks += [
            Lines([CROSSED_CAUTION], look="cautions", only=MARKDOWN),
            Text(CROSSED_CAUTION, look="caution", only=PAGE),
        ]
    blocks += [
        Rows(position_table(stage, units), f"{name}: positions, diameters over the rim", rank=Rank.ANSWER),
        Text(
            f"Diameters over the rim. Belt on at {next(ends)}, worn out at {next(ends)} {units}",
            rank=Rank.ANSWER,
            only=TERMINAL,
        ),
        Lines(shared_words(number, stage), rank=Rank.ANSWER, only=TERMINAL),
        *(Text(line) for line in shared),
        Text(_pitch_words(stage), rank=Rank.ANSWER, only=TERMINAL),
        *([crossed] if stage.crossed else []),
        Rows(line_table(stage, units), f"{name}: every step on all lines"),
        Text(_line_words(stage), only=PAGE),
        Text(f"Centre distances [{units}]: {_stands(centres, units)}.", only=MARKDOWN),
        Rows(_centre_table(centres, units), f"{name}: centre distances over the life of the belt", only=PAGE),
        Rows(_budget(centres, units, short=True), only=MARKDOWN),
        Rows(_budget(centres, units, short=False), f"{name}: what travel is needed for", only=PAGE),
        Text(_line_words(stage), only=MARKDOWN),
    ]
    return Section(stage_title(number, stage, units), blocks)


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
    return table_of(
        stage.positions,
        ("position", lambda p: str(p.number)),
        ("on step", lambda p: str(count + 1 - p.number)) if stage.shared_driver else None,
        (f"driver {units}", lambda p: length(p.driver.outside_mm, units)),
        (f"driven {units}", lambda p: length(p.driven.outside_mm, units)),
        ("ratio", lambda p: f"{p.ratio:.4f}"),
        (f"centre {units}", lambda p: length(p.centre_mm, units)),
        ("wrap °", least_wrap),
        ("steps", _sources),
    )


def line_table(stage: StageSheet, units: Units) -> Table:
    """Return a stage's steps on all lines: outside, datum, pitch, and over gauge pins where these are known.

    A driver that is the cone of the stage before is told there.
    """
    sides = [("driver", stage.driver_shaft), ("driven", stage.driven_shaft)][stage.shared_driver :]
    steps: list[tuple[str, int, StepSheet]] = [
        (f"{side} on {shaft}", p.number, getattr(p, side)) for side, shaft in sides for p in stage.positions
    ]
    pins = sorted({step.pin_mm for _, _, step in steps if step.pin_mm is not None})
    return table_of(
        steps,
        ("cone", lambda at: at[0]),
        ("step", lambda at: str(at[1])),
        (f"outside {units}", lambda at: length(at[2].outside_mm, units)),
        (f"datum {units}", lambda at: length(at[2].datum_mm, units)),
        (f"pitch {units}", lambda at: length(at[2].pitch_mm, units)),
        *(
            (
                f"over {length(pin, units)} {units} pins",
                lambda at, pin=pin: length(at[2].over_pins_mm, units) if at[2].pin_mm == pin else "",
            )
            for pin in pins
        ),
        ("groove", lambda at: rim_words(at[2].rim, at[2].groove_deg)),
        ("source", lambda at: at[2].source),
    )


def _centre_table(centres: CentreSheet, units: Units) -> Table:
    low, high = centres.running_mm or (None, None)
    stands = (
        ("belt on", centres.belt_on_mm, "the shortest belt can be put on, or climbs"),
        ("running, least", low, "new belt of nominal length"),
        ("running, greatest", high, "new belt of nominal length"),
        ("worn out", centres.worn_out_mm, "the longest belt at the end of its life"),
        ("allowed, least", centres.limits_mm[0], "as stated"),
        ("allowed, greatest", centres.limits_mm[1], "as stated"),
    )
    rows = tuple((name, length(mm, units), when) for name, mm, when in stands)
    return Table(("centre distance", units, "when"), rows)


def _stands(centres: CentreSheet, units: Units) -> str:
    low, high = centres.running_mm or (None, None)
    stands = (
        ("belt on", centres.belt_on_mm),
        ("running from", low),
        ("to", high),
        ("worn out", centres.worn_out_mm),
    )
    return ", ".join(f"{name} {length(mm, units)}" for name, mm in stands)


def _budget(centres: CentreSheet, units: Units, *, short: bool) -> Table:
    """Return what travel is for, line by line; `short` says in the sum what there is."""
    travel, total = length(centres.travel_mm, units), length(sum(line.amount_mm for line in centres.budget), units)
    rows = [(line.name, length(line.amount_mm, units), line.source) for line in centres.budget]
    rows.append(("sum", total, f"travel {travel} {units}" if short else "all of the above"))
    rows += [] if short else [("travel of the mount", travel, "as stated")]
    return Table(("travel for", units, "source"), tuple(rows))


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


def _line_words(stage: StageSheet) -> str:
    """Return on which line the diameters were given."""
    own = stage.lines[1:] if stage.shared_driver else stage.lines  # the stage before tells of the cone it shares
    given = "; ".join(f"{line.side} on the line: {line.measured}, groove {line.groove}" for line in own)
    return f"Diameters given: {given}. Slip {percent(stage.slip, 1)}. {_pitch_words(stage)}."


def _pitch_words(stage: StageSheet) -> str:
    """Return on which line speeds are computed, with how much the outside diameters would change them."""
    change = percent(stage.other_line_change, 1)
    return f"Speeds are computed on the pitch line; by outside diameters ratios would differ by up to {change}"


def setting_lines(machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield for every shared mount, in sentences without the last full stop, where it is set and what fits it."""
    for sheet in machine.shared:
        yield _setting_words(sheet, machine, units)


def _setting_words(sheet: SharedSheet, machine: MachineSheet, units: Units) -> str:
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


def _sources(position: PositionSheet) -> str:
    a, b = position.driver.source, position.driven.source
    return f"both {a}" if a == b else f"{a}, {b}"


def least_wrap(position: PositionSheet) -> str:
    """Return the lesser wrap of a position."""
    wraps = [wrap for wrap in (position.driver_wrap_deg, position.driven_wrap_deg) if wrap is not None]
    return f"{min(wraps):.0f}" if len(wraps) == 2 else "none"
