"""Ratios of fixed stages as makers write them."""

from __future__ import annotations

import pytest

from optimizer.quantities import QuantityError
from optimizer.scenario.stage import as_ratio, fixed_words


@pytest.mark.parametrize(
    ("written", "ratio"), [("20:1", 1 / 20), ("7.5:1", 1 / 7.5), ("61 : 3", 3 / 61), ("1:1", 1.0), ("30:30", 1.0)]
)
def test_turns_in_come_before_turns_out(written: str, ratio: float) -> None:
    """The trade calls a reducer of twenty turns in for one out 20:1: common practice, no source."""
    assert as_ratio(written) == pytest.approx(ratio, rel=1e-15)


@pytest.mark.parametrize("written", ["1:20", "2:3", "0.5:1"])
def test_what_two_people_read_differently_is_refused(written: str) -> None:
    """The smaller number first is a reducer to one and a step-up to another; both ways to say it are told."""
    with pytest.raises(QuantityError, match="some read this as slower") as caught:
        as_ratio(written)
    before, behind = written.split(":")
    assert caught.value.advice.startswith(f'write "{behind}:{before}" where the driven shaft turns slower, ')


@pytest.mark.parametrize("written", ["20:0", "0:1", ":", "20:1:1", "a:b", "-20:1", "20:", "1e3:1", "²:1", "20：1:"])
def test_nonsense_is_refused(written: str) -> None:
    """Nothing but two plain numbers above 0 is read."""
    with pytest.raises(QuantityError, match="these are not turns in to turns out"):
        as_ratio(written)


def test_numbers_are_left_alone() -> None:
    """A number is driven speed over driving speed already."""
    assert as_ratio(20) == 20
    assert as_ratio("1/20") == "1/20"
    assert as_ratio(True) is True


def test_only_a_ratio_of_one_that_keeps_the_direction_is_a_coupling() -> None:
    """Gears of one to one turn the shaft round."""
    assert fixed_words(1.0, reverses=False) == "direct coupling"
    assert fixed_words(1.0, reverses=True) == "fixed ratio 1, reversing"
