"""Questions about the motor and the shop."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.asking.answer import NONE, Amount, Amounts, Answers, Count, OrNone, Plain, Suggestion, Text, Word
from optimizer.asking.purposes import PURPOSES, purpose_named
from optimizer.asking.question import Named, Question, Stock
from optimizer.catalogue.parts import frame, frame_names
from optimizer.mechanics.motors import field_speed, idle_speed_rpm, plate_of
from optimizer.quantities import LENGTH, POWER, SPEED, show_length

__all__ = ["MACHINE", "MOTOR", "SHOP", "mains_of"]

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


MACHINE_PART = "The machine"
SHOP_PART = "The shop"
PLY_MM, PLY_IN = 17.7, "23/32"


def _size(answers: Answers, mm: float, inches: Plain) -> Plain:
    """Return a size in the maker's units."""
    return inches if answers.units == "in" else mm if answers.units == "mm" else round(mm / 10, 3)


def _units(answers: Answers) -> Suggestion:
    """Suggest units by the frame; else inches where a 60 Hz motor is rated in horsepower, millimetres elsewhere."""
    frame = answers.word("motor_frame").upper()
    rated_hp = "hp" in str(answers.written("motor_power") or "").lower()
    inch = frame.startswith("NEMA") or (mains_of(answers) == 60 and rated_hp and not frame.startswith("IEC"))
    where = "inches" if inch else "millimetres"
    return Suggestion("in" if inch else "mm", f"the motor's plate reads like one from where {where} are used")


def _blank(answers: Answers) -> Suggestion:
    if answers.word("section") in ("B", "BX", "5L"):
        size = _size(answers, 300, 12)
        return Suggestion(size, "a wide belt asks for large steps; what a faceplate swings, common practice, no source")
    return Suggestion(
        _size(answers, 240, "9 1/2"), "what a small lathe swings on its faceplate, common practice, no source"
    )


def _layer(answers: Answers) -> Suggestion:
    layer = _size(answers, PLY_MM, PLY_IN)
    said = "18 mm birch plywood as it comes, EN 315, read"
    return Suggestion(layer, said if answers.units != "in" else "plywood sold as 3/4 in, common practice, no source")


def _turned_timber(answers: Answers) -> bool:
    return answers.word("steps") == "timber"


def _truing(answers: Answers) -> Suggestion:
    size = _size(answers, 4, "3/16")
    return Suggestion(size, "a blank runs out by a millimetre or two when it is sawn; common practice, no source")


def _turn_to(answers: Answers) -> Suggestion:
    size = _size(answers, 0.5, "1/64")
    return Suggestion(size, "what is held with a caliper and a scraper; common practice, no source")


MACHINE = (
    Question(
        "purpose",
        MACHINE_PART,
        f"What the machine is for: {', '.join(purpose.name for purpose in PURPOSES)}",
        "Speeds, sizes of work, and how roughly belts are used are suggested by it, nothing else; every suggestion "
        "can be answered otherwise. " + "; ".join(f"{purpose.name}: {purpose.means}" for purpose in PURPOSES) + ".",
        Word(tuple(purpose.name for purpose in PURPOSES)),
        "drill",
        remarks=lambda answers: tuple(filter(None, (purpose_named(answers.word("purpose")).caution,))),
    ),
    Question(
        "title",
        MACHINE_PART,
        "What it is called, on every paper",
        "Any text of at most 80 characters. The file is named after it as well.",
        Text(),
        "Bench drill",
        suggests=lambda answers: Suggestion(purpose_named(answers.word("purpose")).title, "by what it is for"),
    ),
    Question(
        "units",
        MACHINE_PART,
        "Units of lengths: mm, cm, in",
        "Numbers without a unit are read in these, and all papers are written in them. Any answer may still carry a "
        "unit of its own, such as 3/4 in or 60 mm.",
        Word(("mm", "cm", "in")),
        "mm",
        suggests=_units,
    ),
)
"""Questions about the machine as a whole."""

SHOP = (
    Question(
        "steps",
        SHOP_PART,
        "What the steps are turned from: timber, aluminium, steel, cast iron, metal",
        "Timber is glued up in layers, must leave a wall beside every groove, and its rim is kept below 20 m/s; no "
        "published limit for wooden pulleys was found, so that is a cautious figure of our own. Metal is faced to "
        "any width.",
        Word(("timber", "aluminium", "steel", "cast iron", "metal")),
        "timber",
        suggests=lambda _: Suggestion("timber", "what most makers turn"),
    ),
    Question(
        "largest_blank",
        SHOP_PART,
        "Diameter of the largest disc that can be glued up and swung",
        "No step becomes larger. Larger discs give wider speeds from fewer belts, and grip better.",
        Amount(LENGTH),
        "240 mm",
        suggests=_blank,
    ),
    Question(
        "layer",
        SHOP_PART,
        "Thickness of one glued layer, or none",
        "Steps become whole layers wide, so that no joint lies in a groove's wall by accident. Measure the sheet: "
        "18 mm plywood is thinner. Answer none for solid timber, faced to the width that the groove needs.",
        OrNone(Amount(LENGTH)),
        "17.7 mm",
        suggests=_layer,
        asked=_turned_timber,
    ),
    Question(
        "truing",
        SHOP_PART,
        "Diameter lost in turning a blank true",
        "A disc is sawn larger than the step that comes out of it by this much.",
        Amount(LENGTH),
        "4 mm",
        suggests=_truing,
    ),
    Question(
        "turn_to",
        SHOP_PART,
        "Finest difference of diameters that is turned",
        "All diameters are rounded to multiples of this, together, so that the belt still fits every step. Finer is "
        "more work at the lathe and gives little.",
        Amount(LENGTH),
        "0.5 mm",
        suggests=_turn_to,
    ),
    Question(
        "discs",
        SHOP_PART,
        "Discs that are ready to be turned, their diameters, or none",
        "Where discs are listed, every step is turned from one of them and none is glued up in another size. 4 x "
        "200 are four discs, each for one step; 200 alone means as many of that size as it takes. Where any size "
        "can be glued up, answer none.",
        OrNone(Stock(LENGTH)),
        "4 x 150, 4 x 180, 200 mm",
        suggests=lambda _: Suggestion(NONE, "then discs of any size up to the largest are glued up"),
    ),
    Question(
        "sheaves",
        SHOP_PART,
        "Sheaves in the drawer or on sale that may be used as they are, or none",
        "2 x 63 are two of them in the drawer, 71+80 is one piece with two grooves; they are used on any shaft, "
        "none twice. 63 alone is one that is on sale, for the motor's shaft. Other steps are turned. Measure over "
        "the rim for light-duty belts (3L, 4L, 5L), else on the datum line, which lies 2.5 mm (Z), 3.3 mm (A), 4.2 "
        "mm (B) inside the rim: take off twice that.",
        OrNone(Stock(LENGTH, pieces=True)),
        "2 x 80, 90, 100 mm",
        suggests=lambda _: Suggestion(NONE, "then all steps are turned"),
    ),
)
"""Questions about the shop."""
