"""What is bought for a design: belts, sheaves, hubs, keys, gauge pins, bearings, shafts, sheets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from math import isfinite
from typing import Literal

from optimizer.catalogue.plywood import ply_of
from optimizer.cuts.belt_window import BeltWindow, belt_window
from optimizer.cuts.bench_words import listed
from optimizer.cuts.buying_cones import cone_lines
from optimizer.cuts.buying_line import BuyingLine, Figure, figures
from optimizer.cuts.cones import CutCone, cut_cones
from optimizer.cuts.facing import doing_words
from optimizer.cuts.in_hand import count_of_pieces
from optimizer.cuts.sawing import sawn
from optimizer.pipeline.job import Job
from optimizer.records.nesting import NestedSheet, Nesting
from optimizer.scenario import BeltStage
from optimizer.scenario.base import Model
from optimizer.scenario.chain import MOTOR

__all__ = ["BuyingBelt", "BuyingList", "buying_list"]

LOADS = "greatest pull of the belts at the power asked of them, weights not counted, computed"
REMARKS = (
    "Only kept cones and what is stated to be in hand are known to be there; leave out what else there is already.",
    "Bearings, belts and hubs by their makers' tables: this list gives what they must stand, not which one to take.",
    "Glue, sealer and screws are not worked out.",
)


class BuyingBelt(Model):
    """The belt of one stage."""

    stage: int
    """The stage, counted from 1 along the chain."""
    driver_shaft: str
    driven_shaft: str
    count: int = 1
    grade: Literal["ordinary", "high"]
    """How strong a belt of its section it was reckoned as; a stronger one does too."""
    joined: bool
    """Whether it is joined to length on the spot."""
    window: BeltWindow
    """Its names, and the lengths that fit as well."""
    note: str = ""


class BuyingList(Model):
    """All that is bought for one machine."""

    belts: tuple[BuyingBelt, ...]
    lines: tuple[BuyingLine, ...]
    remarks: tuple[str, ...]


def buying_list(job: Job) -> BuyingList:
    """Return what is bought for a design; kept cones are there already."""
    cones = cut_cones(job)
    lines = (
        *cone_lines(cones, job.scenario.making.wall_mm, {cone.key: count_of_pieces(cone, job) for cone in cones}),
        *_bearings(job, cones),
        *_shafts(job),
        *_sheets(job),
    )
    return BuyingList(belts=tuple(_belts(job)), lines=lines, remarks=REMARKS)


def _belts(job: Job) -> Iterator[BuyingBelt]:
    stages = {job.scenario.place_of(s): s for s in job.scenario.chain if isinstance(s, BeltStage)}
    for number, sheet in enumerate(job.design.machine.stages):
        stage = stages[sheet.key]
        note = "in hand: nothing to buy but a spare" if sheet.belt_in_hand else ""
        if not note and stage.belt.link:
            note = "size it hand-tight, then take out one link in 24 (read)"
        elif not note and stage.belt.joined:
            note = "buy what the joint takes over the length; how much is the joint's maker's to say"
        yield BuyingBelt(
            stage=number + 1,
            driver_shaft=sheet.driver_shaft,
            driven_shaft=sheet.driven_shaft,
            grade=stage.belt.grade,
            joined=stage.belt.joined,
            window=belt_window(job, number),
            note=note,
        )


def _bearings(job: Job, cones: Sequence[CutCone]) -> Iterator[BuyingLine]:
    """Yield two bearings for every shaft but the motor's whose diameter is known."""
    loads = {load.shaft: load for load in job.design.shafts.loads}
    for name in _shaft_names(job):
        shaft = job.scenario.shaft(name)
        if shaft.diameter_mm is None:
            continue
        load = loads.get(name)
        rpm = max(s.rpm for speed in job.design.machine.speeds for s in speed.shafts if s.shaft == name)
        unknown = "what bearing it takes: ask the bearing maker"
        if load is None:
            why = next((s.why for s in job.design.skipped if s.name == "shaft strength" and s.where == name), "")
            unknown = f"the load{': ' + why if why else ''}; ask the bearing maker"
        places = shaft.bearings_mm or (None, None)
        yield BuyingLine(
            group="bearing",
            what="bearing with its housing",
            count=2,
            sizes=(
                *figures(("bore", shaft.diameter_mm), ("first place", places[0]), ("second place", places[1])),
                *((Figure(name="load", value=max(load.bearings_n), unit="N"),) if load is not None else ()),
                Figure(name="speed", value=rpm, unit="rpm"),
            ),
            why=f"{name}, which carries {_carries(cones, name)}",
            unknown=unknown,
            source=LOADS if load is not None else "",
        )


