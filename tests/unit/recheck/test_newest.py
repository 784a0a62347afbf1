"""Which reading of a step counts, and what becomes of steps without one."""

from __future__ import annotations

from optimizer.recheck.loading import load_measured
from optimizer.recheck.sizes import StepKnown, newest
from tests.unit.recheck.forms import grinder

HEAD = 'units = "mm"\n'


def known(*checks: str) -> StepKnown:
    """Return what is known of the grinder's first driver step after checks with such readings of it."""
    text = HEAD
    for check in checks:
        day, reading = check.split(": ")
        text += f'[[check]]\ndate = {day}\nstep = [{{ stage = 1, side = "driver", position = 1, {reading} }}]\n'
    measured = load_measured(text, "measured.toml", grinder().design.machine)
    return newest(measured, grinder().design.machine)[0]


def test_the_newest_day_counts_whatever_its_place() -> None:
    """Of three checks out of order the last day's reading counts, all are kept."""
    step = known("2026-05-01: over_pins = 93.8", "2026-11-26: over_pins = 93.5", "2026-02-01: over_pins = 94")
    assert step.size is not None
    assert round(step.size.pitch_mm, 6) == 76.5
    assert [str(then.date) for then in step.history] == ["2026-02-01", "2026-05-01", "2026-11-26"]


def test_of_one_day_the_later_in_the_file_counts() -> None:
    """A step skimmed and measured again on one day is what it was last."""
    step = known("2026-05-01: over_pins = 93.8", "2026-05-01: over_pins = 93.5")
    assert step.size is not None
    assert round(step.size.pitch_mm, 6) == 76.5


def test_an_older_size_does_not_stand_in_for_a_reading_that_tells_nothing() -> None:
    """After pins, only the outside: it may have been skimmed since, so it cannot be told; the old size is kept."""
    step = known("2026-05-01: over_pins = 93.8", "2026-11-26: outside = 83.6")
    assert (step.state, step.size) == ("cannot tell", None)
    assert [then.size is None for then in step.history] == [False, True]


def test_a_step_to_be_made_anew_is_open_again() -> None:
    """`turned = false` forgets what was measured before; a later reading is one of the new step."""
    step = known("2026-05-01: over_pins = 93.8", "2026-11-26: turned = false")
    assert (step.state, step.history) == ("not turned", ())
    step = known("2026-05-01: over_pins = 93.8", "2026-06-01: turned = false", "2026-07-01: over_pins = 94")
    assert (step.state, len(step.history)) == ("measured", 1)


def test_readings_that_contradict_each_other_are_told_apart() -> None:
    """Over pins 94 (pitch 77), by the belt's top 79: eight standard uncertainties and more apart."""
    step = known("2026-05-01: over_pins = 94, outside = 83.6, belt_top = 1")
    assert step.history[0].apart > 8
