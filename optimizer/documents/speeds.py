"""The spindle's speeds, what each is good for, the bands they fall in, their chart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from math import pi

from optimizer.documents.blocks import Table, short
from optimizer.documents.carrying import grip_words, torque_unit, torque_words
from optimizer.documents.figures import length, place_words, rpm, unit_and_size
from optimizer.documents.html import Markup, html_table, listing, part, tag
from optimizer.documents.work_size import band_lines, surface_words, told_words, work_column
from optimizer.quantities import show_rpm
from optimizer.quantities.written import percent
from optimizer.records.design import BandSheet, Design
from optimizer.records.mechanics import BeltLoadSheet, TorqueSheet
from optimizer.records.sheet import (
    MachineSheet,
    PositionSheet,
    SpeedSheet,
    StageSheet,
    other_ways,
    setting_names,
    settings_said,
    switch_heads,
)

__all__ = ["band_table", "belts_at", "belts_words", "facts_at", "plate_lines", "said_at", "speed_table", "speeds_part"]


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


def _position_head(machine: MachineSheet, number: int) -> str:
    return "position" if len(machine.stages) == 1 else f"stage {number + 1}"


def belts_words(design: Design, speed: SpeedSheet) -> str:
    """Return how everything is switched at a speed, and where every belt lies."""
    switched = settings_said(design.machine, speed.settings)
    if len(design.machine.stages) == 1:
        return f"{switched}belt on position {speed.positions[0]}"
    placed = enumerate(speed.positions, 1)
    return switched + ", ".join(f"belt of stage {stage} on position {position}" for stage, position in placed)


def said_at(design: Design, speed: SpeedSheet) -> str:
    """Return a speed with its belts, torque and grip as one sentence, as it is read out."""
    row = _row(design, speed)
    units = design.scenario.units
    torque = f", torque {torque_words(row.torque_nm, units)} {torque_unit(units)}" if row and row.torque_nm else ""
    grip = f", grip {row.grip:.2f}" if row and row.grip is not None else ""
    told = told_words(design.work_size, speed.number)
    of = len(design.machine.speeds)
    runs = f"{rpm(speed.rpm)} rpm{f', {told}' if told else ''}"
    return f"Speed {speed.number} of {of}, {runs}: {belts_words(design, speed)}{torque}{grip}."


def facts_at(design: Design, speed: SpeedSheet) -> Iterator[tuple[str, str]]:
    """Yield the name and value of all that is known of a speed."""
    yield "spindle", f"{rpm(speed.rpm)} rpm"
    yield from zip(switch_heads(design.machine), setting_names(design.machine, speed.settings), strict=True)
    for shaft in speed.shafts[1:-1]:
        yield shaft.shaft, f"{rpm(shaft.rpm)} rpm"
    row, units = _row(design, speed), design.scenario.units
    if row and row.torque_nm is not None:
        yield "torque", f"{torque_words(row.torque_nm, units)} {torque_unit(design.scenario.units)}"
        yield "limited by", _limit(design, row)
    if row and row.grip is not None:
        yield "grip", f"{row.grip:.2f}"
    if row and row.slips_first:
        yield "first to slip", place_words(row.slips_first, design.machine)
    head, cells = _work(design)
    if work := cells.get(speed.number):
        yield head.replace(" ", ", ", 1), work
    yield "bands", ", ".join(speed.bands) or "outside every band"
    if not speed.on_plate:
        yield "plate", "not on it"


def belts_at(design: Design, speed: SpeedSheet) -> Table:
    """Return where every belt lies at a speed, with what it does there."""
    units = design.scenario.units
    power, size = unit_and_size("kW", units)
    heads = (
        "stage",
        "belt",
        "position",
        f"driver {units}",
        f"driven {units}",
        f"centre {units}",
        "belt speed",
        "wrap °",
    )
    carried = (f"carries {power}", f"must {power}", "grip") if design.carrying else ()
    rows = []
    for number, (stage, load, position) in enumerate(_placed(design, speed), 1):
        figures = (load.carries_kw / size, load.must_kw and load.must_kw / size, load.grip) if load else (None,) * 3
        rows.append(
            (
                str(number),
                stage.marking,
                str(position.number),
                length(position.driver.outside_mm, units),
                length(position.driven.outside_mm, units),
                length(position.centre_mm, units),
                surface_words(_belt_m_s(stage, position, speed), units),
                _least_wrap(position),
                *(("" if figure is None else f"{figure:.2f}") for figure in figures[: len(carried)]),
            )
        )
    return Table((*heads, *carried), tuple(rows))


def speeds_part(design: Design) -> Markup:
    """Return the section of all speeds: positions, torque, grip, belt speeds, work."""
    machine = design.machine
    links = [f"#speed-{speed.number}" for speed in machine.speeds]
    content = [
        tag("p", f"{machine.spindle} turns {machine.turns}, seen from the motor's pulley end."),
        html_table(_speed_table(design), "Every speed: belts, torque, grip, belt speed, work", links),
    ]
    if others := (*other_ways(machine), *plate_lines(machine)):
        content.append(listing(others))
    if design.carrying:
        told = f"{grip_words(design.carrying)} Torque is that of the spindle; of losses those of fixed stages count."
        content.append(tag("p", told))
    if design.work_size:
        content += [tag("p", line, class_="caution") for line in design.work_size.cautions]
    content.append(html_table(band_table(design.bands), "Bands with their speeds"))
    if lines := tuple(band_lines(design.bands, design.scenario.units)):
        content.append(listing(f"{line}." for line in lines))
    return part("speeds", "Speeds", content)


def _speed_table(design: Design) -> Table:
    stages, units = design.machine.stages, design.scenario.units
    several = len(stages) > 1
    head, work = _work(design)
    torque = (f"torque {torque_unit(design.scenario.units)}", "limited by", "grip") if design.carrying else ()
    plated = ("plate",) if any(not speed.on_plate for speed in design.machine.speeds) else ()
    heads = (
        "speed",
        "rpm",
        *plated,
        *switch_heads(design.machine),
        *(f"stage {n}" if several else "position" for n in range(1, len(stages) + 1)),
        *(shaft.shaft for shaft in design.machine.speeds[0].shafts[1:-1]),
        "step up",
        *torque,
        *(f"belt {n} speed" if several else "belt speed" for n in range(1, len(stages) + 1)),
        *((head,) if work else ()),
        "bands",
    )
    rows = []
    below: float | None = None
    for speed in design.machine.speeds:
        row = _row(design, speed)
        rows.append(
            (
                str(speed.number),
                rpm(speed.rpm),
                *(("yes" if speed.on_plate else "",) if plated else ()),
                *setting_names(design.machine, speed.settings),
                *map(str, speed.positions),
                *(rpm(shaft.rpm) for shaft in speed.shafts[1:-1]),
                "" if below is None else percent(speed.rpm / below - 1, 1),
                *(_torque_cells(design, row) if torque else ()),
                *(surface_words(_belt_m_s(stage, at, speed), units) for stage, _, at in _placed(design, speed)),
                *((work.get(speed.number, ""),) if work else ()),
                ", ".join(speed.bands),
            )
        )
        below = speed.rpm
    return Table(heads, tuple(rows))


def _torque_cells(design: Design, row: TorqueSheet | None) -> tuple[str, str, str]:
    if row is None:
        return "", "", ""
    grip = "" if row.grip is None else f"{row.grip:.2f}"
    return torque_words(row.torque_nm, design.scenario.units), _limit(design, row), grip


def _limit(design: Design, row: TorqueSheet) -> str:
    if row.limited_by in ("motor", ""):
        return row.limited_by
    return f"belt of {place_words(row.limited_by, design.machine)}"


def _placed(design: Design, speed: SpeedSheet) -> Iterator[tuple[StageSheet, BeltLoadSheet | None, PositionSheet]]:
    """Yield every belt stage with what its belt carries, where known, at a speed, and its position."""
    loads = {load.key: load for load in design.carrying.belts if load.number == speed.number} if design.carrying else {}
    for stage, number in zip(design.machine.stages, speed.positions, strict=True):
        position = next(position for position in stage.positions if position.number == number)
        yield stage, loads.get(stage.key), position


def _belt_m_s(stage: StageSheet, position: PositionSheet, speed: SpeedSheet) -> float:
    """Return v = π·d·n [m/s] of the driver's pitch diameter."""
    turning = next(shaft.rpm for shaft in speed.shafts if shaft.shaft == stage.driver_shaft)
    return pi * position.driver.pitch_mm * turning / 60_000


def _row(design: Design, speed: SpeedSheet) -> TorqueSheet | None:
    rows = design.carrying.speeds if design.carrying else ()
    return next((row for row in rows if row.number == speed.number), None)


def _work(design: Design) -> tuple[str, Mapping[int, str]]:
    """Return head and cells, by speed, of the column of work."""
    return work_column(design.work_size, design.scenario.units) if design.work_size else ("", {})


def _least_wrap(position: PositionSheet) -> str:
    wraps = [wrap for wrap in (position.driver_wrap_deg, position.driven_wrap_deg) if wrap is not None]
    return f"{min(wraps):.0f}" if wraps else "none"