def _shafts(job: Job) -> Iterator[BuyingLine]:
    """Yield every shaft but the motor's whose diameter is known."""
    loads = {load.shaft: load for load in job.design.shafts.loads}
    for name in _shaft_names(job):
        shaft = job.scenario.shaft(name)
        if shaft.diameter_mm is None:
            continue
        room = shaft.room_mm if isfinite(shaft.room_mm) else None
        load = loads.get(name)
        yield BuyingLine(
            group="shaft",
            what=f"steel shaft{', with a keyway' if shaft.keyed else ''}",
            count=1,
            sizes=figures(
                ("diameter", shaft.diameter_mm),
                ("diameter needed", None if load is None else load.needed_mm),
                ("length at least", room),
            ),
            why=name,
            unknown="length: what bearings and ends take is not stated" if room is not None else "length",
            source="" if load is None else load.source,
        )


def _sheets(job: Job) -> Iterator[BuyingLine]:
    """Yield the sheets that the squares are sawn from; nothing where nothing is glued from layers."""
    nesting, layer = sawn(job), job.scenario.making.layer_mm
    if nesting is None or layer is None:
        return
    ply = ply_of(layer)
    same: dict[tuple[float, float, bool], list[NestedSheet]] = defaultdict(list)
    for sheet in nesting.sheets:
        same[sheet.width_mm, sheet.length_mm, sheet.counted].append(sheet)
    for (width, length, counted), sheets in same.items():
        yield BuyingLine(
            group="sheet",
            what="birch plywood" if ply is not None else "sheet as thick as a layer",
            count=len(sheets),
            sizes=figures(
                ("width", width),
                ("length", length),
                ("nominal thickness", None if ply is None else ply.nominal_mm),
                ("mean thickness", None if ply is None else ply.mean_mm),
                ("layer counted on", layer),
            ),
            why=_squares_words(sum(len(sheet.squares) for sheet in sheets))
            + ("; of those stated to be there" if counted else "; as the sawing plan has it"),
            unknown="" if ply is not None else "kind of sheet: no plywood of the table is as thick as a layer",
            source="" if ply is None else ply.source,
        )
    yield from _unplaced(nesting, layer)


def _unplaced(nesting: Nesting, layer_mm: float) -> Iterator[BuyingLine]:
    """Yield the squares that no stated sheet has room for."""
    if nesting.unplaced:
        yield BuyingLine(
            group="sheet",
            what="sheet for squares that have no place on those stated",
            count=1,
            sizes=figures(
                ("square at most", max(square.side_mm for square in nesting.unplaced)), ("layer counted on", layer_mm)
            ),
            why=listed([f"{square.name} ({square.reason})" for square in nesting.unplaced]),
            unknown="size and number of sheets",
        )


def _squares_words(count: int) -> str:
    return "1 square" if count == 1 else f"{count} squares"


def _shaft_names(job: Job) -> list[str]:
    """Return all shafts but the motor's, in the order of the chain."""
    return list(dict.fromkeys(stage.to_shaft for stage in job.scenario.chain if stage.to_shaft != MOTOR))


def _carries(cones: Sequence[CutCone], shaft: str) -> str:
    names = [f"the {doing_words(cone)}" for cone in cones if cone.shaft == shaft]
    return listed(names) if names else "no cone"
