"""Questions about speeds and shafts."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from optimizer.asking.answer import NONE, Amount, Answers, Count, OrNone, Span, Suggestion, Word, YesNo
from optimizer.asking.machine import (
    BOTH,
    COUNTERSHAFT,
    FEW,
    ONE,
    Bands,
    Sizes,
    Speeds,
    fits_one_stage,
    has_countershaft,
    highest_rpm,
    lowest_rpm,
    outermost,
    rounded_rpm,
    span_rpm,
    spans_of,
    speeds_suggested,
    variants,
    wants_of,
)
from optimizer.asking.purposes import Purpose, UsualWork, purpose_named
from optimizer.asking.question import Question, surface_text
from optimizer.catalogue.parts import Frame, frame, frame_of_shaft
from optimizer.quantities import LENGTH, RIM_SPEED, SPEED
from optimizer.quantities.shop import inch_fraction
from optimizer.scenario.band import MOST_SPEEDS

__all__ = ["SHAFTS", "SPEEDS"]

PART = "The speeds"
EIGHTH_MM = 25.4 / 8
WORTH = 1.15
"""A band that is left narrower than this is not suggested."""
NARROW = 1.6
"""Fastest over slowest of a band that is suggested where no usual one can be reached."""


def _usual_rpm(work: UsualWork, purpose: Purpose) -> Speeds:
    if work.speeds_rpm is not None:
        return Speeds(*work.speeds_rpm)
    assert work.sizes_mm is not None
    surface = work.surface_m_s or purpose.surface_m_s
    assert surface is not None
    return Speeds(*span_rpm(work.sizes_mm, surface))


def _usual_bands(answers: Answers) -> tuple[tuple[str, Speeds], ...]:
    """Return the usual bands of the machine, by name."""
    purpose = purpose_named(answers.word("purpose"))
    if purpose.work:
        return tuple((work.name, _usual_rpm(work, purpose)) for work in purpose.work)
    motor = answers.real("motor_speed") or 1420.0
    return (("slow", Speeds(motor / 2.5, motor / 1.25)), ("fast", Speeds(motor / 1.25, motor * 1.4)))


def _clipped(answers: Answers) -> tuple[tuple[str, Speeds], ...]:
    """Return the usual bands as far as a countershaft reaches; a band at the end of its reach where none of them is."""
    usual = _usual_bands(answers)
    top = min(max(span.fastest_rpm for _, span in usual), highest_rpm(answers, 2))
    bottom = lowest_rpm(answers, 2, top)
    found = []
    for name, span in usual:
        low, high = max(span.slowest_rpm, bottom), min(span.fastest_rpm, top)
        if high > WORTH * low:
            found.append((name, Speeds(rounded_rpm(low, 2), rounded_rpm(high, 2))))
    if found:
        return tuple(found)
    near = bottom if usual[0][1].fastest_rpm < WORTH * bottom else top / NARROW
    return ((usual[0][0], Speeds(rounded_rpm(near, 2), rounded_rpm(near * NARROW, 2))),)


def _all_within_reach(answers: Answers) -> bool:
    usual = [span for _, span in _usual_bands(answers)]
    top = max(span.fastest_rpm for span in usual)
    low = min(span.slowest_rpm for span in usual)
    return top <= highest_rpm(answers, 2) and low >= lowest_rpm(answers, 2, top)


def _speeds_by(answers: Answers) -> Suggestion:
    purpose = purpose_named(answers.word("purpose"))
    if not purpose.work or purpose.surface_m_s is None:
        return Suggestion("bands", "nothing usual is known of the sizes of its work")
    if not _all_within_reach(answers):
        return Suggestion("bands", "not all usual sizes can be reached with this motor and these discs")
    return Suggestion("sizes", "the papers then tell which size suits every speed")


def _bands(answers: Answers) -> Suggestion:
    purpose = purpose_named(answers.word("purpose"))
    bands = _clipped(answers)
    lines = tuple(f"{name}: {span.slowest_rpm:g} to {span.fastest_rpm:g} rpm" for name, span in bands)
    reason = purpose.because or "around the motor's own speed, where belts need the least of discs"
    if not _all_within_reach(answers):
        reason += "; cut to what a countershaft brings within reach with this motor and these discs"
    return Suggestion(lines, reason)


def _surface_speed(answers: Answers) -> Suggestion | None:
    purpose = purpose_named(answers.word("purpose"))
    if purpose.surface_m_s is None:
        return None
    unit = "ft/min" if answers.units == "in" else purpose.surface_unit
    return Suggestion(surface_text(purpose.surface_m_s, unit), purpose.because)


def _size_text(size_mm: float, units: str) -> str:
    if units == "in":
        return inch_fraction(size_mm, EIGHTH_MM)
    return f"{size_mm if units == 'mm' else size_mm / 10:g}"


def _sizes(answers: Answers) -> Suggestion | None:
    purpose = purpose_named(answers.word("purpose"))
    units, lines = answers.units, []
    for work in purpose.work:
        if work.sizes_mm is None:
            return None
        texts = dict.fromkeys(_size_text(size, units) for size in work.sizes_mm)
        line = f"{work.name}: {' to '.join(texts)} {units}"
        if work.surface_m_s is not None:
            line += f" at {surface_text(work.surface_m_s, 'ft/min' if units == 'in' else purpose.surface_unit)}"
        lines.append(line)
    return Suggestion(tuple(lines), "usual on such a machine; judgement") if lines else None


def _on_spans(answers: Answers) -> Iterator[str]:
    by_sizes = answers.word("speeds_by") == "sizes"
    spans = spans_of(answers)
    for work, span in spans if by_sizes else ():
        yield f"{work.name}: {rounded_rpm(span.slowest_rpm)} to {rounded_rpm(span.fastest_rpm)} rpm."
    top = highest_rpm(answers, 2)
    bottom = lowest_rpm(answers, 2, min(top, outermost(answers).fastest_rpm))
    for work, span in spans:
        if span.slowest_rpm < bottom * 0.97:
            yield (
                f"{work.name}: beside the fastest speed, this motor, these discs and one countershaft come down to "
                f"about {rounded_rpm(bottom, 2)} rpm. Slower speeds need larger discs, a smaller belt section, "
                "metal steps, or a slower motor."
            )
        if span.fastest_rpm > top * 1.03:
            yield (
                f"{work.name}: with these discs, and timber rims kept below 20 m/s, about "
                f"{rounded_rpm(top, 2)} rpm is the most."
            )
    ordered = sorted((span for _, span in spans), key=lambda span: span.slowest_rpm)
    if any(upper.slowest_rpm > lower.fastest_rpm * 2.2 for lower, upper in pairwise(ordered)):
        yield "There is a wide gap between two of these; speeds that fall into it serve neither."


def _speeds(answers: Answers) -> Suggestion:
    spans = spans_of(answers)
    count = speeds_suggested(answers)
    low = min((span.slowest_rpm for _, span in spans), default=1.0)
    high = max((span.fastest_rpm for _, span in spans), default=1.0)
    step = (high / low) ** (1 / (count - 1))
    return Suggestion(count, f"from {rounded_rpm(low)} to {rounded_rpm(high)} rpm each is {step:.2f} times the last")


def _on_count(answers: Answers) -> Iterator[str]:
    spans = spans_of(answers)
    said = ", ".join(f"{want} for {work.name}" for want, (work, _) in zip(wants_of(answers), spans, strict=True))
    if said:
        yield f"At least {said}."


SPEEDS = (
    Question(
        "speeds_by",
        PART,
        "State the speeds as bands in rpm, or by sizes of work: bands, sizes",
        "Bands are spans of spindle speeds with a name, such as 200 to 450 rpm for iron. By sizes, the diameters of "
        "work, tool or wheel are stated with the speed wanted along their surface, and the spindle speeds follow.",
        Word(("bands", "sizes")),
        "bands",
        suggests=_speeds_by,
    ),
    Question(
        "bands",
        PART,
        "Bands of spindle speeds, one a line: name: from to to rpm, n speeds",
        "For example: iron: 200 to 450 rpm, 2 speeds. The number of speeds may be left out; then it follows from "
        "how many there are in all. Bands that meet at a speed share none; a wide gap between two costs evenness.",
        Bands(),
        ("iron: 200 to 450 rpm, 2 speeds", "wood: 450 to 1600 rpm"),
        suggests=_bands,
        asked=lambda answers: answers.word("speeds_by") == "bands",
        remarks=lambda answers: tuple(_on_spans(answers)),
    ),
    Question(
        "surface_speed",
        PART,
        "Speed wanted along the surface of the work, with its unit: m/s, m/min, ft/min",
        "The speed at which the cutting edge, the work's rim or the wheel's rim travels; it is what materials and "
        "tools ask for. Single kinds of work may have another one in the next question.",
        Span(RIM_SPEED),
        "8 to 12 m/s",
        suggests=_surface_speed,
        asked=lambda answers: answers.word("speeds_by") == "sizes",
    ),
    Question(
        "sizes",
        PART,
        "Sizes of work, one a line: name: size to size, n speeds",
        "The diameter that turns: of the work on a lathe, of the drill or cutter, of the wheel. For example: bowls: "
        "80 to 200 mm, 3 speeds; or with a surface speed of its own: mops: 200 mm at 14 to 22 m/s. The largest size "
        "at the middle of the surface speeds gives the slowest speed, the smallest the fastest.",
        Sizes(),
        ("bowls: 80 to 200 mm at 8 to 12 m/s, 3 speeds",),
        suggests=_sizes,
        asked=lambda answers: answers.word("speeds_by") == "sizes",
        remarks=lambda answers: tuple(_on_spans(answers)),
    ),
    Question(
        "speeds",
        PART,
        "How many speeds in all",
        "More speeds lie closer together and cost more steps to turn. One belt on one pair of cones gives at most "
        "6; with a countershaft they multiply. Steps of about 1.4 to 1.6 times are usual.",
        Count(1, MOST_SPEEDS),
        6,
        suggests=_speeds,
        remarks=lambda answers: tuple(_on_count(answers)),
    ),
    Question(
        "never_above",
        PART,
        "A speed that the spindle must never pass, or none",
        "A hard limit for all speeds: the speed marked on a grinding wheel, a saw band's or a chuck's greatest "
        "speed. No design is accepted that passes it, without load either, when the motor runs some per cent faster "
        "than its plate says.",
        OrNone(Amount(SPEED)),
        "3000 rpm",
        suggests=lambda _: Suggestion(NONE, "nothing is known that limits it; look at the tools that will be used"),
    ),
)
"""Questions about the speeds, in their order."""


SHAFTS_PART = "The shafts"
MOUNT = "slide, hinge, fixed"
MOUNTS = Word(("slide", "hinge", "fixed"))
ROOM_WHY = (
    "The length of shaft that is free for pulleys. A step of a V-belt cone takes 20 to 40 mm of it. Answer none "
    "where there is room enough."
)


def _frame_of(answers: Answers) -> Frame | None:
    """Return the motor's frame, as it is stated or as its shaft and power tell it; nothing where they do not."""
    name, shaft_mm = answers.word("motor_frame"), answers.real("motor_shaft")
    if name:
        return frame(name)
    return None if shaft_mm is None else frame_of_shaft(shaft_mm, answers.real("motor_power"))


