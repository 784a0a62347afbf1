"""The least that is turned off standing steps of a machine with a middle shaft, against every combination."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from random import Random

import pytest

from optimizer.clock import Clock
from optimizer.records.middle import MiddleCandidate, MiddleProblem, broken_middle_rules, middle_logs
from optimizer.records.problem import SideSizes
from optimizer.search.middle import search_middle
from optimizer.search.middle.skimming import SkimmedMiddle, least_middle_skimming
from optimizer.series import end_miss
from tests.oracle.middle import Design, designs_of, f_of, keeps_middle_rules
from tests.oracle.middle_instances import tiny_middle
from tests.sampled import sampled

TICK_MM = 0.5
SEEDS = sampled(range(1, 61), every=10)
"""Of tiny machines, of which some have no design."""
Steps = tuple[tuple[float, ...] | None, ...]


def turned_large(seed: int, *, shared: bool, coupled: bool) -> MiddleProblem | None:
    """Return a tiny machine whose steps stand, some too large by a few ticks and a bit, one of them open at times."""
    problem = tiny_middle(seed, shared=shared, coupled=coupled)
    found = search_middle(problem).candidate
    if found is None:
        return None
    dice = Random(f"skimmed {seed} {shared} {coupled}")
    one, other = found.stages
    cones = [
        [p.driver_mm for p in one.positions],
        [p.driven_mm for p in one.positions],
        *([] if shared else [[p.driver_mm for p in other.positions]]),
        [p.driven_mm for p in other.positions],
    ]
    steps: list[Steps] = [tuple(_cut(dice, size) for size in cone) for cone in cones]
    if dice.random() < 0.4:
        which = dice.randrange(len(steps))
        place = dice.randrange(len(steps[which]))
        steps[which] = (*steps[which][:place], None, *steps[which][place + 1 :])
    if shared:
        steps.insert(2, steps[1])
    return _standing(_tight(problem, found), steps)


def _tight(problem: MiddleProblem, found: MiddleCandidate) -> MiddleProblem:
    """Return a problem whose belts leave little more room than a design takes, and whose ends miss little more."""
    stages = []
    for stage, sizes in zip(problem.stages, found.stages, strict=True):
        centres = [p.centre_mm for p in sizes.positions]
        window = max(centres) - min(centres) + 0.1
        belts = tuple(belt.model_copy(update={"window_mm": min(belt.window_mm, window)}) for belt in stage.belts)
        stages.append(stage.model_copy(update={"belts": belts}))
    logs = sorted(middle_logs(problem, found.stages))
    miss = end_miss(logs, problem.targets.lo_rpm, problem.targets.hi_rpm)
    targets = problem.targets.model_copy(update={"end_miss_most": miss + 0.004})
    return problem.model_copy(update={"stages": (stages[0], stages[1]), "targets": targets})


def _cut(dice: Random, size: float) -> tuple[float, ...]:
    """Return a step that stands a little too large, or as it should be, with what it may be turned to."""
    more = dice.choice([0, 0, 1, 2])
    if not more:
        return (size,)
    return (size + more * TICK_MM - dice.choice([0.0, 0.2]), *(size + k * TICK_MM for k in range(more - 1, -1, -1)))


def _standing(problem: MiddleProblem, steps: Sequence[Steps]) -> MiddleProblem:
    def side(own: SideSizes, standing: Steps) -> SideSizes:
        update = {"standing_mm": standing, "placed": True, "reversible": False, "rise_mm": 0.0, "cone": False}
        return own.model_copy(update=update)

    one, other = (
        stage.model_copy(
            update={
                "driver": side(stage.driver, steps[2 * n]),
                "driven": side(stage.driven, steps[2 * n + 1]),
            }
        )
        for n, stage in enumerate(problem.stages)
    )
    return problem.model_copy(update={"stages": (one, other)})


def cost_mm(problem: MiddleProblem, design: Design) -> float:
    """Return what is turned off, that of a shared cone once."""
    total = 0.0
    for number, (stage, levels) in enumerate(zip(problem.stages, design.levels, strict=True)):
        for level, pair in enumerate(levels):
            sides = [(stage.driven, pair.driven)]
            if not (problem.shared and number == 1):
                sides.append((stage.driver, pair.driver))
            for side, step in sides:
                standing = side.standing_mm[level]
                if standing is not None:
                    total += max(standing) - step.size_mm
    return total


def least_by_trying(problem: MiddleProblem) -> tuple[float, float] | None:
    """Return the least that is turned off, with F, over all designs that do; nothing where none does."""
    best: tuple[float, float] | None = None
    for design in designs_of(problem):
        found = (round(cost_mm(problem, design), 6), f_of(problem, design))
        if (best is None or found < best) and keeps_middle_rules(problem, design):
            best = found
    return best


def agrees(problem: MiddleProblem, found: SkimmedMiddle | None) -> bool:
    """Tell whether something must be turned off, after holding what was found against every combination."""
    truth = least_by_trying(problem)
    if truth is None:
        assert found is None
        return False
    assert found is not None and found.proved
    assert found.skim_mm == pytest.approx(truth[0], abs=1e-6)
    assert found.f == pytest.approx(truth[1], abs=1e-9)
    assert broken_middle_rules(problem, found.candidate.stages) == []
    return truth[0] > 0


def test_no_less_does_it() -> None:
    """What is turned off, with F told apart on ties, is the least of all combinations tried one after another.

    With a shared cone and with two, both centre distances set by one movement and each by itself.
    """
    some = []
    for seed, shared, coupled in product(SEEDS, (True, False), (True, False)):
        problem = turned_large(seed, shared=shared, coupled=coupled)
        if problem is not None:
            some.append(agrees(problem, least_middle_skimming(problem)))
    assert sum(some) >= len(SEEDS) // 2


def test_only_speeds_that_will_do_count() -> None:
    """If the slowest speed must be 0.01 % slower than with the least skimming, more comes off; or none will do."""
    problem = turned_large(1, shared=True, coupled=False)
    assert problem is not None
    plain = least_middle_skimming(problem)
    assert plain is not None
    most = min(middle_logs(problem, plain.candidate.stages)) - 1e-4
    other = least_middle_skimming(problem, lambda logs: logs[0] < most)
    assert other is not None
    assert other.skim_mm > plain.skim_mm
    assert min(middle_logs(problem, other.candidate.stages)) < most
    assert least_middle_skimming(problem, lambda _: False) is None


def test_what_is_cut_short_is_not_proved() -> None:
    """A search that is ended at once finds nothing; one that is ended later may not say that it is the least."""
    problem = turned_large(1, shared=True, coupled=False)
    assert problem is not None
    assert least_middle_skimming(problem, clock=Clock(most=-1)) is None
    ended = [least_middle_skimming(problem, clock=Clock(most=most)) for most in range(100, 4000, 900)]
    assert all(found is None or found.proved or found.skim_mm >= 1.5 - 1e-6 for found in ended)
    assert ended[-1] is not None


def test_steps_must_have_their_levels() -> None:
    """A cone that may be read from either end cannot be skimmed: which of its steps is which is not known."""
    problem = tiny_middle(1)
    loose = problem.stages[0].driver.model_copy(update={"standing_mm": ((80.0,),) * problem.levels[0]})
    stages = (problem.stages[0].model_copy(update={"driver": loose}), problem.stages[1])
    with pytest.raises(ValueError, match="must have their positions"):
        least_middle_skimming(problem.model_copy(update={"stages": stages}))
