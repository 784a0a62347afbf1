"""The design sheet, a text to print or keep with the machine."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.crossed import CROSSED_CAUTION
from optimizer.records.design import Design, ExtremeSheet
from optimizer.records.sheet import StageSheet
from optimizer.records.switching import other_ways, switch_lines
from optimizer.report.around import around_paper
from optimizer.report.carrying import carrying_paper
from optimizer.report.changes import buy_words, spare_table
from optimizer.report.design_tables import changed_table, default_table, extreme_amount, tried_table
from optimizer.report.figures import Units, length, percent
from optimizer.report.gears import gears_paper
from optimizer.report.hanging import hanging_paper
from optimizer.report.other_ratios import ratio_sentence, ratio_table
from optimizer.report.sentences import (
    check_summary,
    closing_words,
    evenness_words,
    hand_belt_words,
    layout_words,
    line_words,
    proof_words,
    refinement_words,
    solver_words,
    troubles,
)
from optimizer.report.settings import setting_lines
from optimizer.report.shafts import shafts_paper
from optimizer.report.table import Table, plain
from optimizer.report.tables import (
    band_table,
    check_table,
    line_table,
    place_words,
    plate_lines,
    position_table,
    shared_words,
    speed_table,
    stage_title,
)
from optimizer.report.tolerance_tables import tolerance_paper
from optimizer.report.work_size import band_lines, work_paper

__all__ = ["design_paper"]


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
    yield from _speeds(design)
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


def _speeds(design: Design) -> Iterator[str]:
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
