"""Questions about the shafts: how many, how they are moved, how thick they are, what room they have."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.asking.answer import Answers, Suggestion
from optimizer.asking.machine import BOTH, COUNTERSHAFT, ONE, has_countershaft, variants
from optimizer.asking.question import Question
from optimizer.asking.reach import FEW, fits_one_stage, highest_rpm, lowest_rpm, outermost
from optimizer.asking.reading import NONE, Amount, OrNone, Word, YesNo
from optimizer.asking.spans import rounded_rpm
from optimizer.catalogue.parts import Frame, frame, frame_of_shaft
from optimizer.quantities import LENGTH

__all__ = ["SHAFTS"]

PART = "The shafts"
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
        PART,
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
        PART,
        f"How the motor is moved to tighten its belt: {MOUNT}",
        "A belt is moved to another step, stretches, and is replaced; something must give way. A motor may slide in "
        "slots or on rails, or hang on a hinge. Fixed needs link belt or another shaft that moves.",
        MOUNTS,
        "slide",
        suggests=lambda _: Suggestion("slide", "slots in a plate are the simplest mount"),
    ),
    Question(
        "countershaft_mount",
        PART,
        f"How the countershaft is moved to tighten the belt to the spindle: {MOUNT}",
        "Both belts need a mount of their own: the motor's for the first, the countershaft's for the second.",
        MOUNTS,
        "slide",
        suggests=lambda _: Suggestion("slide", "the belt to the spindle needs a mount of its own"),
        asked=has_countershaft,
    ),
    Question(
        "motor_rides",
        PART,
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
        PART,
        f"How the spindle is moved: {MOUNT}",
        "Asked because no other shaft slackens its belt.",
        MOUNTS,
        "fixed",
        suggests=lambda _: Suggestion("fixed", "a spindle stands still on most machines; its belt is then link belt"),
        asked=_spindle_moves,
    ),
    Question(
        "motor_shaft",
        PART,
        "Diameter of the motor's shaft, or none",
        "From it follows how much timber is left between the smallest groove and the hub.",
        OrNone(Amount(LENGTH)),
        "19 mm",
        suggests=lambda _: Suggestion(NONE, "then no step is held against its hub; measure it before turning"),
        asked=lambda answers: not answers.word("motor_frame"),
    ),
    Question(
        "motor_stand",
        PART,
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
        PART,
        "Diameter of the countershaft, or of the sleeve that carries its cones, or none",
        "From it follows how much timber is left between the smallest groove and the hub.",
        OrNone(Amount(LENGTH)),
        "20 mm",
        suggests=lambda _: Suggestion(NONE, "then no step is held against its hub; measure it before turning"),
        asked=has_countershaft,
    ),
    Question(
        "spindle_diameter",
        PART,
        "Diameter of the spindle where its cone sits, or none",
        "From it follows how much timber is left between the smallest groove and the hub.",
        OrNone(Amount(LENGTH)),
        "25 mm",
        suggests=lambda _: Suggestion(NONE, "then no step is held against its hub; measure it before turning"),
    ),
    Question(
        "motor_room",
        PART,
        "Room along the motor's shaft for its cone, or none",
        ROOM_WHY,
        OrNone(Amount(LENGTH)),
        "120 mm",
        suggests=lambda _: Suggestion(NONE, "then cones may be as long as their steps make them"),
    ),
    Question(
        "countershaft_room",
        PART,
        "Room along the countershaft for both its cones, or none",
        ROOM_WHY,
        OrNone(Amount(LENGTH)),
        "300 mm",
        suggests=lambda _: Suggestion(NONE, "then cones may be as long as their steps make them"),
        asked=has_countershaft,
    ),
    Question(
        "spindle_room",
        PART,
        "Room along the spindle for its cone, or none",
        ROOM_WHY,
        OrNone(Amount(LENGTH)),
        "120 mm",
        suggests=lambda _: Suggestion(NONE, "then cones may be as long as their steps make them"),
    ),
)
"""Questions about the shafts, in their order."""
