"""The speed on a plate tells poles and mains, and whether it can be a full-load speed at all."""

from __future__ import annotations

import pytest

from optimizer.asking.about_shop import MOTOR
from optimizer.asking.answer import Answer, Answers
from optimizer.mechanics.motors import field_speed, fields_above_rpm, plate_of


@pytest.mark.parametrize(
    ("speed_rpm", "mains_hz", "poles"),
    # full-load speeds: 60 Hz 1725-1770, 3450-3500; 50 Hz 1400-1450, 2850-2900 (read); six and eight poles from memory
    [
        (1725, 60, 4),
        (1770, 60, 4),
        (3450, 60, 2),
        (1400, 50, 4),
        (1450, 50, 4),
        (2850, 50, 2),
        (2900, 50, 2),
        (940, 50, 6),
        (1140, 60, 6),
        (700, 50, 8),
    ],
)
def test_full_load_speeds_tell_mains_and_poles(speed_rpm: float, mains_hz: int, poles: int) -> None:
    """The usual figures on plates belong to one kind of motor each."""
    plate = plate_of(speed_rpm)
    assert plate is not None
    assert (plate.mains_hz, plate.poles) == (mains_hz, poles)


@pytest.mark.parametrize("speed_rpm", [3000, 1500, 1000, 750, 3600, 1800, 1200, 900])
def test_speeds_of_the_field_are_named(speed_rpm: float) -> None:
    """120 · Hz / poles is no speed of a loaded shaft, and the maker is told so."""
    assert field_speed(speed_rpm) is not None
    said = said_of(motor_speed=float(speed_rpm))
    assert "speed of the field" in said


def said_of(**values: float | int) -> str:
    """Return what is said of answers about the motor."""
    answers = Answers({name: Answer(value, value) for name, value in values.items()})
    return " ".join(remark for one in MOTOR if one.name in values for remark in one.remarks(answers))


def test_a_speed_of_other_mains_is_named() -> None:
    """1725 rpm at 50 Hz: the same motor would run at 5/6 of it, 1437.5 rpm."""
    said = said_of(motor_speed=1725.0, mains=50)
    assert "belongs to mains of 60 Hz" in said
    assert "1438 rpm" in said or "1437 rpm" in said


def test_the_right_mains_are_not_remarked_on() -> None:
    """A plate that agrees with itself needs no second look."""
    assert "belongs to mains" not in said_of(motor_speed=1420.0, mains=50)


def test_a_speed_of_no_induction_motor_is_taken_with_a_remark() -> None:
    """A brush motor's 12 000 rpm is accepted, but said to be none of an induction motor."""
    assert "no full-load speed of an induction motor" in said_of(motor_speed=12_000.0)


@pytest.mark.parametrize(
    ("plate", "fields"),
    [(1420, (1500.0,)), (2850, (3000.0,)), (940, (1000.0,)), (1725, (1800.0,)), (3450, (3600.0,)), (1500, ())],
)
def test_fields_behind_which_a_motor_turns(plate: float, fields: tuple[float, ...]) -> None:
    """Common plates of two, four and six poles at 50 and 60 Hz (pairs of speeds from memory); a field has no plate."""
    assert fields_above_rpm(plate) == fields
