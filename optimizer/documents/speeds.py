"""The spindle's speeds: how they are set, what each is good for, the bands they fall in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import pi

from optimizer.documents.blocks import (
    MARKDOWN,
    PAGE,
    TERMINAL,
    Block,
    Column,
    Lines,
    Output,
    Rank,
    Rows,
    Section,
    Table,
    Text,
    table_of,
)
from optimizer.documents.carrying import grip_words
from optimizer.documents.figures import (
    Units,
    amount,
    decimals,
    length,
    percent,
    place_words,
    rpm,
    short,
    unit_and_size,
    unit_of,
)
from optimizer.documents.stages import least_wrap
from optimizer.documents.terminal import WIDTH, table_text
from optimizer.documents.work_size import band_lines, surface_words, told_words, work_column
from optimizer.quantities import show_rpm
from optimizer.records.carrying import BeltLoadSheet, TorqueSheet
from optimizer.records.design import BandSheet, Design
from optimizer.records.sheet import MachineSheet, PositionSheet, SpeedSheet, StageSheet
from optimizer.records.switching import other_ways, setting_names, settings_said, switch_heads
from optimizer.records.work_size import WorkSizeSheet

__all__ = [
    "band_table",
    "belts_at",
    "facts_at",
    "plate_lines",
    "said_at",
    "speed_sections",
    "speed_table",
    "terminal_speeds",
]

WorkColumn = tuple[str, Mapping[int, str]]
"""Head and cells, by speed, of a column of work."""
_Placed = tuple[StageSheet, BeltLoadSheet | None, PositionSheet]
"""A stage with what its belt carries at a speed, where known, and its position there."""


def terminal_speeds(machine: MachineSheet, work: WorkSizeSheet | None, units: Units) -> Section:
    """Return the speeds with the sizes of work they suit: as a column, or apart where it is too wide."""
    others, tables = (*other_ways(machine), *plate_lines(machine)), [speed_table(machine)]
    blocks: list[Block] = []
    if work is not None:
        head, cells = work_column(work, units)
        tables = [speed_table(machine, (head, cells))]
        if max(map(len, table_text(tables[0]).splitlines())) > WIDTH:
            apart = table_of(
                machine.speeds,
                ("speed", lambda s: str(s.number)),
                ("rpm", lambda s: rpm(s.rpm)),
                (head, lambda s: cells.get(s.number, "")),
            )
            tables = [speed_table(machine)]
            blocks.append(Section("Work by speed", [Rows(apart, rank=Rank.ANSWER)]))
    blocks = [Rows(tables[0], rank=Rank.ANSWER), *blocks, Lines(others, rank=Rank.ANSWER)]
    if work is not None:
        blocks.append(Text(f"Work: {work.cautions[0]}", rank=Rank.ANSWER))
    return Section("Speeds", blocks, only=TERMINAL)


def speed_sections(design: Design) -> Iterator[Section]:
    """Yield all speeds with what each is good for, then the bands."""
    machine, units, work = design.machine, design.scenario.units, design.work_size
    yield terminal_speeds(machine, work, units)
    bands, wants = band_table(design.bands), [f"{line}." for line in band_lines(design.bands, units)]
    blocks = [Rows(bands, rank=Rank.ANSWER), Lines(wants, rank=Rank.ANSWER)]
    yield Section("Bands", blocks, only=TERMINAL)
    others = (*other_ways(machine), *plate_lines(machine))
    wide = Rows(
        _wide_table(design),
        "Every speed: belts, torque, grip, belt speed, work",
        links=[f"#speed-{speed.number}" for speed in machine.speeds],
        only=PAGE,
    )
    blocks = [
        Text(f"{machine.spindle} turns {machine.turns}, seen from the motor's pulley end."),
        Rows(speed_table(machine), only=MARKDOWN),
        wide,
        *([Lines(others)] if others else []),
    ]
    if design.carrying:
        said = f"{grip_words(design.carrying)} Torque is that of the spindle; of losses those of fixed stages count."
        blocks.append(Text(said, only=PAGE))
    blocks += (Text(line, look="caution", only=PAGE) for line in (work.cautions if work else ()))
    blocks.append(Rows(bands, "Bands with their speeds"))
    blocks += [Lines(wants)] if wants else []
    yield Section("Speeds", blocks, anchor="speeds", only=tuple(Output)[1:])


@dataclass(frozen=True)
class _Row:
    """A speed with the one below it."""

    speed: SpeedSheet
    below: SpeedSheet | None

    @property
    def step_up(self) -> str:
        return "" if self.below is None else percent(self.speed.rpm / self.below.rpm - 1, 1)


def speed_table(machine: MachineSheet, work: WorkColumn | None = None) -> Table:
    """Return every spindle speed with settings, the belts' positions, the shafts between, the step up from that below.

    `work` is a column for the sizes of work.
    """
    banded = any(s.bands for s in machine.speeds)
    return table_of(
        _rows(machine),
        *_set_columns(machine, most=14),
        ("step up", lambda row: row.step_up),
        (work[0], lambda row: work[1].get(row.speed.number, "")) if work else None,
        ("bands", lambda row: ", ".join(short(band, 24) for band in row.speed.bands)) if banded else None,
    )


def _wide_table(design: Design) -> Table:
    """Return the same, with torque, grip and the speeds of the belts."""
    machine, units = design.machine, design.scenario.units
    several, (head, work) = len(machine.stages) > 1, _work(design)

    def belt_speed(row: _Row, stage: int) -> str:
        at, _, position = list(_placed(design, row.speed))[stage]
        return surface_words(_belt_m_s(at, position, row.speed), units)

    def torque(cell: Callable[[TorqueSheet], str]) -> Callable[[_Row], str]:
        return lambda row: cell(at) if (at := _torque(design, row.speed)) else ""

    carried: tuple[Column[_Row], ...] = (
        (f"torque {unit_of('N m', units)}", torque(lambda at: amount(at.torque_nm, "N m", units))),
        ("limited by", torque(lambda at: _limit(design, at))),
        ("grip", torque(lambda at: decimals(at.grip))),
    )
    return table_of(
        _rows(machine),
        *_set_columns(machine, most=None),
        ("step up", lambda row: row.step_up),
        *(carried if design.carrying else ()),
        *(
            (f"belt {n + 1} speed" if several else "belt speed", lambda row, n=n: belt_speed(row, n))
            for n in range(len(machine.stages))
        ),
        (head, lambda row: work.get(row.speed.number, "")) if work else None,
        ("bands", lambda row: ", ".join(row.speed.bands)),
    )


def _rows(machine: MachineSheet) -> list[_Row]:
    return [_Row(speed, below) for speed, below in zip(machine.speeds, (None, *machine.speeds), strict=False)]


def _set_columns(machine: MachineSheet, most: int | None) -> Iterator[Column[_Row]]:
    """Yield the columns that say how a speed is set; names of shafts have at most so many signs."""
    yield "speed", lambda row: str(row.speed.number)
    yield "rpm", lambda row: rpm(row.speed.rpm)
    if any(not speed.on_plate for speed in machine.speeds):
        yield "plate", lambda row: "yes" if row.speed.on_plate else ""
    for n, head in enumerate(switch_heads(machine)):
        yield _numbered(head, lambda row, n: list(setting_names(machine, row.speed.settings))[n], n)
    for n in range(len(machine.stages)):
        head = "position" if len(machine.stages) == 1 else f"stage {n + 1}"
        yield _numbered(head, lambda row, n: str(row.speed.positions[n]), n)
    for n, shaft in enumerate(machine.speeds[0].shafts[1:-1] if machine.speeds else (), 1):
        head = shaft.shaft if most is None else short(shaft.shaft, most)
        yield _numbered(head, lambda row, n: rpm(row.speed.shafts[n].rpm), n)


def _numbered(head: str, cell: Callable[[_Row, int], str], number: int) -> Column[_Row]:
    return head, lambda row: cell(row, number)


def plate_lines(machine: MachineSheet) -> tuple[str, ...]:
    """Return, in a sentence, which speeds are not on the plate; nothing where all are."""
    left = [rpm(s.rpm) for s in machine.speeds if not s.on_plate]
    if not left:
        return ()
    it, speeds = ("it", "the speed") if len(left) == 1 else ("they", "the speeds")
    return (f"Not on the plate, as {it} would make {speeds} there less even: {', '.join(left)} rpm.",)


def band_table(bands: Iterable[BandSheet]) -> Table:
    """Return every band with the speeds that count in it."""
    return table_of(
        bands,
        ("band", lambda b: short(b.name, 24)),
        ("rpm", lambda b: f"{show_rpm(b.from_rpm)} to {show_rpm(b.to_rpm)}"),
        ("want", lambda b: str(b.want)),
        ("speeds in it", lambda b: ", ".join(map(rpm, b.speeds_rpm)) or "none"),
    )


def _belts_words(design: Design, speed: SpeedSheet) -> str:
    """Return how everything is switched at a speed, and where every belt lies."""
    switched = settings_said(design.machine, speed.settings)
    if len(design.machine.stages) == 1:
        return f"{switched}belt on position {speed.positions[0]}"
    placed = enumerate(speed.positions, 1)
    return switched + ", ".join(f"belt of stage {stage} on position {position}" for stage, position in placed)


def said_at(design: Design, speed: SpeedSheet) -> str:
    """Return a speed with its belts, torque and grip as one sentence, as it is read out."""
    row = _torque(design, speed)
    units = design.scenario.units
    torque = f", torque {amount(row.torque_nm, 'N m', units)} {unit_of('N m', units)}" if row and row.torque_nm else ""
    grip = f", grip {row.grip:.2f}" if row and row.grip is not None else ""
    told = told_words(design.work_size, speed.number)
    of = len(design.machine.speeds)
    runs = f"{rpm(speed.rpm)} rpm{f', {told}' if told else ''}"
    return f"Speed {speed.number} of {of}, {runs}: {_belts_words(design, speed)}{torque}{grip}."


def facts_at(design: Design, speed: SpeedSheet) -> Iterator[tuple[str, str]]:
    """Yield the name and value of all that is known of a speed."""
    yield "spindle", f"{rpm(speed.rpm)} rpm"
    yield from zip(switch_heads(design.machine), setting_names(design.machine, speed.settings), strict=True)
    for shaft in speed.shafts[1:-1]:
        yield shaft.shaft, f"{rpm(shaft.rpm)} rpm"
    row, units = _torque(design, speed), design.scenario.units
    if row and row.torque_nm is not None:
        yield "torque", f"{amount(row.torque_nm, 'N m', units)} {unit_of('N m', units)}"
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
    units, carrying = design.scenario.units, design.carrying
    power, size = unit_and_size("kW", units)

    def carried(cell: Callable[[BeltLoadSheet], str]) -> Callable[[_Placed], str]:
        return lambda at: cell(at[1]) if at[1] else ""

    def of_power(kw: float | None) -> str:
        return decimals(kw and kw / size)

    return table_of(
        _placed(design, speed),
        ("stage", lambda at: str(design.machine.stages.index(at[0]) + 1)),
        ("belt", lambda at: at[0].marking),
        ("position", lambda at: str(at[2].number)),
        (f"driver {units}", lambda at: length(at[2].driver.outside_mm, units)),
        (f"driven {units}", lambda at: length(at[2].driven.outside_mm, units)),
        (f"centre {units}", lambda at: length(at[2].centre_mm, units)),
        ("belt speed", lambda at: surface_words(_belt_m_s(at[0], at[2], speed), units)),
        ("wrap °", lambda at: least_wrap(at[2])),
        (f"carries {power}", carried(lambda load: of_power(load.carries_kw))) if carrying else None,
        (f"must {power}", carried(lambda load: of_power(load.must_kw))) if carrying else None,
        ("grip", carried(lambda load: decimals(load.grip))) if carrying else None,
    )


def _limit(design: Design, row: TorqueSheet) -> str:
    if row.limited_by in ("motor", ""):
        return row.limited_by
    return f"belt of {place_words(row.limited_by, design.machine)}"


def _placed(design: Design, speed: SpeedSheet) -> Iterator[_Placed]:
    """Yield every belt stage with what its belt carries, where known, at a speed, and its position."""
    loads = {load.key: load for load in design.carrying.belts if load.number == speed.number} if design.carrying else {}
    for stage, number in zip(design.machine.stages, speed.positions, strict=True):
        position = next(position for position in stage.positions if position.number == number)
        yield stage, loads.get(stage.key), position


def _belt_m_s(stage: StageSheet, position: PositionSheet, speed: SpeedSheet) -> float:
    """Return v = π·d·n [m/s] of the driver's pitch diameter."""
    turning = next(shaft.rpm for shaft in speed.shafts if shaft.shaft == stage.driver_shaft)
    return pi * position.driver.pitch_mm * turning / 60_000


def _torque(design: Design, speed: SpeedSheet) -> TorqueSheet | None:
    rows = design.carrying.speeds if design.carrying else ()
    return next((row for row in rows if row.number == speed.number), None)


def _work(design: Design) -> WorkColumn:
    return work_column(design.work_size, design.scenario.units) if design.work_size else ("", {})
