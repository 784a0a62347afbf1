"""What a person sees on the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.crossed import CROSSED_CAUTION
from optimizer.records.carrying import CarryingSheet
from optimizer.records.changes import Changes
from optimizer.records.design import Design
from optimizer.records.gears import GearSheet
from optimizer.records.hanging import HangingSheet
from optimizer.records.known import KnownMachine
from optimizer.records.sheet import MachineSheet
from optimizer.records.switching import other_ways, switch_lines
from optimizer.records.work_size import WorkSizeSheet
from optimizer.report.around import around_words
from optimizer.report.carrying import grip_words, pull_table, torque_table
from optimizer.report.changes import buy_words, spare_table
from optimizer.report.figures import Units, length, rpm
from optimizer.report.gears import gear_cautions, gear_words
from optimizer.report.hanging import mount_words
from optimizer.report.other_ratios import ratio_sentence, ratio_table, why_none_lines
from optimizer.report.sentences import (
    check_summary,
    closing_words,
    evenness_words,
    hand_belt_words,
    layout_words,
    pitch_words,
    proof_words,
    refinement_words,
    troubles,
)
from optimizer.report.settings import setting_lines
from optimizer.report.shafts import shaft_words
from optimizer.report.table import WIDTH, Table, paragraph
from optimizer.report.tables import band_table, plate_lines, position_table, shared_words, speed_table, stage_title
from optimizer.report.tolerance import tolerance_words
from optimizer.report.work_size import band_lines, work_column

__all__ = ["design_screen", "speeds_screen"]


def design_screen(design: Design) -> str:
    """Return the design as text of at most 80 columns: positions, speeds by band, proof, checks."""
    parts = [paragraph(design.scenario.title), paragraph(layout_words(design))]
    parts += _stages(design.machine, design.gears, design.scenario.units)
    parts += [
        _speeds(design.machine, design.work_size, design.scenario.units),
        _bands(design),
    ]
    parts += _power(design.carrying, design.machine, design.scenario.units)
    said = (
        evenness_words(design.series),
        *hand_belt_words(design.hand_belts),
        *proof_words(design.proof, design.series),
        closing_words(design.closing),
    )
    parts.append("\n".join(paragraph(line, indent="  ") for line in (*said, refinement_words(design.refinement))))
    parts += _turning(design)
    lines = (check_summary(design.checks), *troubles(design.checks, design.machine, design.scenario.units))
    parts += _hanging(design.hanging, design.machine, design.scenario.units)
    parts += (
        paragraph(line, indent="  ") for line in shaft_words(design.shafts, design.machine, design.scenario.units)
    )
    if design.around:
        parts.append(paragraph(around_words(design.around, design.scenario.units), indent="  "))
    parts.append("\n".join(paragraph(line, indent="  ") for line in lines))
    if design.other_ratios:
        table = ratio_table(design.other_ratios, reasons=False).text()
        said = (*why_none_lines(design.other_ratios), f"{ratio_sentence(design.other_ratios)}.")
        parts.append("\n".join(("Other ratios of gears", table, *(paragraph(line, indent="  ") for line in said))))
    if design.changes:
        parts += _changes(design.changes, design.scenario.units)
    return "\n\n".join(parts) + "\n"


def _bands(design: Design) -> str:
    """Return the bands with their speeds, then what they want along a surface."""
    said = (paragraph(f"{line}.", indent="  ") for line in band_lines(design.bands, design.scenario.units))
    return "\n".join(("Bands", band_table(design.bands).text(), *said))


def _turning(design: Design) -> Iterator[str]:
    """Yield how exactly to turn, where anything is turned."""
    if design.tolerance is not None:
        said = tolerance_words(design.tolerance, design.machine, design.scenario.units)
        yield "\n".join(("How exactly to turn", *(paragraph(f"{line}.", indent="  ") for line in said)))


def _changes(changes: Changes, units: Units) -> Iterator[str]:
    if changes.spare:
        yield "What every limit could give up, one at a time\n" + spare_table(changes.spare, units).text()
    if changes.buys:
        lines = (paragraph(buy_words(buy, units), indent="  ") for buy in changes.buys)
        yield "What a little more would buy\n" + "\n".join(lines)


def speeds_screen(known: KnownMachine) -> str:
    """Return what a known machine gives as text of at most 80 columns."""
    machine = known.machine
    parts = [
        paragraph(known.scenario.title),
        paragraph(
            f"Motor {rpm(machine.motor_rpm)} rpm; {machine.spindle} turns {machine.turns}, "
            "seen from the motor's pulley end"
        ),
    ]
    parts += _stages(machine, known.gears, known.scenario.units)
    parts.append(_speeds(machine, known.work_size, known.scenario.units))
    parts += _power(known.carrying, machine, known.scenario.units)
    if known.carrying and any(load.pretension_n is not None for load in known.carrying.belts):
        pulls = pull_table(known.carrying, machine, known.scenario.units).text()
        parts.append(f"Pulls, where each belt has least to spare\n{pulls}")
    parts += _hanging(known.hanging, machine, known.scenario.units)
    parts += (paragraph(line, indent="  ") for line in shaft_words(known.shafts, machine, known.scenario.units))
    if known.around:
        parts.append(paragraph(around_words(known.around, known.scenario.units), indent="  "))
    lines = (check_summary(known.checks), *troubles(known.checks, machine, known.scenario.units))
    parts.append("\n".join(paragraph(line, indent="  ") for line in lines))
    return "\n\n".join(parts) + "\n"


def _speeds(machine: MachineSheet, work: WorkSizeSheet | None, units: Units) -> str:
    """Return the speeds with the sizes of work they suit: as a column, or apart where it is too wide."""
    others = [paragraph(line, indent="  ") for line in (*other_ways(machine), *plate_lines(machine))]
    if work is None:
        return "\n".join(["Speeds", speed_table(machine).text(), *others])
    column = work_column(work, units)
    tables = ["Speeds", speed_table(machine, column).text()]
    if max(map(len, tables[1].splitlines())) > WIDTH:
        rows = ((str(s.number), rpm(s.rpm), column[1].get(s.number, "")) for s in machine.speeds)
        own = Table(("speed", "rpm", column[0]), tuple(rows))
        tables = ["Speeds", speed_table(machine).text(), "", "Work by speed", own.text()]
    return "\n".join((*tables, *others, paragraph(f"Work: {work.cautions[0]}", indent="  ")))


def _power(carrying: CarryingSheet | None, machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield torque and grip by speed, where anything is known of them."""
    if carrying is not None:
        table = torque_table(carrying, machine, units).text()
        yield "\n".join(("Power", table, paragraph(grip_words(carrying), indent="  ")))


