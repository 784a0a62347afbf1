"""The order of work of a cone, from what it is made of to the line of its belts on the machine."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.catalogue.grooves import flank_runout_mm
from optimizer.checks.along import cone_span_mm, seats_of
from optimizer.checks.stated import Machine
from optimizer.cuts.bench_words import BenchWords, listed
from optimizer.cuts.cones import CutCone, ends_words, line_words
from optimizer.cuts.order_steps import (
    JUDGEMENT,
    PRACTICE,
    OrderOf,
    WorkStep,
    again_step,
    blank_steps,
    bore_steps,
    mount_steps,
    piece_words,
    step,
    turning_steps,
)
from optimizer.pipeline.job import Job, machine_of
from optimizer.scenario.chain import MOTOR

__all__ = ["WorkStep", "work_order"]

Span = tuple[float, float]
REST_DAYS = 7
ALIGNMENT = "GOST 20889-88, read: 2 mm per metre of centre distance"
RUNOUT = "GOST 20889-88, read: flanks by diameter and speed"


def _spans_on(machine: Machine, shaft: str) -> dict[str, Span | None]:
    """Return every cone on a shaft by its place in the scenario, with the span it takes along the shaft [mm]."""
    making = machine.scenario.making
    return {
        cone.key: cone_span_mm(seats_of(cone, pair, making))
        for pair in machine.pairs
        for cone in pair.cones
        if cone.shaft.name == shaft
    }


def _first_on_words(cone: CutCone, job: Job) -> tuple[str, ...]:
    """Return, in a sentence each, what goes on the shaft before the cone does, and what cannot be put on later."""
    machine = machine_of(job)
    words = BenchWords.of(job.scenario)
    spans = _spans_on(machine, cone.shaft)
    return (*_neighbours(cone, words, spans), *_belts_first(cone, machine, spans), *_others_first(cone, job))


def _neighbours(cone: CutCone, words: BenchWords, spans: dict[str, Span | None]) -> Iterator[str]:
    """Yield which of the cones of a shaft goes on first."""
    own = spans[cone.key]
    for key, span in spans.items():
        if key == cone.key:
            continue
        other = f"the {key.rpartition('.')[2]} cone of the other stage"
        if own is None or span is None:
            yield (
                f"Also on {cone.shaft} sits {other}, and the places of both along it are not stated: settle which sits "
                "further from the end that the shaft is loaded from; that one goes on first."
            )
            continue
        inner, outer = (other, "this cone") if span[0] < own[0] else ("this cone", other)
        places = [f"{words.size(low)} to {words.size(high)}" for low, high in (own, span)]
        yield (
            f"Also on {cone.shaft} sits {other}, along it from {places[1]}, this one from {places[0]}: loaded from the "
            f"end away from the motor's body, {inner} goes on first, then {outer}."
        )


def _belts_first(cone: CutCone, machine: Machine, spans: dict[str, Span | None]) -> Iterator[str]:
    """Yield what the belts on the shaft ask for; a belt that is joined on the spot asks for nothing."""
    on_shaft = [p for p in machine.pairs if cone.shaft in (p.stage.from_shaft, p.stage.to_shaft)]
    endless = [p for p in on_shaft if not p.stage.belt.link and p.section.kind not in ("flat", "round")]
    if not endless:
        yield "The belt is joined on the spot, so it need not be on the shaft first."
        return
    belts = f"endless belt {endless[0].built.marking}"
    if len(endless) > 1:
        belts = f"endless belts {listed([pair.built.marking for pair in endless])}"
    bearings, span = machine.scenario.shaft(cone.shaft).bearings_mm, spans[cone.key]
    thread = (
        f"thread the {belts} over the shaft before it goes into its bearings; later a bearing would have to come off"
    )
    if cone.shaft == MOTOR:
        yield f"The free end of the motor's shaft lets the {belts} on at any time."
    elif bearings is None or span is None:
        yield f"If a bearing stands on either side of the cone, {thread}."
    elif min(bearings) < (span[0] + span[1]) / 2 < max(bearings):
        yield f"The cone sits between the bearings: {thread}."
    else:
        yield f"The cone sits outside the bearings: the free end lets the {belts} on at any time."


def _others_first(cone: CutCone, job: Job) -> Iterator[str]:
    """Yield what else goes on before."""
    words, shaft = BenchWords.of(job.scenario), job.scenario.shaft(cone.shaft)
    if cone.hub_mm is not None and cone.turned:
        yield f"The hub of {words.size(cone.hub_mm)} goes on with the cone: fasten the two to each other first."
    if shaft.beside_mm:
        yield f"Other things take {words.size(shaft.beside_mm)} of the shaft: those further in go on first."
    yield "Collars and bearings further in than the cone cannot pass it: put them on first."


def work_order(cone: CutCone, job: Job) -> tuple[WorkStep, ...]:
    """Return the order of work of one cone, numbered from 1.

    A cone that is glued from layers has the longest, a metal one is turned and bored, a kept one only measured, a
    bought one bored and keyed. A cone that mixes turned with ready steps has both.
    """
    order = OrderOf.of(cone, job)
    found = [*_made(order), *_fetched(order), *_mounted(order)]
    return tuple(each.model_copy(update={"number": n}) for n, each in enumerate(found, 1))


def _made(order: OrderOf) -> Iterator[WorkStep]:
    """Yield what is cut."""
    if not order.cone.turned:
        return
    if order.timber:
        yield from blank_steps(order)
    else:
        yield _metal_blank(order)
    yield from mount_steps(order)
    yield from turning_steps(order)
    yield from bore_steps(order)
    if order.timber:
        yield step(
            "seal and rest",
            f"Seal the cone all over against damp, then leave the cone {REST_DAYS} days in the room where it will run.",
            "",
            "",
            PRACTICE,
        )


def _metal_blank(order: OrderOf) -> WorkStep:
    turned = order.cone.turned
    blanks = order.each({s.position: s.blank_mm for s in turned})
    width = len(turned) * (turned[0].to_mm - turned[0].from_mm)
    return step(
        "get the blank",
        "Get round stock for the turned steps; cutting speeds by the maker of stock and tool.",
        f"Round: {blanks}; {order.words.size(width)} wide in all.",
        "Guards, eyes covered, no loose sleeves, rings or hair.",
        PRACTICE,
    )


def _fetched(order: OrderOf) -> Iterator[WorkStep]:
    """Yield what is measured of steps that exist already."""
    cone = order.cone
    fetched = (
        ("kept", "measure the kept cone"),
        ("ready", "measure the ready sheaves"),
        ("in hand", "measure the sheaves in hand"),
    )
    for source, name in fetched:
        steps = [s for s in cone.steps if s.source == source]
        if not steps:
            continue
        pins = order.each({s.position: s.over_pins_mm for s in steps})
        what = "No groove is cut. Clean the grooves and look at every step for cracks, worn flanks, a bent rim."
        if source == "kept" and len(cone.steps) > 1:
            what += f" Measure the distance of neighbouring steps: {order.words.size(cone.width_mm / len(cone.steps))}."
        elif source == "in hand":
            what = " ".join([*piece_words(cone, order.job, order.words), what])
        yield step(
            name,
            what,
            f"Over the rim {order.each({s.position: s.outside_mm for s in steps})}."
            + (f" Over pins of {order.words.size(steps[0].pin_mm or 0.0)}: {pins}." if pins else ""),
            "Where a size differs, give the measured one and design anew: the facing steps depend on it. Never run a "
            "cracked pulley.",
            JUDGEMENT,
        )
    if any(s.source in ("ready", "in hand") for s in cone.steps):
        yield _ready_bore(order)


def _ready_bore(order: OrderOf) -> WorkStep:
    cone, words, key = order.cone, order.words, order.cone.key_seat
    size = "the shaft's diameter is not stated: measure it" if cone.shaft_mm is None else words.size(cone.shaft_mm)
    seat = "" if key is None else f" Key {words.size(key.width_mm)} x {words.size(key.height_mm)}."
    seat = seat if cone.flat is None else f" {cone.flat.words(words.size)}"
    over = "" if key is None else f" Over the seat {words.size(key.over_hub_mm)}."
    return step(
        "bore and key the sheaves" if cone.flat is None else "bore the sheaves",
        f"Buy those that are bought with the bore; bore the others to fit {cone.shaft} ({size}).{seat}",
        f"They slide on without shake.{over}",
        "",
        key.source if key is not None else cone.flat.source if cone.flat is not None else JUDGEMENT,
    )


def _mounted(order: OrderOf) -> Iterator[WorkStep]:
    """Yield what goes on first, the second turning, balance, the last measuring, the line of the belts."""
    cone = order.cone
    yield step("put on first what cannot pass", " ".join(_first_on_words(cone, order.job)), source=JUDGEMENT)
    if order.timber:
        yield again_step(order)
    yield from _balanced(order)
    yield _run_out(order)
    yield _lined_up(order)


def _balanced(order: OrderOf) -> Iterator[WorkStep]:
    turning = order.turning
    if turning is None or not (order.cone.turned or any(s.source == "kept" for s in order.cone.steps)):
        return
    left = turning.left_words(order.words.size)
    if not left:
        yield step(
            "balance",
            f"The largest rim runs at {turning.rim_m_s:.1f} m/s: {turning.balance}.",
            source=turning.source,
        )
        return
    yield step(
        "balance",
        f"The largest rim runs at {turning.rim_m_s:.1f} m/s: {turning.balance}. Lay it on a straight "
        "hardened arbor over two level hardened edges and take from the heavy side, never from walls or grooves, "
        "until it lies still anywhere.",
        f"At most {left}.",
        "Never run an unbalanced pulley.",
        turning.source,
    )


def _run_out(order: OrderOf) -> WorkStep:
    cone = order.cone
    limits = ", ".join(
        f"step {s.position} {order.words.most(flank_runout_mm(s.outside_mm, cone.rpm))}" for s in cone.steps
    )
    timber = order.cone.material != "metal"
    return step(
        "measure again",
        "On its own shaft, turned by hand, measure run-out at the flanks or the rim of every step"
        + (", and all sizes once more." if cone.turned else "."),
        f"Run-out at {cone.rpm:.0f} rpm at most {limits}.",
        f"All of this is reckoned for at most {cone.rpm:.0f} rpm."
        + (" Tap and look for cracks and open glue lines before each use; take a cracked one off." if timber else ""),
        RUNOUT,
    )


def _lined_up(order: OrderOf) -> WorkStep:
    cone, words = order.cone, order.words
    most = min(s.off_line_most_mm for s in cone.steps)
    cones = "both cones" if len(cone.faces) == 1 else "all three cones"
    return step(
        "line it up",
        f"{ends_words(cone)} Set the middles of {cones} in line, a straightedge or thread across the "
        "faces, then fasten.",
        f"No belt more than {words.most(most)} to the side of its facing groove. {line_words(cone, order.job)}",
        "Plug out while hands are near belts; guard belts, pulleys and shaft ends; a competent person wires the motor "
        "by the local code.",
        ALIGNMENT,
    )
