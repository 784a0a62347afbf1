"""The turning of a cone, step by step: mounted, rims, grooves, bore, hub; then trued again on its own shaft."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.catalogue.grooves import flank_runout_mm, groove
from optimizer.catalogue.sections import section
from optimizer.cuts.cones import CutStep
from optimizer.cuts.facing import large_end, turned_parts
from optimizer.cuts.truing import TRUING_SOURCE, TemporaryPair, Truing
from optimizer.cuts.work_step import GEOMETRY, JUDGEMENT, PRACTICE, OrderOf, WorkStep, step
from optimizer.geometry.grooves import running_shift_mm

__all__ = ["again_step", "bore_steps", "mount_steps", "turning_steps"]

TOO_WIDE_MM = 0.1
FACE_MM = 1.0
LATHE = "Guards, eyes and lungs covered, no loose sleeves, rings or hair; nobody stands in the plane of the blank."
RUNOUT = "run-out: GOST 20889-88, read"


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
        truing_words(order, order.truing),
        f"With the rough blank of {order.words.size(order.truing.blank_mm)} at most {int(order.truing.most_rpm)} rpm, "
        "slower while it shakes.",
        f"Never start a rough blank faster. {LATHE}",
        TRUING_SOURCE,
    )


def truing_words(order: OrderOf, found: Truing) -> str:
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
    pins = order.each({s.position: None if s.over_pins_mm is None else s.over_pins_mm + left for s in cone.turned})
    return step(
        "cut the grooves",
        f"{middles} Begin each V narrow and shallow, then take it deeper until it reads right over the pins. "
        + f"Sizes: {'; '.join(_groove_words(order, s) for s in cone.turned)}.",
        (
            f"Over two pins of {words.size(first.pin_mm or 0.0)}: {pins}. "
            if pins
            else "Hold a piece of the belt to each. "
        )
        + "The card gauge fits each flank; the angle holds to 1 degree.",
        f"A groove {words.most(TOO_WIDE_MM)} too wide lets the belt run on a diameter smaller by "
        f"{words.most(running_shift_mm(TOO_WIDE_MM, first.groove_deg or 34.0))}; what is cut too deep cannot be put "
        "back.",
        f"{_groove_source(order)}; {GEOMETRY}",
    )


def _middles(order: OrderOf) -> str:
    """Return the places of the belts' middles, from a face of the piece that they are cut in."""
    told = []
    for part in turned_parts(order.cone):
        places = order.each({s.position: s.middle_mm - part[0].from_mm for s in part})
        told.append(f"Middles from the face beside step {part[0].position}, less what facing took off it: {places}.")
    return " ".join(told)


def _groove_source(order: OrderOf) -> str:
    """Return where angle and width of the grooves come from."""
    first = order.cone.turned[0]
    return groove(section(order.cone.section), first.datum_mm).source


def _groove_words(order: OrderOf, s: CutStep) -> str:
    words = order.words
    return (
        f"step {s.position} {s.groove_deg or 0.0:g} degrees, {words.size(s.top_width_mm)} wide at the rim, "
        f"{words.size(s.groove_depth_mm)} deep"
    )


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
