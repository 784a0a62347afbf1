"""Answers are read the way a maker means them."""

from __future__ import annotations

import pytest

from optimizer.asking.about_places import InHand, Lengths
from optimizer.asking.answer import Amount, Amounts, Count, OrNone, Reader, Span, Stocked, Text, Word, Written, YesNo
from optimizer.asking.question import Stock
from optimizer.quantities import LENGTH, POWER, RIM_SPEED, SPEED, QuantityError

INCH = 25.4


@pytest.mark.parametrize(
    ("reader", "typed", "units", "value"),
    [
        (Amount(LENGTH), "240", "mm", 240.0),
        (Amount(LENGTH), "24", "cm", 240.0),
        (Amount(LENGTH), "9 1/2", "in", 9.5 * INCH),
        (Amount(LENGTH), "9-1/2 in", "mm", 9.5 * INCH),
        (Amount(LENGTH), '4 1/2"', "mm", 4.5 * INCH),
        (Amount(LENGTH), 240, "mm", 240.0),
        (Amount(SPEED), "1420 rpm", "mm", 1420.0),
        (Amount(POWER), "750 W", "mm", 0.75),
        (Amounts(LENGTH), "63, 71, 80", "mm", (63.0, 71.0, 80.0)),
        (Amounts(LENGTH), "63, 71 and 80 mm", "in", (63.0, 71.0, 80.0)),
        (Amounts(LENGTH), '2 1/2", 3 in', "mm", (2.5 * INCH, 3 * INCH)),
        (Amounts(LENGTH), (63, "3 in"), "mm", (63.0, 3 * INCH)),
        (Span(LENGTH), "240 to 340", "mm", (240.0, 340.0)),
        (Span(LENGTH), "240-340 mm", "in", (240.0, 340.0)),
        (Span(LENGTH), "9 1/2 to 12 in", "mm", (9.5 * INCH, 12 * INCH)),
        (Span(LENGTH), "4-1/2", "in", (4.5 * INCH, 4.5 * INCH)),
        (Span(LENGTH), "240", "mm", (240.0, 240.0)),
        (Span(RIM_SPEED), "8 to 12 m/s", "mm", (8.0, 12.0)),
        (Count(1, 18), " 6 ", "mm", 6),
        (Word(("one stage", "countershaft", "both")), "One", "mm", "one stage"),
        (YesNo(), "Y", "mm", True),
        (Text(), '"back"', "mm", "back"),
        (OrNone(Amount(LENGTH)), "none", "mm", None),
        (OrNone(Amounts(LENGTH)), (), "mm", None),
        (InHand(), "A46", "mm", "A"),
        (InHand(), "4L460", "in", "4L"),
        (InHand(), "spz", "mm", "SPZ"),
        (InHand(), "13 mm", "mm", "A"),
        (InHand(), "1/2", "in", "4L"),
        (InHand(), "PJ 6", "mm", "PJ 6"),
        (Lengths(), "stock", "mm", "stock"),
        (Lengths(), "1000, 1120", "mm", (1000.0, 1120.0)),
    ],
)
def test_what_is_typed_is_what_is_meant(reader: Reader, typed: Written, units: str, value: object) -> None:
    """Units, fractions, lists and words are read; an inch is 25.4 mm exactly."""
    read = reader.read(typed, units).value
    assert read == (pytest.approx(value) if isinstance(value, float | tuple) else value)


@pytest.mark.parametrize(
    ("reader", "typed"),
    [
        (Amount(LENGTH), "many"),
        (Amount(LENGTH), "240 kg"),
        (Amount(LENGTH), "nan"),
        (Amount(POWER), "1/2"),
        (Amount(RIM_SPEED), "8"),
        (Amounts(LENGTH), "63, wide"),
        (Span(LENGTH), "340 to 240"),
        (Span(LENGTH), "1 to 2 to 3"),
        (Count(1, 18), "19"),
        (Count(1, 18), "1.5"),
        (Count(1, 18), True),
        (Word(("mill", "motor")), "m"),
        (Word(("mill", "motor")), "lathe"),
        (YesNo(), "perhaps"),
        (Text(), 3),
        (InHand(), "60 mm"),
        (InHand(), "Q"),
        (Lengths(), "stoc k"),
        (Lengths(), ","),
    ],
)
def test_what_cannot_be_meant_is_refused(reader: Reader, typed: Written) -> None:
    """A refusal says what is wrong with what was typed, and never guesses a unit that makers disagree on."""
    with pytest.raises(QuantityError) as refused:
        reader.read(typed, "mm")
    assert refused.value.what


def test_answers_are_kept_as_they_were_written() -> None:
    """A fraction stays one, a plain number becomes one, so that the scenario reads like the maker."""
    assert Amount(LENGTH).read("9 1/2", "in").written == "9 1/2"
    assert Amount(LENGTH).read("240", "mm").written == 240
    assert Amounts(LENGTH).read("63, 71 mm", "in").written == ("63 mm", "71 mm")
    assert Span(LENGTH).read("240.5 - 340", "mm").written == (240.5, 340)


def test_counts_are_told_from_sizes() -> None:
    """`2 x 63` are two, `71+80` is one piece with two grooves, `90` is any number; the last unit is that of all."""
    read = Stock(LENGTH, pieces=True).read("2 x 63, 71+80, 90 mm", "in").value
    assert read == (
        Stocked((63.0,), ("63 mm",), 2),
        Stocked((71.0, 80.0), ("71 mm", "80 mm"), 1),
        Stocked((90.0,), ("90 mm",), None),
    )
    assert Stock(LENGTH, open_ended=False).read("1120", "mm").value == (Stocked((1120.0,), (1120,), 1),)


def test_counts_that_are_written_read_back() -> None:
    """What goes into a file of answers is read as the same things again."""
    reader = Stock(LENGTH, pieces=True)
    first = reader.read('2 x 2 1/2, 3+3 1/2 in, 4"', "in")
    assert reader.read(first.written, "in").value == first.value
    assert reader.shown(first.written, "in") == '2 of 2 1/2 in, 1 of 3 in with 3 1/2 in, any number of 4"'


@pytest.mark.parametrize("typed", ["0 x 63", "900 x 63", "2 x", "x 63", ",", "2 x wide", "63+", "2 x 3 x 63"])
def test_counts_that_are_none_are_refused(typed: str) -> None:
    """No number of pieces, no size, two counts."""
    with pytest.raises(QuantityError):
        Stock(LENGTH, pieces=True).read(typed, "mm")
