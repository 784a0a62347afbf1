"""Switches and three stages in the search, against looking at every combination of a tiny catalogue.

A switch is put in the place of one stage of a problem, with the ratios that some pairs of that stage have.
"""

from __future__ import annotations

from functools import cache
from math import exp, log
from random import Random

import pytest

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.records.problem import Problem, SwitchProblem
from optimizer.records.rules import broken_rules
from optimizer.records.speeds import grip_of
from optimizer.search import search
from optimizer.search.search import some_design
from tests.oracle.brute import best_by_brute_force, every_design, keeps_the_rules, stages_of, worth
from tests.oracle.choices import variants
from tests.oracle.instances import Scale, make_problem, tiny_problem
from tests.sampled import EVERYTHING, sampled

THREE = Scale(
    shapes=((2, 2, 2), (1, 2, 2), (2, 1, 2), (2, 2, 1), (2, 1, 3), (1, 3, 2)),
    sizes=(2, 4),
    sizes_of_two=(2, 3),
    belts=1,
)


@cache
def switched(seed: int) -> Problem | None:
    """Return a tiny problem with a switch in the place of one of its two stages, where it has two; else nothing."""
    problem = tiny_problem(seed)
    if len(problem.stages) != 2:
        return None
    rng = Random(f"switch {seed}")
    number = rng.randrange(2)
    stage, count = problem.stages[number], problem.layout.positions[number]
    tables = variants(stage, count)
    if count < 2 or not tables:
        return None
    ratios = [[pair.log_ratio for pair in row] for row in rng.choice(tables).rows]
    if any(not row for row in ratios):
        return None
    targets, offsets = problem.targets, problem.layout.offsets[number]
    step = log(targets.hi_rpm / targets.lo_rpm) / max(1, problem.layout.speeds - 1)
    drawn = [sorted(rng.choice(row) for row in ratios) for _ in range(rng.choice([1, 30, 200]))]
    logs = min(drawn, key=lambda each: max(abs(x - each[0] - step * k) for x, k in zip(each, offsets, strict=True)))
    if len({round(each, 3) for each in logs}) < count:
        return None
    other = problem.stages[1 - number]
    fastest = stage.gain * exp(logs[-1])
    layout = problem.layout.model_copy(
        update={
            "positions": (problem.layout.positions[1 - number],),
            "offsets": (problem.layout.offsets[1 - number],),
            "switched": (problem.layout.offsets[number],),
        }
    )
    change = {
        "layout": layout,
        "stages": (other.model_copy(update={"gain": other.gain * (fastest if number == 0 else 1)}),),
        "gain_out": problem.gain_out * (fastest if number == 1 else 1),
        "switches": (SwitchProblem(key="switch", before=number, shares=tuple(exp(each - logs[-1]) for each in logs)),),
    }
    return problem.model_copy(update=change)


DRAWN = (
    0, 6, 7, 9, 10, 11, 12, 19, 20, 24, 25, 26, 27, 29, 37, 38, 40, 44, 48, 50, 58, 61, 62, 63, 64, 68, 69, 74, 75,
    83, 84, 92, 93, 99, 103, 106, 112, 116, 118, 120, 122, 134, 135, 144, 145, 151, 152, 153, 155, 156, 158, 159,
    161, 168, 175, 182, 188, 189, 191, 192, 193, 196, 202, 204, 209, 210, 211, 212, 219, 220, 223, 225, 226, 227,
    228, 230, 233, 236, 238, 240, 241, 243, 244, 247, 251, 252, 256, 258, 263, 265, 271, 282, 283, 285, 286, 290,
    291, 293, 301, 307, 312, 317, 318, 320, 322, 323, 324, 325, 328, 331, 333, 340, 346, 348, 349, 351, 356, 368,
    376, 381, 389, 391,
)  # fmt: skip
"""Those of 400 seeds that draw a machine with a switch; written down, as drawing them all takes ten seconds."""
SEEDS = sampled(DRAWN, every=4)


