"""A design, and what a known machine gives, on the terminal and as a text to keep with the machine."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.belts import CROSSED_CAUTION
from optimizer.documents.around import around_paper, around_words
from optimizer.documents.basis import changed_table, default_table
from optimizer.documents.blocks import WIDTH, Table, paragraph, plain
from optimizer.documents.carrying import carrying_paper, grip_words, pull_table, torque_table
from optimizer.documents.changes import buy_words, ratio_sentence, ratio_table, spare_table, why_none_lines
from optimizer.documents.checks import check_summary, check_table, troubles
from optimizer.documents.cut_list import cuts_csv
from optimizer.documents.data import design_json
from optimizer.documents.figures import Units, length, place_words, rpm
from optimizer.documents.gears import gear_cautions, gear_words, gears_paper
from optimizer.documents.hanging import hanging_paper, mount_words
from optimizer.documents.proof import (
    closing_words,
    evenness_words,
    extreme_amount,
    hand_belt_words,
    layout_words,
    proof_words,
    refinement_words,
    solver_words,
    tried_table,
)
from optimizer.documents.recheck_form import MEASURED_CSV, MEASURED_TOML, measured_csv, measured_toml
from optimizer.documents.shafts import shaft_words, shafts_paper
from optimizer.documents.speeds import band_table, plate_lines, speed_table
from optimizer.documents.stages import (
    line_table,
    line_words,
    pitch_words,
    position_table,
    setting_lines,
    shared_words,
    stage_title,
)
from optimizer.documents.tolerance import tolerance_paper, tolerance_words
from optimizer.documents.work_size import band_lines, work_column, work_paper
from optimizer.pipeline.job import job_of
from optimizer.quantities.written import percent
from optimizer.records.changes import Changes
from optimizer.records.design import Design, ExtremeSheet
from optimizer.records.known import KnownMachine
from optimizer.records.mechanics import CarryingSheet, GearSheet, HangingSheet, WorkSizeSheet
from optimizer.records.sheet import MachineSheet, StageSheet, other_ways, switch_lines

__all__ = ["design_files", "design_paper", "design_screen", "speeds_screen"]


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


def design_paper(design: Design) -> str:
    """Return the whole design as Markdown, in the maker's units."""
    sections = [*_head(design), *_machine(design), *_quality(design), *_basis(design)]
    return "\n\n".join(sections) + "\n"


def _head(design: Design) -> Iterator[str]:
    yield f"# {plain(design.scenario.title)}"
    if design.scenario.note:
        yield plain(design.scenario.note)
    yield f"{layout_words(design)}."
    bad = list(troubles(design.checks, design.machine, design.scenario.units))
    if bad:
        yield "\n".join(f"- **{plain(line)}**" for line in bad)
    yield "## Before you build"
    yield "\n".join(f"- {line}" for line in design.cautions)


def _machine(design: Design) -> Iterator[str]:
    units = design.scenario.units
    for number, stage in enumerate(design.machine.stages, 1):
        yield f"## {plain(stage_title(number, stage, units))}"
        if stage.crossed:
            yield f"- **{CROSSED_CAUTION}**"
        yield position_table(stage, units).markdown()
        yield from (f"{plain(line)}." for line in shared_words(number, stage))
        yield line_table(stage, units).markdown()
        yield _budget(stage, units)
        yield line_words(stage)
    if design.gears:
        yield from gears_paper(design.gears, design.machine, units)
    said = (*(f"{line}." for line in setting_lines(design.machine, units)), *switch_lines(design.machine))
    if said:
        yield "\n".join(f"- {plain(line)}" for line in said)
    yield from _speeds_paper(design)
    if design.work_size:
        yield from work_paper(design.work_size, design.machine, units)
    if design.carrying:
        yield from carrying_paper(design.carrying, design.machine, units)
    if design.hanging:
        yield from hanging_paper(design.hanging, design.machine, units)
    if design.tolerance:
        yield from tolerance_paper(design.tolerance, design.machine, units)
    yield from shafts_paper(design.shafts, design.machine, units)
    if design.around:
        yield from around_paper(design.around, units)