def _hanging(hanging: HangingSheet | None, machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield how the mounts draw their belts, where their weight or pull is stated."""
    if hanging is not None and any(not mount.unstated for mount in hanging.mounts):
        said = [f"{mount_words(mount, machine, units)}." for mount in hanging.mounts if not mount.unstated]
        yield "\n".join(paragraph(line, indent="  ") for line in (*said, hanging.cautions[0]))


def _stages(machine: MachineSheet, gears: tuple[GearSheet, ...], units: Units) -> Iterator[str]:
    for number, stage in enumerate(machine.stages, 1):
        centres = stage.centres
        low, high = (length(c, units) for c in (centres.belt_on_mm, centres.worn_out_mm))
        yield "\n".join(
            (
                paragraph(stage_title(number, stage, units)),
                position_table(stage, units).text(),
                paragraph(f"Diameters over the rim. Belt on at {low}, worn out at {high} {units}"),
                *(paragraph(line, indent="  ") for line in shared_words(number, stage)),
                paragraph(pitch_words(stage), indent="  "),
                *((paragraph(CROSSED_CAUTION, indent="  "),) if stage.crossed else ()),
            )
        )
    for line in setting_lines(machine, units):
        yield paragraph(f"{line}.", indent="  ")
    told = {gear.key for gear in gears}
    for switch, line in zip(machine.switches, switch_lines(machine), strict=True):
        if switch.key not in told:
            yield paragraph(line, indent="  ")
    if gears:
        said = (*(f"{gear_words(gear, units)}." for gear in gears), *gear_cautions(gears))
        yield "\n".join(("Fixed stages", *(paragraph(line, indent="  ") for line in said)))