def _shafts(answers: Answers) -> Suggestion:
    if fits_one_stage(answers):
        return Suggestion(ONE, "one pair of cones gives these speeds with the discs that can be turned")
    if (answers.count("speeds") or 0) > FEW:
        return Suggestion(COUNTERSHAFT, f"one pair of cones has at most {FEW} steps")
    return Suggestion(COUNTERSHAFT, "one pair of cones does not come so far from the motor's speed with these discs")


def _on_shafts(answers: Answers) -> Iterator[str]:
    if False in variants(answers) and not fits_one_stage(answers):
        wanted = outermost(answers)
        low, high = lowest_rpm(answers, 1, wanted.fastest_rpm), highest_rpm(answers, 1)
        yield (
            f"With these discs one stage gives about {rounded_rpm(low, 2)} to {rounded_rpm(high, 2)} rpm and at "
            f"most {FEW} speeds; {answers.count('speeds')} from {rounded_rpm(wanted.slowest_rpm)} to "
            f"{rounded_rpm(wanted.fastest_rpm)} rpm are wanted, so that there may be no design."
        )


def _spindle_moves(answers: Answers) -> bool:
    if answers.word("motor_mount") == "fixed" and False in variants(answers):
        return True
    return has_countershaft(answers) and answers.word("countershaft_mount") == "fixed"


