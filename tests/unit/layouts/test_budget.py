"""Belts with what the travel budget leaves."""

from __future__ import annotations

from math import pi
from typing import Any

import pytest

from optimizer.geometry.belts import belt_length_mm
from optimizer.layouts.budget import (
    Reach,
    StatedBelt,
    budget_lines,
    fit_mm,
    inward_mm,
    outward_mm,
    stated_belts,
)
from optimizer.scenario import Belt, BeltStage


def stage(**values: Any) -> BeltStage:
    """Return a belt stage of plain pulleys."""
    given = {
        "from_shaft": "motor",
        "to_shaft": "spindle",
        "centres_mm": (300, 400),
        "travel_mm": 80,
        "belt": {"section": "A"},
        "driver": {"ready_mm": [80]},
        "driven": {"ready_mm": [160]},
    }
    return BeltStage(**{**given, **values})


A1000 = StatedBelt("A 1000", 1000.0, 15.0, "a source")


def test_budget_of_a_stock_belt() -> None:
    """Tolerance of length, 0.025·L of stretch, 0.009·L with 8 mm of belt height (GOST 1284.3-96 3.3.8, read)."""
    lines = budget_lines(stage(), A1000)
    assert [line.amount_mm for line in lines] == pytest.approx([15.0, 25.0, 9.0 + 8.0])


def test_own_budget_of_the_maker_is_taken() -> None:
    """Lines the maker states stand in place of the defaults, and say whose they are."""
    lines = budget_lines(stage(budget={"stretch_mm": 5.0}), A1000)
    assert [line.amount_mm for line in lines] == pytest.approx([15.0, 5.0, 17.0])
    assert lines[1].source == "stated by the maker"


def test_locked_pair_has_no_budget() -> None:
    """A pair without travel spends none."""
    locked = stage(travel_mm=0, belt={"section": "A", "lengths": "any"})
    assert budget_lines(locked, A1000) == ()
    assert inward_mm(()) == outward_mm(()) == 0.0


def test_mount_goes_in_and_out_by_half_the_tolerance_with_climb_or_stretch() -> None:
    """Length tolerance moves the centre distance by half as much each way."""
    lines = budget_lines(stage(), A1000)
    assert inward_mm(lines) == pytest.approx(7.5 + 17.0)
    assert outward_mm(lines) == pytest.approx(7.5 + 25.0)


def test_fit_is_at_most_a_thousandth_of_the_length() -> None:
    """A stated fit of 2 mm is cut to 1 mm for a belt of 1000 mm."""
    assert fit_mm(stage(fit_mm=2.0), 1000.0) == 1.0
    assert fit_mm(stage(fit_mm=0.2), 1000.0) == 0.2


def test_reach_is_met_at_its_ends() -> None:
    """The shortest and longest belts are those of the outermost sizes at the outermost centre distances."""
    reach = Reach.of((80.0, 120.0), (100.0, 200.0), (300.0, 400.0), crossed=False)
    assert reach.least_mm == pytest.approx(belt_length_mm(80.0, 100.0, 300.0))
    assert reach.most_mm == pytest.approx(belt_length_mm(120.0, 200.0, 400.0))
    assert reach.holds(1000.0)
    assert not reach.holds(2000.0)


def test_any_length_is_a_fine_list_within_reach() -> None:
    """Any length stands for whole steps of ten millimetres between the shortest and longest belt."""
    belts = stated_belts(Belt(section="A", lengths="any"), Reach(1001.0, 1035.0))
    assert [b.datum_length_mm for b in belts] == [1010.0, 1020.0, 1030.0]
    assert {b.tolerance_mm for b in belts} == {0.0}


def test_shortest_and_longest_cut_the_stock() -> None:
    """Stock belts outside the maker's limits are left out."""
    belts = stated_belts(Belt(section="A", lengths="stock", shortest_mm=1000, longest_mm=1120), Reach(0.0, 0.0))
    assert [b.marking for b in belts] == ["A 1000", "A 1060", "A 1120"]


def test_own_list_is_measured_where_the_maker_says() -> None:
    """An inside length is 2·pi·(8 − 3.3) mm below the datum length of an A belt (computed)."""
    (belt,) = stated_belts(Belt(section="A", lengths=(1000.0,), measured="inside"), Reach(0.0, 0.0))
    assert belt.datum_length_mm == pytest.approx(1000 + 2 * pi * 4.7)
    assert belt.marking == "A 1000 mm inside"
