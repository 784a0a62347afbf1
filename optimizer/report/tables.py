"""The tables of a machine: its positions, its speeds, its bands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from optimizer.quantities import show_rpm
from optimizer.records.design import BandSheet, CheckSheet
from optimizer.records.sheet import MachineSheet, PositionSheet, StageSheet, StepSheet
from optimizer.records.switching import setting_names, switch_heads
from optimizer.report.figures import Units, length, percent, rpm, unit_and_size
from optimizer.report.table import Table, short

__all__ = [
    "band_table",
    "check_table",
    "line_table",
    "place_words",
    "plate_lines",
    "position_table",
    "rim_words",
    "shared_words",
    "speed_table",
    "stage_title",
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


def speed_table(machine: MachineSheet, work: tuple[str, Mapping[int, str]] | None = None) -> Table:
    """Return every spindle speed with settings, the belts' positions, the shafts between, the step up from that below.

    `work` is the head and the cells, by speed, of a column for the sizes of work.
    """
    banded = ("bands",) if any(s.bands for s in machine.speeds) else ()
    between = [short(s.shaft, 14) for s in machine.speeds[0].shafts[1:-1]] if machine.speeds else []
    plated = ("plate",) if any(not s.on_plate for s in machine.speeds) else ()
    heads = (
        "speed",
        "rpm",
        *plated,
        *switch_heads(machine),
        *(_position_head(machine, n) for n in range(len(machine.stages))),
        *between,
        "step up",
        *((work[0],) if work else ()),
        *banded,
    )
    rows = []
    below: float | None = None
    for s in machine.speeds:
        rows.append(
            (
                str(s.number),
                rpm(s.rpm),
                *(("yes" if s.on_plate else "",) if plated else ()),
                *setting_names(machine, s.settings),
                *map(str, s.positions),
                *(rpm(shaft.rpm) for shaft in s.shafts[1:-1]),
                "" if below is None else percent(s.rpm / below - 1, 1),
                *((work[1].get(s.number, ""),) if work else ()),
                *((", ".join(short(band, 24) for band in s.bands),) if banded else ()),
            )
        )
        below = s.rpm
    return Table(heads, tuple(rows))


def plate_lines(machine: MachineSheet) -> tuple[str, ...]:
    """Return, in a sentence, which speeds are not on the plate; nothing where all are."""
    left = [rpm(s.rpm) for s in machine.speeds if not s.on_plate]
    if not left:
        return ()
    it, speeds = ("it", "the speed") if len(left) == 1 else ("they", "the speeds")
    return (f"Not on the plate, as {it} would make {speeds} there less even: {', '.join(left)} rpm.",)


def band_table(bands: Iterable[BandSheet]) -> Table:
    """Return every band with the speeds that count in it."""
    rows = (
        (
            short(b.name, 24),
            f"{show_rpm(b.from_rpm)} to {show_rpm(b.to_rpm)}",
            str(b.want),
            ", ".join(map(rpm, b.speeds_rpm)) or "none",
        )
        for b in bands
    )
    return Table(("band", "rpm", "want", "speeds in it"), tuple(rows))


def check_table(checks: Iterable[CheckSheet], machine: MachineSheet, units: Units) -> Table:
    """Return checks with value, limit, margin, and whether each was passed."""
    rows = (
        (
            c.name,
            place_words(c.where, machine),
            *(_figure(value, unit_and_size(c.unit, units)[1]) for value in (c.value, c.limit, c.margin)),
            unit_and_size(c.unit, units)[0],
            c.kind,
            verdict(c),
            c.source,
        )
        for c in checks
    )
    return Table(("check", "where", "value", "limit", "margin", "unit", "class", "result", "source"), tuple(rows))


def place_words(where: str, machine: MachineSheet) -> str:
    """Return a place of the scenario with its stage called as papers call it: by the chain, counted from 1."""
    for number, stage in enumerate(machine.stages, 1):
        if where.startswith(stage.key):
            return f"stage {number}{where.removeprefix(stage.key).replace('.', ', ', 1)}"
    return where


def verdict(check: CheckSheet) -> str:
    """Return the one word that a check comes to."""
    if check.passed:
        return "passed"
    return "warning" if check.kind == "advice" else "FAILED"


def _position_head(machine: MachineSheet, number: int) -> str:
    return "position" if len(machine.stages) == 1 else f"stage {number + 1}"


def _sources(position: PositionSheet) -> str:
    a, b = position.driver.source, position.driven.source
    return f"both {a}" if a == b else f"{a}, {b}"


def _least_wrap(position: PositionSheet) -> str:
    if position.driver_wrap_deg is None or position.driven_wrap_deg is None:
        return "none"
    return f"{min(position.driver_wrap_deg, position.driven_wrap_deg):.0f}"


def _figure(value: float | None, size: float) -> str:
    return "none" if value is None else f"{value / size:.5g}"
