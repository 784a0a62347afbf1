"""Stages with their diameters on all lines, and where their mounts stand."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.crossed import CROSSED_CAUTION
from optimizer.papers.html_table import html_table
from optimizer.papers.markup import Markup, tag
from optimizer.papers.page import part
from optimizer.records.design import Design
from optimizer.records.sheet import StageSheet
from optimizer.records.switching import switch_lines
from optimizer.report.figures import Units, length
from optimizer.report.gears import gear_cautions, gear_table, torque_out_table
from optimizer.report.sentences import line_words
from optimizer.report.settings import setting_lines
from optimizer.report.table import Table
from optimizer.report.tables import line_table, position_table, shared_words, stage_title

__all__ = ["stages_part"]


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
