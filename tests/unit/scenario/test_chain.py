"""One chain from motor to spindle."""

from __future__ import annotations

from itertools import permutations

import pytest

from optimizer.scenario.chain import Link, chain_faults, in_order

GOOD = [("motor", "first"), ("first", "second"), ("second", "spindle")]
STATED = ["first", "second"]


def faults(pairs: list[tuple[str, str]], stated: list[str]) -> list[str]:
    """Return the places of all faults."""
    links = [Link(number, start, end) for number, (start, end) in enumerate(pairs)]
    return [fault.where for fault in chain_faults(links, stated)]


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_any_order_of_the_file_is_one_chain(order: tuple[int, ...]) -> None:
    """The order of the stages in the file does not matter, and the way from the motor is found."""
    pairs = [GOOD[number] for number in order]
    assert faults(pairs, STATED) == []
    assert [pairs[place] for place in in_order(pairs)] == GOOD


@pytest.mark.parametrize("left_out", range(3))
def test_a_chain_with_a_stage_missing_is_refused(left_out: int) -> None:
    """Without any one of its stages the chain is not whole."""
    assert faults([pair for number, pair in enumerate(GOOD) if number != left_out], STATED)


@pytest.mark.parametrize(
    ("pairs", "places"),
    [
        ([("motor", "spindle"), ("first", "second"), ("second", "first")], ["stage[1].from", "stage[2].from"]),
        ([("motor", "first"), ("first", "motor")], ["stage[1].to"]),
        ([("motor", "first"), ("motor", "spindle")], ["stage[1].from"]),
        ([("motor", "spindle"), ("first", "spindle")], ["stage[1].to"]),
        (
            [("motor", "first"), ("first", "first"), ("first", "spindle")],
            ["stage[1].to", "stage[1].to", "stage[2].from"],
        ),
        ([("motor", "third"), ("third", "spindle")], ["stage[0].to", "stage[1].from"]),
        ([("motor", "first"), ("first", "second")], ["stage[1].to"]),
        ([("first", "spindle")], ["stage[0].from"]),
        ([("spindle", "motor")], ["stage[0].to", "stage[0].from"]),
    ],
)
def test_loops_forks_and_gaps_are_told_at_their_place(pairs: list[tuple[str, str]], places: list[str]) -> None:
    """A loop, a fork, a gap, a name that does not exist each are told at the stage that makes them."""
    assert faults(pairs, STATED) == places