def test_the_seeds_are_those_that_draw_a_switch() -> None:
    """What is written down is what is drawn: of the first forty seeds, of all where everything is asked."""
    looked_at = range(400 if EVERYTHING else 40)
    assert [seed for seed in looked_at if switched(seed) is not None] == [seed for seed in DRAWN if seed in looked_at]


def test_there_are_enough_switches() -> None:
    """Before and behind the belt, with and without a design."""
    problems = [problem for seed in SEEDS if (problem := switched(seed))]
    assert {problem.switches[0].before for problem in problems} == {0, 1}
    solved = sum(best_by_brute_force(problem) is not None for problem in problems)
    assert len(problems) / 8 <= solved <= 7 * len(problems) / 8


@pytest.mark.parametrize("seed", SEEDS)
def test_search_finds_what_looking_at_everything_finds(seed: int) -> None:
    """The least J is that of the best of all combinations, and there is none only where none keeps the rules."""
    problem = switched(seed)
    assert problem is not None
    truth = best_by_brute_force(problem)
    found = search(problem)
    if truth is None:
        assert (found.proof.status, found.candidate) == ("no design", None)
        assert some_design(problem).candidate is None
        return
    assert found.proof.status == "proved"
    assert found.proof.listed == pytest.approx(truth[0], abs=1e-9)
    assert found.proof.structural <= truth[0] + 1e-9


@pytest.mark.parametrize("seed", SEEDS)
def test_grip_is_held_at_every_setting(seed: int) -> None:
    """With a grip as a limit the least J is that of the best of all combinations which have it at every setting.

    The truth of what a belt carries at a speed is that of the records, where the driver's speed is written out.
    """
    bare = switched(seed)
    assert bare is not None
    ratings = ratings_of(section("A"), flat_rim=False)
    stages = tuple(stage.model_copy(update={"ratings": ratings}) for stage in bare.stages)
    targets = bare.targets.model_copy(
        update={
            "power_kw": 0.5,
            "bands": tuple(band.model_copy(update={"power_kw": 0.5}) for band in bare.targets.bands),
        }
    )
    problem = bare.model_copy(update={"stages": stages, "targets": targets})
    designs = [
        (worth(problem, design), grip_of(problem, stages_of(design)))
        for design in every_design(bare)
        if keeps_the_rules(bare, design)
    ]
    for limit in sorted({grip for _, grip in designs})[:: max(1, len(designs) // 3)]:
        asked = targets.model_copy(update={"least_grip": limit * 0.9999})
        found = search(problem.model_copy(update={"targets": asked}))
        assert found.proof.status == "proved"
        assert found.proof.listed == pytest.approx(min(j for j, grip in designs if grip >= limit), abs=1e-9)
    most = max((grip for _, grip in designs), default=0.0)
    if most > 0:
        asked = targets.model_copy(update={"least_grip": most * 1.001})
        assert search(problem.model_copy(update={"targets": asked})).proof.status == "no design"


@pytest.mark.parametrize("seed", SEEDS[::3])
def test_the_rules_of_the_records_agree(seed: int) -> None:
    """A combination keeps the rules as written for looking at everything just when no rule of the records is broken."""
    problem = switched(seed)
    assert problem is not None
    for design in list(every_design(problem))[::7]:
        assert keeps_the_rules(problem, design) == (broken_rules(problem, stages_of(design)) == [])


@pytest.mark.parametrize("seed", sampled(range(60), every=4))
def test_three_stages_are_searched_like_two(seed: int) -> None:
    """Chains of three belts, whose best is that of all combinations."""
    problem = make_problem(seed, THREE)
    truth = best_by_brute_force(problem)
    found = search(problem)
    assert (found.candidate is None) == (truth is None)
    if truth is not None:
        assert found.proof.status == "proved"
        assert found.proof.listed == pytest.approx(truth[0], abs=1e-9)
