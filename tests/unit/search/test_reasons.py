"""Where there is no design, the words say what rules it out, and no more than that."""

from __future__ import annotations

from math import inf

import pytest

from optimizer.records import Problem, SideSizes
from optimizer.search import search
from optimizer.search.search import exhausted, no_pairs, out_of_reach, sizeless, too_fast, wants_unmet
from optimizer.search.space import Space
from tests.unit.search.machines import two_stage_machine


def machine(**targets: object) -> Problem:
    """Return the machine of two stages with other targets."""
    problem = two_stage_machine()
    return problem.model_copy(update={"targets": problem.targets.model_copy(update=targets)})


def test_a_side_without_sizes_is_named() -> None:
    """The second stage's driven side has none; where all have some nothing is said."""
    problem = machine()
    assert sizeless(problem) == ""
    bare = problem.stages[1].model_copy(update={"driven": SideSizes(key="stage[1].driven")})
    assert sizeless(problem.model_copy(update={"stages": (problem.stages[0], bare)})) == "stage[1].driven has no size"


def test_more_wants_than_speeds_are_counted() -> None:
    """The bands want 2 and 2 of six speeds; 4 and 4 are eight."""
    bands = tuple(band.model_copy(update={"want": 4}) for band in machine().targets.bands)
    assert wants_unmet(machine(bands=bands)) == "the bands want 8 speeds together, more than the layout makes"
    assert wants_unmet(machine()) == (
        "speeds spread evenly from 250 to 1900 rpm do not put the wanted number into every band, even with end miss up "
        "to 10% and unevenness up to 10%"
    )
    assert "to 1900 rpm, none above 1800 rpm without load do not" in wants_unmet(machine(never_above_rpm=1800.0))


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        # both cones 75 to 210 mm on both stages: 1420/2.8² = 181 to 1420·2.8² = 11133 rpm
        (200.0, 11000.0, "but one stage would have to change its ratio by more"),
        (150.0, 11000.0, "the bands ask for 150 to 11000 rpm, which is out of reach"),
        (200.0, 12000.0, "the bands ask for 200 to 12000 rpm, which is out of reach"),
    ],
)
def test_the_reach_of_the_sizes_is_told(low: float, high: float, words: str) -> None:
    """The reach is (75/210)² to (210/75)² of 1420 rpm; within it something else is wrong, beyond it that is."""
    told = out_of_reach(machine(lo_rpm=low, hi_rpm=high))
    assert told.startswith("the sizes let the spindle run from 181 to 11133 rpm")
    assert words in told


def test_limits_of_speed_are_named_with_what_is_wanted() -> None:
    """The speeds wanted and the limits of end miss and unevenness stand in the reason."""
    assert too_fast(machine()) == (
        "the limits of rim, belt and shaft speed leave the sizes too little for speeds from 250 to 1900 rpm with end "
        "miss up to 10% and unevenness up to 10%"
    )


def test_grip_is_named_where_it_is_a_limit() -> None:
    """A least grip of all speeds, or of one band, is named beside speed; none is not."""
    one, other = machine().targets.bands
    assert "limits of speed, and meets" in exhausted(machine())
    assert "limits of speed and grip, and meets" in exhausted(machine(least_grip=0.5))
    banded = (one, other.model_copy(update={"least_grip": 0.5}))
    assert "limits of speed and grip, and meets" in exhausted(machine(bands=banded))


def test_the_stage_without_belts_or_pairs_is_named() -> None:
    """The second stage has no belt, or a belt that none of its pairs take; else nothing is said."""
    problem = machine()
    assert no_pairs(Space.of(problem)) == ""
    first, second = problem.stages
    bare = second.model_copy(update={"belts": ()})
    assert no_pairs(Space.of(problem.model_copy(update={"stages": (first, bare)}))) == (
        "stage[1]: no belt fits the centre distances and the travel"
    )
    far = second.model_copy(update={"centre_mm": (1000.0, 1100.0)})
    assert no_pairs(Space.of(problem.model_copy(update={"stages": (first, far)}))).startswith(
        "stage[1]: no pair of sizes takes any of its belts"
    )


def test_extremes_are_told_only_when_asked_for() -> None:
    """The same search with and without: two extremes or none, the same J."""
    problem = two_stage_machine(grid_mm=27.0, window_mm=20.0)
    plain, more = search(problem), search(problem, extremes=True)
    assert plain.extremes == ()
    assert [extreme.best_at for extreme in more.extremes][:2] == ["least timber", "smallest largest disc"]
    assert plain.proof.listed == more.proof.listed < inf
