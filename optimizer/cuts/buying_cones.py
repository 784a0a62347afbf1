"""What is bought for the cones: ready sheaves, hubs, keys, gauge pins."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from optimizer.catalogue.grooves import groove, rim_width_mm
from optimizer.catalogue.sections import section
from optimizer.cuts.buying_line import BuyingLine, figures
from optimizer.cuts.cones import CutCone, CutStep
from optimizer.cuts.facing import cone_name, turned_parts
from optimizer.records.shafts import KeySheet

__all__ = ["cone_lines"]


def cone_lines(cones: Sequence[CutCone], wall_mm: float, in_hand: Mapping[str, int]) -> Iterator[BuyingLine]:
    """Yield what is bought for cones; kept ones are there already.

    Parameters
    ----------
    cones
        All cones of a machine.
    wall_mm
        Least timber between a groove and the hub [mm].
    in_hand
        How many sheaves in hand sit on every cone, by its place in the scenario.
    """
    yield from _sheaves(cones)
    yield from _hubs(cones, wall_mm)
    yield from _keys(cones, in_hand)
    yield from _pins(cones)


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
                    ("outside at most", None if cone.hub_mm is not None else _most_hub_mm(part, wall_mm)),
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


def _most_hub_mm(part: Sequence[CutStep], wall_mm: float) -> float:
    """Return the largest hub that leaves a wall below every groove, ``least root - 2·wall`` [mm]."""
    return min(step.root_mm for step in part) - 2 * wall_mm


def _shared(cone: CutCone, cones: Sequence[CutCone]) -> str:
    """Return what is said where other timber cones sit on the same shaft with the same hub."""
    same = [
        c for c in cones if c.shaft == cone.shaft and c.material == "timber" and c.turned and c.hub_mm == cone.hub_mm
    ]
    return f"; one sleeve may carry all cones of {cone.shaft}" if len(same) > 1 and cone.hub_mm is not None else ""
