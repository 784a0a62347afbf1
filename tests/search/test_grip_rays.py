"""Limits of grip where turned pairs stand for rays: what must hold whatever the answer."""

from __future__ import annotations

from random import Random

import pytest

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.records import Found, Problem
from optimizer.records.speeds import grip_of
from optimizer.search import look
from tests.bench.machines import R40_MM, StageSketch, layout_of, machine
from tests.sampled import sampled

SHAPES = ((3,), (4,), (2, 2), (2, 3), (3, 2))


def turned(seed: int, grip: float = 0.0) -> Problem:
    """Return a machine of turned cones whose belts must carry other powers in either band, with a limit of grip."""
    rng = Random(seed)
    positions = SHAPES[seed % len(SHAPES)]
    low = rng.uniform(150, 700)
    high = low * rng.uniform(2.5, 5)
    middle = (low * high) ** 0.5
    window = rng.choice([0.5, 3.0, 8.0])
    sketch = StageSketch(rng.choice([10.0, 15.0]), tuple(rng.sample(R40_MM, 3)), window, rays=True)
    layout = layout_of(positions, rng.choice(["coarse", "fine"]))
    bare = machine(layout, [sketch] * len(positions), ((low, middle, 1), (middle, high, 1)))
    bands = tuple(band.model_copy(update={"power_kw": rng.uniform(0.2, 1.0)}) for band in bare.targets.bands)
    targets = bare.targets.model_copy(update={"bands": bands, "power_kw": 0.75, "least_grip": grip})
    stages = tuple(stage.model_copy(update={"ratings": ratings_of(section("A"))}) for stage in bare.stages)
    return bare.model_copy(update={"targets": targets, "stages": stages})


def grip(found: Found) -> float:
    """Return the grip of the design found."""
    assert found.candidate is not None
    return grip_of(found.candidate.problem, found.candidate.stages)


@pytest.mark.parametrize("seed", sampled(range(15), every=2))
def test_more_grip_never_costs_less_and_less_grip_costs_nothing(seed: int) -> None:
    """A limit below the best design's grip leaves J as it is; each higher one is kept, at a J that does not fall."""
    free = look(turned(seed)).found
    if free.candidate is None:
        return
    last = free.proof.listed
    for share in (0.5, 0.97, 1.05, 1.2, 1.5):
        held = look(turned(seed, share * grip(free))).found
        assert held.proof.status in ("proved", "no design")
        if share < 1:
            assert held.proof.listed == pytest.approx(free.proof.listed, abs=1e-9)
        if held.candidate is None:
            break
        assert grip(held) >= share * grip(free) * (1 - 1e-9)
        assert held.proof.listed >= last - 1e-12
        last = held.proof.listed


@pytest.mark.parametrize("seed", sampled((0, 1, 2, 3, 4, 8), slow=(2, 3, 8)))
def test_the_greatest_grip_is_just_what_a_limit_gives(seed: int) -> None:
    """With that grip as a limit there is a design within the slack, with a tick more there is none."""
    searched = look(turned(seed))
    found = searched.greatest_grip()
    if found is None:
        return
    most = searched.found.proof.listed + turned(seed).targets.grip_slack
    assert look(turned(seed, found.grip)).found.proof.listed <= most + 1e-9
    beyond = look(turned(seed, found.grip + 0.05), most=most).found
    assert beyond.candidate is None
    assert beyond.proof.status in ("no design", "set aside")
