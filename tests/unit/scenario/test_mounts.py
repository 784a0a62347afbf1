"""Every belt that a moving mount changes has a mount of its own, or shares one whose places are stated."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.scenario import Belt, BeltStage, FixedStage, Shaft, Side
from optimizer.scenario.mounts import changes, coupled_faults, crowded, mount_faults

SIDE = Side(free_mm=(75.0, 200.0))


def belt(start: str, end: str, travel_mm: float = 50.0) -> BeltStage:
    """Return a stage of any lengths, so that it may be locked too."""
    return BeltStage(
        from_shaft=start,
        to_shaft=end,
        centres_mm=(250.0, 350.0),
        travel_mm=travel_mm,
        belt=Belt(section="round 8"),
        driver=SIDE,
        driven=SIDE,
    )


TWO = (belt("motor", "counter"), belt("counter", "spindle"))


def told(shafts: list[Shaft], stages: tuple[BeltStage | FixedStage, ...]) -> list[str]:
    """Return the places of all faults."""
    return [fault.where for rule in (mount_faults, coupled_faults) for fault in rule(shafts, stages, "mm")]


@pytest.mark.parametrize(
    "shafts",
    [
        [Shaft(name="motor", mount="slide"), Shaft(name="counter", mount="hinge")],
        [Shaft(name="motor", mount="slide"), Shaft(name="spindle", mount="slide")],
        [Shaft(name="counter", mount="slide"), Shaft(name="spindle", mount="slide")],
        [Shaft(name="motor", mount="slide", on="counter"), Shaft(name="counter", mount="slide")],
        [
            Shaft(name="motor", mount="hinge"),
            Shaft(name="counter", mount="slide"),
            Shaft(name="spindle", mount="slide"),
        ],
    ],
)
def test_two_belts_with_two_mounts_are_accepted(shafts: list[Shaft]) -> None:
    """Two belts can be set where each has a mount of its own, also where one rides on the other."""
    assert told(shafts, TWO) == []


@pytest.mark.parametrize(
    ("shafts", "places"),
    [
        ([Shaft(name="counter", mount="hinge")], ["shaft[0].mount"]),
        ([Shaft(name="motor", on="counter"), Shaft(name="counter", mount="hinge")], ["stage[0].travel"]),
        ([Shaft(name="motor", mount="slide")], ["stage[1].travel"]),
        ([], ["stage[0].travel", "stage[1].travel"]),
    ],
)
def test_belts_without_a_mount_of_their_own_are_refused(shafts: list[Shaft], places: list[str]) -> None:
    """A belt that nothing sets, or one mount for two belts, is told at its place."""
    assert told(shafts, TWO) == places


def test_a_moving_shaft_changes_a_locked_belt_too() -> None:
    """A hinge pulls at both belts of its shaft, whether travel is stated for both or not."""
    stages = (belt("motor", "counter"), belt("counter", "spindle", travel_mm=0.0))
    assert told([Shaft(name="counter", mount="hinge")], stages) == ["shaft[0].mount"]
    riding = [Shaft(name="counter", mount="hinge"), Shaft(name="spindle", on="counter")]
    assert told(riding, stages) == []


def test_a_fixed_ratio_moves_whole_or_not_at_all() -> None:
    """Gears stay in mesh where both shafts ride together, and are refused where one moves away."""
    stages = (belt("motor", "counter"), FixedStage(from_shaft="counter", to_shaft="spindle", ratio=0.5))
    apart = [Shaft(name="counter", mount="slide")]
    together = [*apart, Shaft(name="spindle", on="counter")]
    assert told(apart, stages) == ["shaft[0].mount"]
    assert told(together, stages) == []


def test_a_mount_changes_what_it_does_not_carry_whole() -> None:
    """A mount changes the stages that have one shaft on its moving part and one off it."""
    shafts = [Shaft(name="counter", mount="slide"), Shaft(name="motor", mount="slide", on="counter")]
    assert changes(shafts, TWO) == {0: ("motor",), 1: ("counter",)}


@given(
    st.dictionaries(
        st.integers(0, 5), st.lists(st.sampled_from("abcde"), min_size=1, max_size=4, unique=True), max_size=6
    )
)
def test_crowding_is_told_exactly_where_the_marriage_theorem_says(wanted: dict[int, list[str]]) -> None:
    """Stages are crowded where some of them have fewer mounts between them than they are, and those are named."""
    short = [
        group
        for size in range(1, len(wanted) + 1)
        for group in combinations(sorted(wanted), size)
        if len({mount for stage in group for mount in wanted[stage]}) < size
    ]
    found = crowded(wanted)
    assert (found is None) == (not short)
    if found is not None:
        stages, mounts = found
        assert stages in short
        assert set(mounts) == {mount for stage in stages for mount in wanted[stage]}
