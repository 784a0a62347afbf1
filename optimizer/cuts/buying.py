"""What is bought for a design: belts, sheaves, hubs, keys, gauge pins, bearings, shafts, sheets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from math import isfinite
from typing import Literal

from optimizer.catalogue.grooves import groove, rim_width_mm
from optimizer.catalogue.plywood import ply_of
from optimizer.catalogue.sections import section
from optimizer.checks.in_hand import pieces_in_hand
from optimizer.cuts.belt_window import BeltWindow, belt_window
from optimizer.cuts.bench_words import listed
from optimizer.cuts.cones import CutCone, CutStep, cone_name, cut_cones, doing_words, turned_parts
from optimizer.cuts.nesting import sawn, squares_words
from optimizer.pipeline.job import Job, machine_of
from optimizer.records.mechanics import KeySheet
from optimizer.records.nesting import NestedSheet, Nesting
from optimizer.scenario import BeltStage
from optimizer.scenario.base import Model
from optimizer.scenario.chain import MOTOR

__all__ = ["BuyingBelt", "BuyingLine", "BuyingList", "Figure", "Group", "buying_list"]

Group = Literal["sheave", "hub", "key", "gauge pins", "bearing", "shaft", "sheet"]
LOADS = "greatest pull of the belts at the power asked of them, weights not counted, computed"
REMARKS = (
    "Only kept cones and what is stated to be in hand are known to be there; leave out what else there is already.",
    "Bearings, belts and hubs by their makers' tables: this list gives what they must stand, not which one to take.",
    "Glue, sealer and screws are not worked out.",
)


class Figure(Model):
    """One size, load or speed of a thing."""

    name: str
    value: float
    unit: Literal["mm", "N", "rpm"] = "mm"


class BuyingLine(Model):
    """One kind of thing, with how many of it."""

    group: Group
    what: str
    count: int
    sizes: tuple[Figure, ...] = ()
    why: str
    """Where it is used."""
    unknown: str = ""
    """What the shop will ask and nobody has stated."""
    source: str = ""


def figures(*sizes: tuple[str, float | None]) -> tuple[Figure, ...]:
    """Return the lengths that are known [mm], each with its name.

    Examples
    --------
    >>> [figure.name for figure in figures(("bore", 20.0), ("length", None))]
    ['bore']
    """
    return tuple(Figure(name=name, value=mm) for name, mm in sizes if mm is not None)


def _sheaves(cones: Sequence[CutCone]) -> Iterator[BuyingLine]:
    """Yield the ready sheaves, equal ones together."""
    same: dict[tuple[str, str, float, float | None], list[tuple[CutCone, CutStep]]] = defaultdict(list)
    for cone in cones:
        for step in cone.steps:
            if step.source == "ready":
                same[cone.section, step.rim, round(step.outside_mm, 6), cone.shaft_mm].append((cone, step))
    for group in same.values():
        cone, step = group[0]
        belt = section(cone.section)
        yield BuyingLine(
            group="sheave",
            what=f"sheave for one belt {cone.section}, {_rim_words(step)}",
            count=len(group),
            sizes=figures(
                ("outside", step.outside_mm),
                ("datum", step.datum_mm),
                ("over pins", step.over_pins_mm),
                ("rim width", rim_width_mm(belt)),
                ("bore", cone.shaft_mm),
                *_seat_sizes(cone),
            ),
            why="; ".join(f"{cone_name(c)}, step {s.position}" for c, s in group),
            unknown=_bore_unknown(cone),
            source=groove(belt, step.datum_mm, "v" if step.rim not in ("flat", "crowned") else step.rim).source,
        )


def _hubs(cones: Sequence[CutCone], wall_mm: float) -> Iterator[BuyingLine]:
    """Yield a hub or flange for every part of a cone that is turned from timber."""
    for cone in cones:
        if cone.material != "timber":
            continue
        for part in turned_parts(cone):
            most_mm = min(step.root_mm for step in part) - 2 * wall_mm
            asked = [_bore_unknown(cone)] if cone.shaft_mm is None else []
            if cone.hub_mm is None:
                asked.append("outside diameter: not stated; at most, a wall is left over it at the smallest step")
            yield BuyingLine(
                group="hub",
                what="metal hub or flange with screw holes, to carry a timber cone and its "
                + ("key" if cone.flat is None else "two set screws"),
                count=1,
                sizes=figures(
                    ("outside", cone.hub_mm),
                    ("outside at most", None if cone.hub_mm is not None else most_mm),
                    ("bore", cone.shaft_mm),
                    ("length at least", part[-1].to_mm - part[0].from_mm),
                    *_seat_sizes(cone),
                ),
                why=cone_name(cone) + _shared(cone, cones),
                unknown="; ".join(asked),
                source="judgement: never key plywood alone",
            )


def _keys(cones: Sequence[CutCone], in_hand: Mapping[str, int]) -> Iterator[BuyingLine]:
    """Yield the keys by shaft: one for each sheave, hub or metal part that is new on it."""
    needed: dict[str, int] = defaultdict(int)
    seats: dict[str, KeySheet] = {}
    for cone in cones:
        parts = len(turned_parts(cone)) + sum(step.source == "ready" for step in cone.steps) + in_hand[cone.key]
        if cone.key_seat is not None and parts:
            needed[cone.shaft] += parts
            seats[cone.shaft] = cone.key_seat
    for shaft, count in needed.items():
        seat = seats[shaft]
        yield BuyingLine(
            group="key",
            what="key of mild steel",
            count=count,
            sizes=figures(
                ("width", seat.width_mm),
                ("height", seat.height_mm),
                ("length at least", seat.length_mm),
                ("seat in the shaft", seat.shaft_depth_mm),
                ("seat in the hub", seat.hub_depth_mm),
                ("over the shaft's seat", seat.over_shaft_mm),
                ("over the hub's seat", seat.over_hub_mm),
            ),
            why=f"{shaft}, one for each sheave or hub; as long as its bore, the least length is for the torque alone",
            unknown="" if seat.length_mm is not None else "least length: the torque is not known",
            source=seat.source,
        )


def _pins(cones: Sequence[CutCone]) -> Iterator[BuyingLine]:
    """Yield two gauge pins of every diameter."""
    used: dict[tuple[float, str], list[str]] = defaultdict(list)
    for cone in cones:
        for pin in dict.fromkeys(step.pin_mm for step in cone.steps if step.pin_mm is not None):
            used[pin, cone.section].append(cone_name(cone))
    by_size: dict[float, list[tuple[str, list[str]]]] = defaultdict(list)
    for (pin, name), where in used.items():
        by_size[pin].append((name, where))
    for pin, each in sorted(by_size.items()):
        yield BuyingLine(
            group="gauge pins",
            what="gauge pin or drill shank, straight and round",
            count=2,
            sizes=figures(("diameter", pin), ("length about", 3 * pin)),
            why="to measure over the grooves of " + "; ".join(name for _, where in each for name in where),
            source="; ".join(dict.fromkeys(section(name).sources.get("pins", "") for name, _ in each)),
        )


def _rim_words(step: CutStep) -> str:
    if step.rim == "v":
        return f"groove of {step.groove_deg or 0.0:g} degrees"
    return {"ribbed": "ribbed", "round": "half-round seat", "flat": "flat rim", "crowned": "crowned rim"}[step.rim]


def _seat_sizes(cone: CutCone) -> tuple[tuple[str, float | None], ...]:
    """Return the key that the bore takes, or the flat of the shaft in it."""
    seat = cone.key_seat
    if cone.flat is not None:
        return (("over the shaft's flat", cone.flat.over_flat_mm),)
    return () if seat is None else (("key width", seat.width_mm), ("over the key's seat", seat.over_hub_mm))


def _bore_unknown(cone: CutCone) -> str:
    return f"bore: the diameter of {cone.shaft} is not stated, measure it" if cone.shaft_mm is None else ""


def _shared(cone: CutCone, cones: Sequence[CutCone]) -> str:
    """Return what is said where other timber cones sit on the same shaft with the same hub."""
    same = [
        c for c in cones if c.shaft == cone.shaft and c.material == "timber" and c.turned and c.hub_mm == cone.hub_mm
    ]
    return f"; one sleeve may carry all cones of {cone.shaft}" if len(same) > 1 and cone.hub_mm is not None else ""


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
    pieces = pieces_in_hand(machine_of(job))
    lines = (
        *_sheaves(cones),
        *_hubs(cones, job.scenario.making.wall_mm),
        *_keys(cones, {cone.key: sum(piece.steps[0][0] == cone.key for piece in pieces) for cone in cones}),
        *_pins(cones),
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
        carried = [f"the {doing_words(cone)}" for cone in cones if cone.shaft == name]
        yield BuyingLine(
            group="bearing",
            what="bearing with its housing",
            count=2,
            sizes=(
                *figures(("bore", shaft.diameter_mm), ("first place", places[0]), ("second place", places[1])),
                *((Figure(name="load", value=max(load.bearings_n), unit="N"),) if load is not None else ()),
                Figure(name="speed", value=rpm, unit="rpm"),
            ),
            why=f"{name}, which carries {listed(carried) if carried else 'no cone'}",
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
            why=squares_words(sum(len(sheet.squares) for sheet in sheets))
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


def _shaft_names(job: Job) -> list[str]:
    """Return all shafts but the motor's, in the order of the chain."""
    return list(dict.fromkeys(stage.to_shaft for stage in job.scenario.chain if stage.to_shaft != MOTOR))