def _speeds_paper(design: Design) -> Iterator[str]:
    yield "## Speeds"
    yield f"{plain(design.machine.spindle)} turns {design.machine.turns}, seen from the motor's pulley end."
    yield speed_table(design.machine).markdown()
    if others := (*other_ways(design.machine), *plate_lines(design.machine)):
        yield "\n".join(f"- {plain(line)}" for line in others)
    yield band_table(design.bands).markdown()
    if lines := tuple(band_lines(design.bands, design.scenario.units)):
        yield "\n".join(f"- {plain(line)}." for line in lines)


def _budget(stage: StageSheet, units: Units) -> str:
    c = stage.centres
    low, high = c.running_mm or (None, None)
    rows = [(line.name, length(line.amount_mm, units), line.source) for line in c.budget]
    rows.append(
        ("sum", length(sum(line.amount_mm for line in c.budget), units), f"travel {length(c.travel_mm, units)} {units}")
    )
    stands = ", ".join(
        f"{name} {length(mm, units)}"
        for name, mm in (
            ("belt on", c.belt_on_mm),
            ("running from", low),
            ("to", high),
            ("worn out", c.worn_out_mm),
        )
    )
    return f"Centre distances [{units}]: {stands}.\n\n" + Table(("travel for", units, "source"), tuple(rows)).markdown()


def _quality(design: Design) -> Iterator[str]:
    yield "## How good it is"
    said = [
        evenness_words(design.series),
        *hand_belt_words(design.hand_belts),
        *proof_words(design.proof, design.series),
    ]
    said += [closing_words(design.closing), refinement_words(design.refinement), solver_words(design.refinement.solver)]
    yield "\n".join(f"- {line}." for line in said)
    if design.extremes:
        yield "Within the slack of the best J:"
        yield "\n".join(f"- {_extreme(extreme, design.scenario.units)}" for extreme in design.extremes)
    if design.other_ratios:
        yield "## Other ratios of gears"
        yield f"{plain(ratio_sentence(design.other_ratios))}. Best listed designs, not refined, all else as it is."
        yield ratio_table(design.other_ratios).markdown()
    if design.changes:
        yield "## What every limit could give up"
        yield "One at a time, before the last design of any layout is lost."
        yield spare_table(design.changes.spare, design.scenario.units).markdown()
        yield "\n".join(f"- {plain(buy_words(buy, design.scenario.units))}" for buy in design.changes.buys)
    yield "## Layouts that stood for choice"
    yield tried_table(design).markdown()
    yield "## Checks"
    yield f"{check_summary(design.checks)}. Each is recomputed from the outside diameters above, apart from the search."
    yield check_table(design.checks, design.machine, design.scenario.units).markdown()
    if design.skipped:
        yield "Not checked:"
        yield "\n".join(
            f"- {plain(place_words(item.where, design.machine))}: {item.name}: {plain(item.why)}"
            for item in design.skipped
        )


def _basis(design: Design) -> Iterator[str]:
    if design.remarks:
        yield "## Remarks"
        yield "\n".join(f"- {plain(line)}" for line in design.remarks)
    scenario = design.scenario
    if scenario.changed_limits:
        yield "## Limits that were changed"
        yield changed_table(scenario).markdown()
    if scenario.defaults:
        yield "## Defaults used"
        yield default_table(scenario).markdown()
    yield "## Made from"
    lines = [f"- scenario sha256 {scenario.sha256}", *(f"- {v.name} {v.version}" for v in design.versions)]
    yield "\n".join(lines)


def _extreme(extreme: ExtremeSheet, units: Units) -> str:
    proved = "proved" if extreme.proved else "found, not proved"
    return f"{extreme.best_at}: {extreme_amount(extreme, units)}, {proved}, J {percent(extreme.j, 3)}"


def design_files(design: Design) -> dict[str, bytes]:
    """Return the name and content of every file of the result."""
    texts = {
        "cuts.csv": cuts_csv(job_of(design)),
        "design.json": design_json(design),
        "design.md": design_paper(design),
        MEASURED_CSV: measured_csv(design),
        MEASURED_TOML: measured_toml(design),
    }
    return {name: text.encode("utf-8") for name, text in texts.items()}
