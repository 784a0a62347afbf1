"""Questions about what the machine is for, and what the shop has to make it from."""

from __future__ import annotations

from optimizer.asking.about_motor import mains_of
from optimizer.asking.answer import Answers, Plain, Suggestion
from optimizer.asking.purposes import PURPOSES, purpose_named
from optimizer.asking.question import Question
from optimizer.asking.reading import NONE, Amount, OrNone, Text, Word
from optimizer.asking.stock import Stock
from optimizer.quantities import LENGTH

__all__ = ["MACHINE", "SHOP"]

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
