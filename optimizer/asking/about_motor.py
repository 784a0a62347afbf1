"""Questions about the motor's plate, and what its figures tell."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.asking.answer import Answers, Suggestion
from optimizer.asking.named import Named
from optimizer.asking.question import Question
from optimizer.asking.reading import NONE, Amount, Amounts, Count, OrNone
from optimizer.catalogue.parts import frame, frame_names
from optimizer.mechanics.motors import field_speed, idle_speed_rpm, plate_of
from optimizer.quantities import POWER, SPEED, show_length

__all__ = ["MOTOR", "mains_of"]

PART = "The motor"
KW_PER_HP = 0.7457
LARGE_KW = 7.5
"""More is rare on machines of this kind; judgement."""


def mains_of(answers: Answers) -> int | None:
    """Return the frequency of the mains that the plate's speed belongs to [Hz]; nothing where it tells none."""
    speed = answers.real("motor_speed")
    plate = plate_of(speed) or field_speed(speed) if speed else None
    return plate.mains_hz if plate else None


def _on_speed(answers: Answers) -> Iterator[str]:
    speed = answers.real("motor_speed") or 0.0
    plate = plate_of(speed)
    turning = field_speed(speed)
    if plate is not None:
        yield f"{speed:g} rpm is the full-load speed of a {plate.poles}-pole motor at {plate.mains_hz} Hz."
    elif turning is not None:
        yield (
            f"{speed:g} rpm is the speed of the field of a {turning.poles}-pole motor at {turning.mains_hz} Hz, not of "
            f"its shaft, which runs 2 to 8 % slower under load. Look at the plate once more; back asks again."
        )
    else:
        yield (
            f"{speed:g} rpm is no full-load speed of an induction motor at 50 or 60 Hz. It is taken as it stands: "
            "right for a motor with a gearbox, brushes, or an inverter that is set to one speed."
        )


def _on_mains(answers: Answers) -> Iterator[str]:
    speed, mains = answers.real("motor_speed"), answers.count("mains")
    plate = plate_of(speed) if speed else None
    if plate is None or mains is None or mains == plate.mains_hz:
        return
    if mains not in (50, 60):
        yield f"Mains of {mains} Hz are rare; 50 and 60 Hz are usual. Nothing is worked out from it."
        return
    other = plate.field_rpm * mains / plate.mains_hz
    yield (
        f"{speed:g} rpm belongs to mains of {plate.mains_hz} Hz. At {mains} Hz this motor would run near "
        f"{other * (speed or 0.0) / plate.field_rpm:.0f} rpm: state the speed that the plate gives for your mains; "
        "back asks again."
    )


def _on_power(answers: Answers) -> Iterator[str]:
    power = answers.real("motor_power")
    if power is not None:
        yield f"{power:.3g} kW is {power / KW_PER_HP:.3g} hp."
        if power > LARGE_KW:
            yield "That is much for one belt on step cones; see that the unit is right."


def _on_frame(answers: Answers) -> Iterator[str]:
    name = answers.word("motor_frame")
    if name:
        known = frame(name)
        size = show_length(known.shaft_mm, "in" if name.startswith("NEMA") else "mm")
        yield f"Frame {known.name} has a shaft of {size} ({known.source}); measure it."


def _mains(answers: Answers) -> Suggestion | None:
    mains = mains_of(answers)
    if mains is None:
        return Suggestion(NONE, "the plate's speed belongs to neither 50 nor 60 Hz")
    return Suggestion(mains, f"the plate's speed belongs to mains of {mains} Hz")


MOTOR = (
    Question(
        "motor_speed",
        PART,
        "Speed at full load, from the motor's plate, in rpm",
        "Every spindle speed is this one times the ratios of the belts, so copy it from the plate: the speed of the "
        "shaft under full load, such as 1420 or 1725, not the 1500 or 1800 of the field. Of a motor with two "
        "speeds it is the faster one.",
        Amount(SPEED),
        "1420 rpm",
        remarks=lambda answers: tuple(_on_speed(answers)),
    ),
    Question(
        "mains",
        PART,
        "Mains frequency in Hz",
        "The same motor runs a fifth faster on 60 Hz than on 50 Hz, and plates of imported motors give both. This "
        "is only held against the speed, to find out a plate that was read in the wrong column.",
        OrNone(Count(1, 400)),
        50,
        suggests=_mains,
        remarks=lambda answers: tuple(_on_mains(answers)),
    ),
    Question(
        "motor_idle",
        PART,
        "Its speed without load, in rpm, or none",
        "The speed on the plate fits no induction motor on the mains, so how much faster it turns when the work is "
        "taken away is not known; one with brushes turns much faster. Wheels, rims and chucks burst by that speed. Ask "
        "its maker, or read it with a tachometer before anything is mounted. Where the answer is none, limits are held "
        "at the speed on the plate alone.",
        OrNone(Amount(SPEED)),
        "6000 rpm",
        suggests=lambda _: Suggestion(NONE, "only its maker or a tachometer tells it"),
        asked=lambda answers: idle_speed_rpm(answers.real("motor_speed") or 1420.0) is None,
    ),
    Question(
        "motor_slower",
        PART,
        "Slower speeds that the motor can be switched to, from its plate, or none",
        "A motor with two windings or sets of poles makes twice as many speeds from the same steps. Several are parted "
        "by commas. Answer none for a motor with one speed; an inverter that turns it slower is no switch.",
        OrNone(Amounts(SPEED)),
        "none",
        suggests=lambda _: Suggestion(NONE, "most motors have one speed"),
    ),
    Question(
        "motor_power",
        PART,
        "Rated power, from the motor's plate, with its unit: kW, W, hp",
        "From the power follows how hard every belt is pulled, which section suits, and where a belt will slip. It "
        "is the power given off at the shaft. Answer none where no plate tells it: then nothing is said of what "
        "belts carry.",
        OrNone(Amount(POWER)),
        "0.75 kW",
        remarks=lambda answers: tuple(_on_power(answers)),
    ),
    Question(
        "motor_frame",
        PART,
        "Frame size, from the motor's plate, or none",
        "The frame tells the diameter of the shaft, so how small the smallest step can be over its hub. Known are "
        f"{', '.join(frame_names())}.",
        OrNone(Named(lambda name: frame(name).name)),
        "IEC 80",
        suggests=lambda _: Suggestion(NONE, "then the shaft itself is asked for"),
        remarks=lambda answers: tuple(_on_frame(answers)),
    ),
)
"""Questions about the motor, in their order."""
