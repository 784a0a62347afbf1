"""What belts carry and pull, what mounts, shafts, keys are held to, what is in the way."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.papers.html_table import html_table
from optimizer.papers.markup import Markup, listing, tag
from optimizer.papers.page import part
from optimizer.records.carrying import CarryingSheet
from optimizer.records.design import Design
from optimizer.records.hanging import HangingSheet
from optimizer.report.around import around_words, gap_table, reach_table
from optimizer.report.carrying import load_sources, load_table, pull_table
from optimizer.report.hanging import mount_table, mount_words
from optimizer.report.shafts import (
    balance_notes,
    balance_table,
    key_table,
    run_up_table,
    shaft_table,
    shaft_words,
    stress_table,
)
from optimizer.report.work_size import work_table

__all__ = ["loads_part"]


def loads_part(design: Design) -> Markup:
    """Return the section of power, pulls, mounts, shafts, room, as far as anything is known of them."""
    content: list[Markup] = []
    if design.carrying:
        content += _belts(design, design.carrying)
    if design.hanging:
        content += _mounts(design, design.hanging)
    content += _shafts(design)
    content += _work(design)
    content += _room(design)
    return part("loads", "Power, pulls, shafts, room", content)


def _belts(design: Design, carrying: CarryingSheet) -> Iterator[Markup]:
    units = design.scenario.units
    yield tag("h3", "Belts")
    yield _cautions(carrying.cautions)
    yield html_table(load_table(carrying, design.machine, units), "Each belt where it has least to spare")
    yield listing(f"source {number}: {source}" for number, source in enumerate(load_sources(carrying), 1))
    if any(load.pretension_n is not None for load in carrying.belts):
        yield tag(
            "p",
            "How hard belts pull, for the power they must carry, or can where that is less: each strand at rest, both "
            "strands while they carry, and on the smaller pulley's shaft.",
        )
        yield html_table(pull_table(carrying, design.machine, units), "Pulls, where each belt has least to spare")


def _mounts(design: Design, hanging: HangingSheet) -> Iterator[Markup]:
    units = design.scenario.units
    yield tag("h3", "What draws the belts taut")
    yield _cautions(hanging.cautions)
    for number, mount in enumerate(hanging.mounts, 1):
        yield tag("p", f"{mount_words(mount, design.machine, units)}.")
        yield html_table(mount_table(mount, units), f"Mount {number}, of {mount.shaft}: new and worn belt")


def _shafts(design: Design) -> Iterator[Markup]:
    shafts, units = design.shafts, design.scenario.units
    yield tag("h3", "Shafts, keys, balance")
    yield _cautions(shafts.cautions)
    yield listing(f"{line}." for line in shaft_words(shafts, design.machine, units))
    if shafts.loads:
        yield html_table(shaft_table(shafts, units), "Shafts between their bearings, each at its hardest speed")
        yield listing(dict.fromkeys(f"Stresses: {load.source}." for load in shafts.loads))
    if shafts.keys:
        yield html_table(key_table(shafts, units), "Usual keys, and what is measured over their seats")
    if shafts.cones:
        yield html_table(balance_table(shafts, design.machine, units), "Balance of cones at their greatest speed")
        yield html_table(stress_table(shafts, design.machine, units), "Stress of their largest steps by their own mass")
        yield listing(balance_notes(shafts))
    if shafts.run_ups:
        yield html_table(run_up_table(shafts, units), "Bringing the heaviest work up to speed, without cutting")


def _work(design: Design) -> Iterator[Markup]:
    if design.work_size:
        yield tag("h3", "Work size")
        yield _cautions(design.work_size.cautions)
        yield html_table(work_table(design.work_size, design.scenario.units), "Work that suits every speed")


def _room(design: Design) -> Iterator[Markup]:
    around, units = design.around, design.scenario.units
    if around is None:
        return
    yield tag("h3", "Room around")
    yield tag(
        "p",
        "Seen from the motor's pulley end, over every position, from belt-on to worn-out. Strands are taken as "
        "straight: a slack belt whips farther. A guard needs room too.",
        class_="caution",
    )
    yield tag("p", f"{around_words(around, units)}.")
    if around.shafts:
        yield html_table(reach_table(around, units), "From where to where the shafts move")
    if around.gaps:
        yield html_table(gap_table(around, units), "Gaps, nearest first")


def _cautions(lines: tuple[str, ...]) -> Markup:
    return listing(lines, class_="cautions")
