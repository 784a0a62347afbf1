"""The making of a cone, step by step: its blank, its turning, bore and hub; then trued again on its own shaft."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from optimizer.catalogue.grooves import flank_runout_mm, groove
from optimizer.catalogue.plywood import ply_of
from optimizer.catalogue.sections import section
from optimizer.checks.in_hand import discs_in_hand, pieces_in_hand
from optimizer.cuts.bench_words import BenchWords, listed
from optimizer.cuts.cones import CutCone, CutLayer, large_end, off_line_left_mm, turned_parts
from optimizer.cuts.truing import TRUING_SOURCE, TemporaryPair, Truing, truing
from optimizer.geometry.grooves import running_shift_mm
from optimizer.pipeline.job import Job, machine_of
from optimizer.records.mechanics import TurningSheet
from optimizer.scenario.base import Model

__all__ = [
    "JUDGEMENT",
    "PRACTICE",
    "OrderOf",
    "WorkStep",
    "again_step",
    "blank_steps",
    "bore_steps",
    "mount_steps",
    "piece_words",
    "step",
    "turning_steps",
]

PRACTICE = "common practice, no source"
JUDGEMENT = "judgement"
GEOMETRY = "geometry"
SAME_MM = 1e-6
SAWING = "Guard and riving knife on, push sticks, dust kept from the lungs; local rules for sawing come first."
TOO_WIDE_MM = 0.1
FACE_MM = 1.0
LATHE = "Guards, eyes and lungs covered, no loose sleeves, rings or hair; nobody stands in the plane of the blank."
RUNOUT = "run-out: GOST 20889-88, read"


class WorkStep(Model):
    """One thing to do, in its turn, with what is measured before the next."""

    number: int = 0
    """Counted from 1."""
    name: str
    what: str
    """What to do, in sentences."""
    check: str = ""
    """What to measure, what it must be, what is allowed; empty where nothing is measured."""
    caution: str = ""
    source: str = ""
    """Where the figures and the practice come from."""


class OrderOf(NamedTuple):
    """What an order of work is written from."""

    cone: CutCone
    job: Job
    words: BenchWords
    truing: Truing | None

    @staticmethod
    def of(cone: CutCone, job: Job) -> OrderOf:
        """Return what the order of one cone is written from."""
        return OrderOf(cone, job, BenchWords.of(job.scenario), truing(cone, job))

    @property
    def glued(self) -> bool:
        """Whether it is glued from layers of a stated thickness."""
        return bool(self.cone.layers)

    @property
    def timber(self) -> bool:
        """Whether anything is turned from timber."""
        return self.cone.material == "timber" and bool(self.cone.turned)

    @property
    def left_on_mm(self) -> float:
        """What the first turning leaves on every diameter for the second.

        Half of what truing takes, one tick of the turning where truing takes less; nothing on metal. Judgement.
        """
        making = self.job.scenario.making
        return max(making.truing_mm / 2, making.turn_to_mm) if self.timber else 0.0

    @property
    def turning(self) -> TurningSheet | None:
        """What the greatest speed of the shaft asks of the cone."""
        return next((sheet for sheet in self.job.design.shafts.cones if sheet.key == self.cone.key), None)

    def each(self, sizes: dict[int, float | None]) -> str:
        """Return sizes by step, such as `step 1 88.10 mm, step 2 148.60 mm`; those without one are left out."""
        return ", ".join(f"step {n} {self.words.size(mm)}" for n, mm in sizes.items() if mm is not None)


def step(name: str, what: str, check: str = "", caution: str = "", source: str = "") -> WorkStep:
    """Return a step that has no number yet."""
    return WorkStep(name=name, what=what, check=check, caution=caution, source=source)


def piece_words(cone: CutCone, job: Job, words: BenchWords) -> Iterator[str]:
    """Yield a sentence for every sheave in hand with several grooves: which steps it is, what of it stands idle."""
    for piece in sorted(pieces_in_hand(machine_of(job)), key=lambda piece: piece.steps):
        if piece.steps[0][0] != cone.key or len(piece.steps) + len(piece.idle_mm) == 1:
            continue
        steps = [f"{place + 1}" for _, place in piece.steps]
        grooves = len(piece.steps) + len(piece.idle_mm)
        one = f"Steps {listed(steps)} are" if len(steps) > 1 else f"Step {steps[0]} is"
        idle = ""
        if piece.idle_mm:
            sizes = listed([words.size(size) for size in piece.idle_mm])
            idle = f", {sizes} over the rim standing idle beyond the end of the cone"
        yield f"{one} {'' if len(steps) == grooves else 'part of '}one piece of {grooves} grooves{idle}."


def _disc_words(cone: CutCone, job: Job, words: BenchWords) -> str:
    """Return which steps are cut from discs in hand, with what those must be; nothing where none is."""
    found = discs_in_hand(machine_of(job))
    own = [(place + 1, found[key, place]) for key, place in sorted(found) if key == cone.key]
    if not own:
        return ""
    width = cone.width_mm / len(cone.steps)
    discs = listed([f"step {number} from one of {words.size(size)}" for number, size in own])
    return (
        f"Discs in hand: {discs}. Where they are sound and as thick as a step is wide, {words.size(width)}, nothing is "
        "sawn or glued for those steps."
    )


def blank_steps(order: OrderOf) -> Iterator[WorkStep]:
    """Yield how the blank of a timber cone is made."""
    if not order.glued:
        yield _built_up(order)
        return
    yield _measured(order)
    yield _sawn(order)
    yield _stacked(order)


def _measured(order: OrderOf) -> WorkStep:
    """Return the step that holds real plywood against the layer that was counted on."""
    words, layers = order.words, order.cone.layers
    layer, count = layers[0].thickness_mm, len(layers)
    ply = ply_of(layer)
    check = f"One layer {words.size(layer)}, the dry stack of {count} {words.size(count * layer)}."
    if ply is not None and ply.limits_mm is not None:
        low, high = ply.limits_mm
        check += (
            f" Birch plywood of nominal {ply.nominal_mm:g} mm is {words.size(ply.mean_mm)} on average and may be "
            f"{words.size(low)} to {words.size(high)}, so the stack may come to {words.size(count * low)} to "
            f"{words.size(count * high)}."
        )
    left = off_line_left_mm(order.cone)
    if left is not None:
        check += (
            f" A step may be {words.most(left)} wider or narrower than the facing cone's before an outer belt runs out "
            "of line."
        )
    return step(
        "measure the plywood",
        "Measure the sheet in five places, and a dry stack of all layers of this cone pressed together.",
        check,
        f"Take the layers of {'both' if len(order.cone.faces) == 1 else 'all three'} facing cones from the same "
        "sheets. Where the stack differs, set out the grooves by the places in this list, not by the glue lines.",
        f"{ply.source}; {GEOMETRY}" if ply is not None else GEOMETRY,
    )


def _sawn(order: OrderOf) -> WorkStep:
    """Return the step from sheet to discs."""
    words = order.words
    by_size: dict[float, list[CutLayer]] = defaultdict(list)
    for layer in order.cone.layers:
        by_size[layer.round_mm].append(layer)
    squares = "; ".join(
        f"{len(same)} of {words.size(same[0].square_mm)} (layer{'s' if len(same) > 1 else ''} "
        f"{listed([str(layer.number) for layer in same])})"
        for _, same in sorted(by_size.items(), reverse=True)
    )
    return step(
        "saw squares, then discs",
        f"Saw squares as the sawing plan shows: {squares}. Mark on each its number and the run of its face grain, find "
        f"the middle by the diagonals, saw it round. {_disc_words(order.cone, order.job, words)}".rstrip(),
        "Round, as wide as its square: " + order.each({s.position: s.blank_mm for s in order.cone.turned}) + ".",
        SAWING,
        PRACTICE,
    )


def _stacked(order: OrderOf) -> WorkStep:
    """Return the step that glues the stack, large end first."""
    layers = order.cone.layers
    numbers = [str(layer.number) for layer in layers]
    if large_end(order.cone) == "last":
        numbers.reverse()
    left = order.left_on_mm
    off = min(max(s.blank_mm - s.outside_mm - left, 0.0) / 2 for s in order.cone.turned if s.blank_mm is not None)
    way = "" if large_end(order.cone) is None else "from the large end to the small end, "
    apart = "" if len(turned_parts(order.cone)) == 1 else ", each run of turned steps a stack of its own"
    turned = "" if len(layers) == 1 else ", the face grain of each layer turned 90 degrees to the one below"
    return step(
        "glue the stack",
        f"{_planed(order)}Stack {way}layer{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}{turned}, middle on "
        f"middle over a dowel{apart}. "
        "Glue all of both faces, clamp from the middle outwards, leave it clamped as long as the glue's maker says.",
        f"No disc more than {order.words.most(off)} off the middle, or its rim does not clean up; no gap at any glue "
        "line.",
        "Never turn a stack with an open glue line or a split.",
        PRACTICE,
    )


def _planed(order: OrderOf) -> str:
    """Return what is said where whole layers make more than the width of a step."""
    first = order.cone.turned[0]
    width, made = first.to_mm - first.from_mm, (first.layers or 0) * order.cone.layers[0].thickness_mm
    if made - width < SAME_MM:
        return ""
    return (
        f"The layers of one step make {order.words.size(made)}, a step is {order.words.size(width)} wide: plane each "
        "step's layers to that first. "
    )


def _built_up(order: OrderOf) -> WorkStep:
    """Return the step of a blank of which no layer is stated."""
    words = order.words
    width = order.cone.turned[0].to_mm - order.cone.turned[0].from_mm
    blanks = order.each({s.position: s.blank_mm for s in order.cone.turned})
    return step(
        "make the blank",
        "The thickness of a layer is not stated, so no layers are listed. Glue the blank up from plywood or from "
        "segments, the grain of each layer turned to that of the next, and let it rest as the glue's maker says. "
        f"{_disc_words(order.cone, order.job, words)}".rstrip(),
        f"{words.size(width)} wide for every step, {words.size(width * len(order.cone.turned))} in all; round: "
        f"{blanks}.",
        f"A glued block of solid wood may split along its grain. {SAWING}",
        PRACTICE,
    )


def mount_steps(order: OrderOf) -> Iterator[WorkStep]:
    """Yield how the blank comes onto the lathe, or onto its own shaft, and how fast it may run there."""
    if order.truing is None:
        return
    bore = _bore_words(order)
    yield step(
        "bore a pilot",
        f"Bore a pilot hole through the middle, square to the faces, well below the finished bore, {bore}, and put "
        "the blank on a mandrel. On its own shaft it can only be turned with the bore cut first.",
        "The mandrel does not shake in it; turned by hand, the faces do not wobble.",
        "Clamp the blank to the table of the drill press, never hold it by hand.",
        PRACTICE,
    )
    yield step(
        "choose the truing speed",
        _truing_words(order, order.truing),
        f"With the rough blank of {order.words.size(order.truing.blank_mm)} at most {int(order.truing.most_rpm)} rpm, "
        "slower while it shakes.",
        f"Never start a rough blank faster. {LATHE}",
        TRUING_SOURCE,
    )


def _truing_words(order: OrderOf, found: Truing) -> str:
    """Return on what the rough blank is turned, and how it is driven slowly enough."""
    words = order.words
    if found.drive == "own shaft":
        after = f", once the cone of {_place_words(order, found.first)} is finished" if found.first else ""
        return (
            f"On a mandrel, or on its own shaft: {found.shaft} runs at {found.shaft_rpm:.0f} rpm at its slowest{after};"
            " that is slow enough, no temporary pulley is needed."
        )
    if found.pair is None:
        return (
            f"{found.shaft} runs at {found.shaft_rpm:.0f} rpm at its slowest, too fast for the rough blank, and "
            "nothing drives it more slowly: turn it on a mandrel in a lathe that runs slowly enough."
        )
    pair = found.pair
    told = (
        f"On a mandrel, or on its own shaft with a temporary pulley: {words.size(pair.driver_mm)} over the rim on "
        f"{pair.driver_shaft} ({pair.driver_words}) at {pair.driver_rpm:.0f} rpm, {words.size(pair.driven_mm)} or more "
        f"on {found.shaft}, gives {pair.rpm:.0f} rpm. {_belt_words(order, pair)}"
    )
    if pair.too_large and pair.most_mm is not None:
        told = (
            f"A temporary pulley on {found.shaft} would have to be {words.size(pair.driven_mm)} over the rim, with "
            f"{words.size(pair.driver_mm)} on {pair.driver_shaft}, and only {words.size(pair.most_mm)} can be turned: "
            "use a mandrel in another lathe that runs slowly enough, a gear or countershaft more, or turn it by hand."
        )
    return told


def turning_steps(order: OrderOf) -> Iterator[WorkStep]:
    """Yield rims, grooves, gauge, as far as the first turning takes them."""
    yield _rims(order)
    yield _seats(order)


def bore_steps(order: OrderOf) -> Iterator[WorkStep]:
    """Yield bore and hub."""
    cone, words, key = order.cone, order.words, order.cone.key_seat
    largest = max(cone.turned, key=lambda s: s.outside_mm)
    runout = flank_runout_mm(largest.outside_mm, cone.rpm)
    yield step(
        "bore last",
        f"Hold the cone by a rim that runs true, off the mandrel, and bore to size, {_bore_words(order)}.",
        f"Hub or shaft slides in without shake; step {largest.position} runs out at most {words.most(runout)}.",
        "",
        f"{RUNOUT}; {PRACTICE}",
    )
    seat = ""
    if key is not None:
        deep = "" if key.hub_depth_mm is None else f", {words.size(key.hub_depth_mm)} deep (t2),"
        seat = (
            f" Key {words.size(key.width_mm)} x {words.size(key.height_mm)}; its seat in the metal{deep} measures "
            f"{words.size(key.over_hub_mm)} from its bottom to the far side of the bore."
        )
    if cone.flat is not None:
        seat = f" {cone.flat.words(words.size)}"
    if not order.timber:
        if cone.flat is not None:
            yield step("drill and tap for the set screws", seat.strip(), "", "", cone.flat.source)
        elif key is not None:
            yield step("cut the key's seat", seat.strip(), "", "", key.source)
        return
    source = cone.flat.source if cone.flat is not None else key.source if key is not None else None
    hub = (
        f"Screw or bolt the cone to a metal hub of {words.size(cone.hub_mm)} outside"
        if cone.hub_mm is not None
        else "No hub is stated: screw or bolt a metal hub or flange to the cone"
    )
    yield step(
        "fit the hub",
        f"{hub}, as long as the cone, {words.size(cone.width_mm)}.{seat}",
        "The hub does not move in the timber by hand; on the shaft it does not rock.",
        "Never key plywood alone: a metal hub or flange carries the key.",
        JUDGEMENT if source is None else f"{source}; {JUDGEMENT}",
    )


def again_step(order: OrderOf) -> WorkStep:
    """Return the second turning, to size."""
    cone = order.cone
    pins = order.each({s.position: s.over_pins_mm for s in cone.turned})
    grooved = cone.turned[0].rim not in ("flat", "crowned")
    where = "Mount the cone on its own shaft, driven as in the truing step,"
    if order.truing is not None and order.truing.drive == "mandrel":
        where = "Mount the cone by its finished bore, on its own shaft or a mandrel of that size in a lathe,"
    speed = "" if order.truing is None else f" at {int(order.truing.most_rpm)} rpm or less"
    return step(
        "true again, to size",
        f"{where} and turn {'rims and grooves' if grooved else 'rims'} to size{speed}; seal again what the tool lays "
        "bare.",
        f"Over the rim {order.each({s.position: s.outside_mm for s in cone.turned})}."
        + (f" Over pins {pins}." if pins else ""),
        ("What sets the speed is the groove, not the rim; too deep cannot be put back. " if pins else "") + LATHE,
        PRACTICE,
    )


def _rims(order: OrderOf) -> WorkStep:
    cone, words, left = order.cone, order.words, order.left_on_mm
    turned = cone.turned
    ordered = turned[::-1] if large_end(cone) == "last" else turned
    sizes = order.each({s.position: s.outside_mm + left for s in ordered})
    way = (
        "Turn the one rim."
        if len(ordered) == 1
        else "Turn the rims from the large end to the small end: while the small end is rough the stack is at its "
        "stiffest, and the lightest steps are cut last."
    )
    kept = f" Leave {words.size(left)} on every diameter for the second turning." if left else ""
    width = turned[0].to_mm - turned[0].from_mm
    wall = min((width - s.top_width_mm) / 2 for s in (turned[0], turned[-1]))
    spare = wall - order.job.scenario.making.wall_mm
    faces = (
        f"Face both ends clean, about {words.most(min(FACE_MM, spare))} each; {words.most(spare)} at most leaves the "
        "least wall beside the outer belts."
    )
    if spare <= 0:
        faces = "Face both ends no further than clean: the walls beside the outer belts are at their least."
    return step(
        "turn the rims",
        f"{way}{kept} {faces if cone.material == 'timber' else 'Face both ends.'}",
        f"Over the rim: {sizes}. Width in all {words.size(width * len(turned))} less what facing took.",
        LATHE,
        f"{JUDGEMENT}; {GEOMETRY}" + (f"; 1 mm a face: {PRACTICE}" if order.timber else ""),
    )


def _seats(order: OrderOf) -> WorkStep:
    """Return the step that cuts what the belts lie in."""
    cone, words, left = order.cone, order.words, order.left_on_mm
    first = cone.turned[0]
    middles = _middles(order)
    if first.rim in ("flat", "crowned"):
        shape = "Rims flat" if first.rim == "flat" else "Rims crowned, highest in the middle"
        return step(
            "shape the rims",
            f"{shape}, {words.size(first.top_width_mm)} wide where the belt runs. {middles}",
            "A straightedge along the rim shows the shape; the diameters of the step before hold at the highest place.",
            "",
            PRACTICE,
        )
    if first.rim != "v":
        deep = words.size(first.groove_depth_mm)
        wide = words.size(first.top_width_mm)
        shape = (
            f"Half-round seats {wide} wide, {deep} deep" if first.rim == "round" else f"Ribs {wide} wide, {deep} deep"
        )
        return step("cut the seats", f"{shape}. {middles}", f"Hold the gauge and a piece of the belt to each: {deep}.")
    cut = [
        f"step {s.position} {s.groove_deg or 0.0:g} degrees, {words.size(s.top_width_mm)} wide at the rim, "
        f"{words.size(s.groove_depth_mm)} deep"
        for s in cone.turned
    ]
    pins = order.each({s.position: None if s.over_pins_mm is None else s.over_pins_mm + left for s in cone.turned})
    return step(
        "cut the grooves",
        f"{middles} Begin each V narrow and shallow, then take it deeper until it reads right over the pins. "
        + f"Sizes: {'; '.join(cut)}.",
        (
            f"Over two pins of {words.size(first.pin_mm or 0.0)}: {pins}. "
            if pins
            else "Hold a piece of the belt to each. "
        )
        + "The card gauge fits each flank; the angle holds to 1 degree.",
        f"A groove {words.most(TOO_WIDE_MM)} too wide lets the belt run on a diameter smaller by "
        f"{words.most(running_shift_mm(TOO_WIDE_MM, first.groove_deg or 34.0))}; what is cut too deep cannot be put "
        "back.",
        f"{groove(section(cone.section), first.datum_mm).source}; {GEOMETRY}",
    )


def _middles(order: OrderOf) -> str:
    """Return the places of the belts' middles, from a face of the piece that they are cut in."""
    told = []
    for part in turned_parts(order.cone):
        places = order.each({s.position: s.middle_mm - part[0].from_mm for s in part})
        told.append(f"Middles from the face beside step {part[0].position}, less what facing took off it: {places}.")
    return " ".join(told)


def _bore_words(order: OrderOf) -> str:
    bore = order.cone.bore_mm
    if bore is None:
        return "as hub or shaft measures (not stated)"
    return order.words.size(bore)


def _belt_words(order: OrderOf, pair: TemporaryPair) -> str:
    words = order.words
    if pair.own_centre_mm is not None:
        return f"The stage's own belt goes round them at a centre distance of {words.size(pair.own_centre_mm)}."
    low, high = (words.size(mm) for mm in pair.lengths_mm)
    named = f", such as {', '.join(pair.markings)}" if pair.markings else ""
    return f"It takes a belt {pair.section} of {low} to {high} datum length within the stage's centre distances{named}."


def _place_words(order: OrderOf, key: str) -> str:
    place, _, side = key.rpartition(".")
    number = next(n for n, sheet in enumerate(order.job.design.machine.stages, 1) if sheet.key == place)
    return f"stage {number}, {side}"
