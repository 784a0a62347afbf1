"""What rows are compared by, and which of them nothing beats."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from optimizer.pipeline.compare import CRITERIA, best_at, criteria_for, undominated


class Row(NamedTuple):
    """Figures of a made-up row."""

    speeds_rpm: tuple[float, ...] = (100.0, 200.0)
    end_miss: float = 0.01
    unevenness: float = 0.01
    widest_gap: float = 0.5
    turned_steps: int = 4
    timber_mm3: float = 5e6
    largest_disc_mm: float = 200.0
    belt_moves: int = 3
    grip: float | None = 0.8


def test_a_row_beaten_in_one_thing_and_equal_in_the_rest_is_not_marked() -> None:
    """Of two rows that differ in one figure only the better one is undominated."""
    assert undominated([Row(), Row(end_miss=0.02)]) == (True, False)
    assert undominated([Row(speeds_rpm=(1.0, 2.0, 3.0)), Row()]) == (True, False)


def test_rows_that_each_have_something_for_them_are_both_marked() -> None:
    """A row that is worse in one thing and better in another is not beaten."""
    assert undominated([Row(), Row(end_miss=0.02, timber_mm3=4e6)]) == (True, True)


def test_equal_rows_do_not_beat_each_other() -> None:
    """Two rows of the same figures are both marked, and both best at everything."""
    assert undominated([Row(), Row()]) == (True, True)
    assert best_at([Row(), Row()]) == (tuple(c.name for c in CRITERIA),) * 2


def test_beaten_in_three_different_places_is_not_beaten_by_one() -> None:
    """What counts is one other row, not the best of all others in each thing."""
    rows = [Row(), Row(end_miss=0.0, timber_mm3=6e6), Row(end_miss=0.02, timber_mm3=4e6)]
    assert undominated(rows) == (True, True, True)


def test_differences_that_nobody_sees_count_for_nothing() -> None:
    """End misses of 1.001 % and 1.002 % read the same and are the same; so are 0.1 cm³ of timber."""
    rows = [Row(end_miss=0.01001), Row(end_miss=0.01002, timber_mm3=5e6 + 100)]
    assert best_at(rows)[0] == best_at(rows)[1]
    assert undominated(rows) == (True, True)


def test_ties_are_named_for_all_and_the_rest_for_the_first() -> None:
    """With equal steps to turn and unequal timber, both have the fewest steps, one the least timber."""
    first, second = best_at([Row(timber_mm3=4e6), Row(speeds_rpm=(1.0, 2.0, 3.0))])
    assert "steps to turn" in first and "steps to turn" in second
    assert "timber" in first and "timber" not in second
    assert "number of speeds" in second and "number of speeds" not in first


@pytest.mark.parametrize("criterion", CRITERIA, ids=lambda c: str(c.name))
def test_each_criterion_alone_decides(criterion: object) -> None:
    """A row better in any one criterion, equal in all others, is the only one marked."""
    better = {
        "number of speeds": Row(speeds_rpm=(1.0, 2.0, 3.0)),
        "end miss": Row(end_miss=0.005),
        "unevenness": Row(unevenness=0.005),
        "widest gap": Row(widest_gap=0.4),
        "steps to turn": Row(turned_steps=3),
        "largest blank": Row(largest_disc_mm=199.5),
        "timber": Row(timber_mm3=4.9e6),
        "belt moves": Row(belt_moves=2),
        "grip": Row(grip=0.9),
    }
    name = getattr(criterion, "name", "")
    assert undominated([Row(), better[name]]) == (False, True)
    assert name in best_at([Row(), better[name]])[1]
    assert name not in best_at([Row(), better[name]])[0]


def test_what_nobody_knows_is_no_criterion() -> None:
    """Where no row's grip is known, none is best at it, and it marks none."""
    rows = [Row(grip=None), Row(grip=None, end_miss=0.02)]
    assert undominated(rows) == (True, False)
    assert all("grip" not in names for names in best_at(rows))
    assert "grip" not in [criterion.name for criterion in criteria_for(rows)]