def _rides(answers: Answers) -> bool:
    return has_countershaft(answers) and answers.word("countershaft_mount") != "fixed"


def _motor_rides(answers: Answers) -> Suggestion:
    if answers.word("motor_mount") == "fixed":
        return Suggestion(
            True, "the motor does not move by itself, and moving the countershaft alone changes both belts"
        )
    return Suggestion(False, "each belt then has a mount of its own")


SHAFTS = (
    Question(
        "shafts",
        SHAFTS_PART,
        f"How many shafts: {ONE} (motor to spindle), {COUNTERSHAFT}, {BOTH}",
        "One stage is one belt from the motor to the spindle. A countershaft between them takes a second belt: it "
        "reaches farther from the motor's speed, multiplies the numbers of speeds, and costs two more cones and "
        "bearings. Both writes two files, so that the two can be held against each other.",
        Word((ONE, COUNTERSHAFT, BOTH)),
        ONE,
        suggests=_shafts,
        remarks=lambda answers: tuple(_on_shafts(answers)),
    ),
    Question(
        "motor_mount",
        SHAFTS_PART,
        f"How the motor is moved to tighten its belt: {MOUNT}",
        "A belt is moved to another step, stretches, and is replaced; something must give way. A motor may slide in "
        "slots or on rails, or hang on a hinge. Fixed needs link belt or another shaft that moves.",
        MOUNTS,
        "slide",
        suggests=lambda _: Suggestion("slide", "slots in a plate are the simplest mount"),
    ),
    Question(
        "countershaft_mount",
        SHAFTS_PART,
        f"How the countershaft is moved to tighten the belt to the spindle: {MOUNT}",
        "Both belts need a mount of their own: the motor's for the first, the countershaft's for the second.",
        MOUNTS,
        "slide",
        suggests=lambda _: Suggestion("slide", "the belt to the spindle needs a mount of its own"),
        asked=has_countershaft,
    ),
    Question(
        "motor_rides",
        SHAFTS_PART,
        "Does the motor ride on what carries the countershaft",
        "Where it does, moving the countershaft leaves the first belt as it is. Where it stands on the frame, "
        "moving the countershaft changes both belts, and the motor's own mount makes up for it.",
        YesNo(),
        False,
        suggests=_motor_rides,
        asked=_rides,
    ),
    Question(
        "spindle_mount",
        SHAFTS_PART,
        f"How the spindle is moved: {MOUNT}",
        "Asked because no other shaft slackens its belt.",
        MOUNTS,
        "fixed",
        suggests=lambda _: Suggestion("fixed", "a spindle stands still on most machines; its belt is then link belt"),
        asked=_spindle_moves,
    ),
    Question(
        "motor_shaft",
        SHAFTS_PART,
        "Diameter of the motor's shaft, or none",
        "From it follows how much timber is left between the smallest groove and the hub.",
        OrNone(Amount(LENGTH)),
        "19 mm",
        suggests=lambda _: Suggestion(NONE, "then no step is held against its hub; measure it before turning"),
        asked=lambda answers: not answers.word("motor_frame"),
    ),
    Question(
        "motor_stand",
        SHAFTS_PART,
        "Does what the motor stands on reach under its pulleys",
        "Where it does, no pulley of the motor may be larger than the height of its shaft above its feet leaves, which "
        "follows from the frame. Answer no where the motor stands on blocks, or its shaft over an edge.",
        YesNo(),
        False,
        suggests=lambda _: Suggestion(True, "a motor stands on its feet; the worse side, judgement"),
        asked=lambda answers: _frame_of(answers) is not None,
    ),
    Question(
        "countershaft_diameter",
        SHAFTS_PART,
        "Diameter of the countershaft, or of the sleeve that carries its cones, or none",
        "From it follows how much timber is left between the smallest groove and the hub.",
        OrNone(Amount(LENGTH)),
        "20 mm",
        suggests=lambda _: Suggestion(NONE, "then no step is held against its hub; measure it before turning"),
        asked=has_countershaft,
    ),
    Question(
        "spindle_diameter",
        SHAFTS_PART,
        "Diameter of the spindle where its cone sits, or none",
        "From it follows how much timber is left between the smallest groove and the hub.",
        OrNone(Amount(LENGTH)),
        "25 mm",
        suggests=lambda _: Suggestion(NONE, "then no step is held against its hub; measure it before turning"),
    ),
    Question(
        "motor_room",
        SHAFTS_PART,
        "Room along the motor's shaft for its cone, or none",
        ROOM_WHY,
        OrNone(Amount(LENGTH)),
        "120 mm",
        suggests=lambda _: Suggestion(NONE, "then cones may be as long as their steps make them"),
    ),
    Question(
        "countershaft_room",
        SHAFTS_PART,
        "Room along the countershaft for both its cones, or none",
        ROOM_WHY,
        OrNone(Amount(LENGTH)),
        "300 mm",
        suggests=lambda _: Suggestion(NONE, "then cones may be as long as their steps make them"),
        asked=has_countershaft,
    ),
    Question(
        "spindle_room",
        SHAFTS_PART,
        "Room along the spindle for its cone, or none",
        ROOM_WHY,
        OrNone(Amount(LENGTH)),
        "120 mm",
        suggests=lambda _: Suggestion(NONE, "then cones may be as long as their steps make them"),
    ),
)
"""Questions about the shafts, in their order."""
