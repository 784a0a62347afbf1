"""Orders of the speed series."""

from __future__ import annotations

from itertools import combinations, product
from math import prod

import pytest

from optimizer.layouts.orders import orders
from optimizer.records.layout import Layout


def every_tiling(positions: tuple[int, ...]) -> set[tuple[tuple[int, ...], ...]]:
    """Return all tilings by trying every set of offsets, with no theory behind it."""
    total = prod(positions)
    rows = [[(0, *rest) for rest in combinations(range(1, total), count - 1)] for count in positions]
    return {chosen for chosen in product(*rows) if sorted(map(sum, product(*chosen))) == list(range(total))}


@pytest.mark.parametrize(
    "positions",
    [(1,), (4,), (6,), (1, 1), (1, 4), (2, 2), (2, 3), (3, 2), (2, 4), (4, 2), (3, 3), (2, 5), (2, 2, 2), (2, 1, 3)],
)
def test_no_tiling_is_missed_or_made_twice(positions: tuple[int, ...]) -> None:
    """The orders of a layout are exactly the tilings that a plain count finds."""
    offsets = [layout.offsets for layout in orders(positions)]
    assert len(offsets) == len(set(offsets))
    assert set(offsets) == every_tiling(positions)


def test_largest_layout_has_its_interleaved_orders() -> None:
    """Three by six positions can be ordered coarse first, fine first, and in two interleaved ways."""
    assert [layout.title for layout in orders((3, 6))] == [
        "3x6, coarse stage first",
        "3x6, fine stage first",
        "3x6, interleaved 2·3·3",
        "3x6, interleaved 3·3·2",
    ]


def test_one_position_is_an_ordinary_pulley_pair() -> None:
    """A stage with one position adds nothing to the order of the series."""
    assert orders((1, 3)) == (Layout(positions=(1, 3), offsets=((0,), (0, 1, 2))),)


def test_stage_order_is_kept() -> None:
    """The positions stay with their own stages, whatever the order of the series."""
    assert {layout.positions for layout in orders((2, 6))} == {(2, 6)}
