"""The search with grip as a limit, against looking at every combination of a tiny catalogue."""

from __future__ import annotations

from functools import cache
from math import inf
from random import Random

import pytest

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.records.problem import Problem
from optimizer.records.speeds import belt_grips, grip_of
from optimizer.search import look, search
from tests.oracle.brute import Chosen, every_design, keeps_the_rules, stages_of, worth
from tests.oracle.instances import tiny_problem
from tests.sampled import sampled

SEEDS = (
    2,
    3,
    28,
    31,
    32,
    43,
    45,
    48,
    52,
    66,
    70,
    72,
    79,
    87,
    92,
    110,
    113,
    115,
    124,
    127,
    137,
    142,
    144,
    149,
    154,
    161,
    169,
    172,
    174,
    176,
    178,
    184,
    185,
    194,
    197,
    200,
    202,
    214,
    218,
    224,
    232,
    233,
    238,
    243,
    244,
    246,
    252,
    255,
    260,
    280,
    281,
    288,
    293,
    294,
    296,
    297,
    300,
    302,
    304,
    305,
    313,
    315,
    316,
    319,
    333,
    336,
    337,
    342,
    343,
    348,
    352,
    357,
    362,
    363,
    364,
    368,
    371,
    377,
    378,
    379,
    383,
    384,
    385,
    388,
    396,
    400,
    405,
    412,
)
"""Tiny problems of which some design has more grip than the best one."""
SLOW = (244, 333)
"""Those with most combinations."""
GATE = sampled(SEEDS, every=4, slow=SLOW)
TICK = 0.05


@cache
def loaded(seed: int) -> Problem:
    """Return the tiny problem of a seed with belts that carry, and powers that differ from band to band."""
    rng = Random(seed + 1000)
    problem = tiny_problem(seed)
    ratings = ratings_of(section("A"), flat_rim=False)
    stages = tuple(stage.model_copy(update={"ratings": ratings}) for stage in problem.stages)
    alike = rng.random() < 0.5
    bands = tuple(
        band.model_copy(update={"power_kw": 0.5 if alike else rng.choice([0.2, 0.4, 0.5])})
        for band in problem.targets.bands
    )
    targets = problem.targets.model_copy(update={"bands": bands, "power_kw": 0.5})
    return problem.model_copy(update={"stages": stages, "targets": targets})


@cache
def legal(seed: int) -> tuple[tuple[float, float, tuple[Chosen, ...]], ...]:
    """Return J, grip and sizes of every combination that keeps all rules but those of grip."""
    problem = loaded(seed)
    return tuple(
        (worth(problem, design), grip_of(problem, stages_of(design)), design)
        for design in every_design(tiny_problem(seed))
        if keeps_the_rules(problem, design)
    )


def _best(seed: int) -> float:
    return min(legal(seed), key=lambda design: design[:2])[1]


def limited(problem: Problem, grip: float) -> Problem:
    """Return a problem with a grip as a limit at every speed."""
    return problem.model_copy(update={"targets": problem.targets.model_copy(update={"least_grip": grip})})


def test_grip_binds_on_enough_problems() -> None:
    """On every tiny problem asked of some design has more grip than the best one; there are eighty and more."""
    assert len(SEEDS) >= 80
    assert all(_best(seed) < max(grip for _, grip, _ in legal(seed)) - 1e-6 for seed in GATE)


@pytest.mark.parametrize("seed", GATE)
def test_search_finds_the_best_design_of_enough_grip(seed: int) -> None:
    """With a grip as a limit the least J is that of the best of all combinations which have it."""
    problem, designs = loaded(seed), legal(seed)
    grips = sorted({grip for _, grip, _ in designs})
    for place in sorted({len(grips) // 2, len(grips) - 1, len(grips) // 4}):
        between = (grips[place] + grips[place - 1]) / 2 if place else grips[place] / 2
        truth = min(j for j, grip, _ in designs if grip >= between)
        found = search(limited(problem, between))
        assert found.proof.status == "proved"
        assert found.proof.listed == pytest.approx(truth, abs=1e-9)
    if grips[-1] > 0:
        assert search(limited(problem, grips[-1] * 1.001)).proof.status == "no design"


@pytest.mark.parametrize("seed", GATE)
def test_search_keeps_a_limit_of_one_band(seed: int) -> None:
    """Where one band only asks for grip, its speeds have it, and the design is the best that does."""
    problem, designs = loaded(seed), legal(seed)
    asking = problem.targets.bands[seed % len(problem.targets.bands)] if problem.targets.bands else None
    if asking is None or not designs:
        return

    def with_limit(grip: float) -> Problem:
        bands = tuple(
            band.model_copy(update={"least_grip": grip}) if band is asking else band for band in problem.targets.bands
        )
        return problem.model_copy(update={"targets": problem.targets.model_copy(update={"bands": bands})})

    for grip in (0.3, 0.6, 1.0):
        asked = with_limit(grip)
        truth = min(
            (
                j
                for j, _, design in designs
                if all(b.carries_kw >= b.limit_kw * (1 - 1e-9) for b in belt_grips(asked, stages_of(design)))
            ),
            default=inf,
        )
        found = search(asked)
        assert (found.proof.status == "proved") == (truth < inf)
        if found.candidate is not None:
            assert found.proof.listed == pytest.approx(truth, abs=1e-9)


@pytest.mark.parametrize("seed", sampled(GATE, every=2))
def test_the_greatest_grip_is_that_of_all_combinations(seed: int) -> None:
    """Within the slack no combination has a grip of one tick more, and none of that grip has a lower J."""
    problem, designs = loaded(seed), legal(seed)
    searched = look(problem)
    found = searched.greatest_grip()
    assert (found is None) == (not designs)
    if found is None:
        return
    most = min(j for j, _, _ in designs) + problem.targets.grip_slack
    greatest = max(grip for j, grip, _ in designs if j <= most + 1e-12)
    assert found.proved
    assert found.grip <= greatest + 1e-9
    assert greatest < found.grip + TICK + 1e-9
    assert grip_of(problem, found.candidate.stages) >= found.grip - 1e-9


def test_a_limit_that_does_not_bind_changes_nothing() -> None:
    """The best design stays the same when less grip than it has is asked for."""
    for seed in GATE[:10]:
        problem = loaded(seed)
        free = search(problem).candidate
        assert free is not None
        held = search(limited(problem, grip_of(problem, free.stages) * 0.9)).candidate
        assert held is not None
        assert held.stages == free.stages
