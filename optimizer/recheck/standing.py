"""A made machine as a problem of the search: what every step that stands may still become."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise, product
from math import ceil, floor, inf, prod
from typing import NamedTuple, TypeVar

from optimizer.catalogue.lengths import stock_lengths
from optimizer.errors import NoDesignError
from optimizer.layouts.free import any_problem
from optimizer.recheck.made import MadeMachine, layout_of
from optimizer.recheck.sizes import StepKnown
from optimizer.records.candidate import StageSizes
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.records.problem import BeltChoice, Problem, SideSizes, StageProblem
from optimizer.scenario import BeltStage, Scenario
from optimizer.scoring import ADVISED_END_MISS, ADVISED_UNEVENNESS

__all__ = [
    "MOST_SIZES",
    "as_it_stands",
    "by_position",
    "for_belts",
    "held",
    "skim_sizes_mm",
    "standing_problem",
    "too_small",
    "with_belts",
    "with_open_listed",
    "with_open_ticked",
    "with_stock_belts",
    "within_advice",
]

MOST_SIZES = 60
"""A step is looked at in no more sizes than this."""
MOST_ROWS = 150_000
"""Choices of the steps of one level, on ticks, that are looked at."""
MOST_TOGETHER = 3_000_000
"""The same with every size at every level, before those that may not stand there are left out."""
SAME_MM = 1e-6
P = TypeVar("P", Problem, MiddleProblem)


class SkimSizes(NamedTuple):
    """What a step may be, as measured first, then skimmed."""

    sizes_mm: tuple[float, ...]
    deepest_mm: float = inf
    """How much of skimming is in them, infinite where all that is allowed is."""


class Standing(NamedTuple):
    """A made machine as a problem."""

    problem: Problem | MiddleProblem
    deepest_mm: float
    """How much was looked at of every step, infinite where all that is allowed was."""


def skim_sizes_mm(step: StepKnown, side: SideSizes) -> SkimSizes:
    """Return the sizes that a measured step may have.

    Skimmed sizes are whole ticks of `making.turn_to` on what the maker measures, not below the side's limit. Pulleys
    that are used as they are are not skimmed.
    """
    assert step.size is not None
    now = step.size.pitch_mm
    if step.designed.source != "turned" or side.turned_mm is None:
        return SkimSizes((now,))
    told = step.bench(now)
    shift = now - told.mm if told.how != "belt top" else now
    least, tick = side.turned_mm[0], side.tick_mm
    first = ceil((now - shift) / tick - SAME_MM) - 1
    sizes = [now]
    for k in range(first, first - MOST_SIZES, -1):
        size = k * tick + shift
        if size < least - SAME_MM:
            return SkimSizes(tuple(sizes))
        sizes.append(size)
    return SkimSizes(tuple(sizes), now - sizes[-1] if sizes[-1] - tick >= least - SAME_MM else inf)


def too_small(made: MadeMachine, steps: tuple[StepKnown, ...]) -> tuple[StepKnown, ...]:
    """Return the turned steps below the limit of their side by more than their reading can tell."""
    found = []
    for step in steps:
        limits = getattr(made.problem.stages[step.stage], step.side).turned_mm
        if step.size is None or step.designed.source != "turned" or limits is None:
            continue
        if step.size.pitch_mm < limits[0] - 2 * step.size.standard_mm - SAME_MM:
            found.append(step)
    return tuple(found)


def standing_problem(made: MadeMachine, steps: tuple[StepKnown, ...], *, anew: tuple[StepKnown, ...] = ()) -> Standing:
    """Return the problem with every step that stands as it may be skimmed.

    Parameters
    ----------
    made
        The machine with the belts it may run on.
    steps
        Every step; those not turned yet are open.
    anew
        Steps that are to be made anew, and so are open too.
    """
    stages = []
    deepest = inf
    for number, rules in enumerate(made.problem.stages):
        sides = {}
        for name in ("driver", "driven"):
            side: SideSizes = getattr(rules, name)
            own = [s for s in steps if (s.stage, s.side) == (number, name)]
            standing: list[tuple[float, ...] | None] = []
            for step in own:
                if step in anew or step.state == "not turned":
                    standing.append(None)
                elif step.size is None:
                    standing.append((step.designed.pitch_mm,))
                else:
                    skims = skim_sizes_mm(step, side)
                    standing.append(skims.sizes_mm)
                    deepest = min(deepest, skims.deepest_mm)
            sides[name] = _side(side, standing, falling=name == "driven")
        stages.append(rules.model_copy(update=sides))
    if isinstance(made.problem, MiddleProblem):
        return Standing(in_levels(made.problem, (stages[0], stages[1])), deepest)
    problem = made.problem.model_copy(update={"stages": tuple(stages), "pieces": (), "discs": ()})
    return Standing(problem, deepest)


def within_advice(problem: Problem | MiddleProblem, ratio: float) -> Problem | MiddleProblem:
    """Return a problem whose limits of end miss and unevenness are those that are advised.

    Where speeds are free the unevenness is the plate's, and no limit of the problem.

    Parameters
    ----------
    problem
        The problem.
    ratio
        Ratio φ of the series.
    """
    targets = problem.targets
    most = {
        "end_miss_most": min(targets.end_miss_most, ADVISED_END_MISS),
        "unevenness_most": min(targets.unevenness_most, ADVISED_UNEVENNESS * (ratio - 1)),
    }
    return problem.model_copy(update={"targets": targets.model_copy(update=most)})


def as_it_stands(problem: P) -> P:
    """Return a problem in which no step that stands may be skimmed."""

    def first(side: SideSizes) -> SideSizes:
        return side.model_copy(update={"standing_mm": tuple(None if s is None else s[:1] for s in side.standing_mm)})

    return _with_sides(problem, first)


def with_open_listed(problem: Problem) -> Problem:
    """Return a problem in which open steps that face open steps have the listed sizes only.

    Over whole ticks on both sides there would be too many pairs of them to look at.
    """

    def listed(side: SideSizes) -> SideSizes:
        sizes = tuple(sorted({*side.ready_mm, *side.listed_mm}))
        return side.model_copy(update={"ready_mm": sizes, "turned_mm": None, "listed_mm": ()})

    stages = []
    for stage in problem.stages:
        a, b = stage.driver.standing_mm, stage.driven.standing_mm
        facing = not a or not b or any(one is None and other is None for one, other in zip(a, b, strict=True))
        if facing and stage.driver.turned_mm is not None and stage.driven.turned_mm is not None:
            stage = stage.model_copy(update={"driver": listed(stage.driver), "driven": listed(stage.driven)})
        stages.append(stage)
    if all(one is other for one, other in zip(stages, problem.stages, strict=True)):
        return problem
    return problem.model_copy(update={"stages": tuple(stages)})


def with_belts(problem: Problem | MiddleProblem, belts: tuple[tuple[BeltChoice, ...], ...]) -> Problem | MiddleProblem:
    """Return a problem with the belts that each stage may take."""
    stages = tuple(s.model_copy(update={"belts": own}) for s, own in zip(problem.stages, belts, strict=True))
    return problem.model_copy(update={"stages": stages})


def with_stock_belts(made: MadeMachine) -> MadeMachine:
    """Return the machine with every belt of its sections that the scenario allows, or that shops keep."""
    scenario = made.scenario
    widened = []
    for stage in scenario.stages:
        if isinstance(stage, BeltStage) and not isinstance(stage.belt.lengths, str) and _kept(stage):
            update = {"lengths": "stock", "shortest_mm": 0.0, "longest_mm": inf, "measured": "datum"}
            stage = stage.model_copy(update={"belt": stage.belt.model_copy(update=update)})
        widened.append(stage)
    wide = scenario.model_copy(update={"stages": tuple(widened)})
    belts = [list(rules.belts) for rules in made.problem.stages]
    for own, more in zip(belts, _problem(wide, made), strict=True):
        own += (belt for belt in more if not any(abs(belt.length_mm - there.length_mm) < SAME_MM for there in own))
    problem = with_belts(made.problem, tuple(map(tuple, belts)))
    return MadeMachine(made.job, wide, problem, made.belts)


def for_belts(made: MadeMachine, wide: MadeMachine, belts: tuple[BeltChoice, ...]) -> Scenario:
    """Return the scenario that some belts are judged by: stages are as stated, but for those with a belt that is not.

    Parameters
    ----------
    made
        The machine as stated.
    wide
        The machine with more belts.
    belts
        Those of its belts that are tried, one of every stage.
    """
    keys = {rules.key for rules, belt in zip(made.problem.stages, belts, strict=True) if belt not in rules.belts}
    stages = (
        more if made.scenario.place_of(own) in keys else own
        for own, more in zip(made.scenario.stages, wide.scenario.stages, strict=True)
    )
    return made.scenario.model_copy(update={"stages": tuple(stages)})


def _problem(scenario: Scenario, made: MadeMachine) -> list[tuple[BeltChoice, ...]]:
    try:
        return [rules.belts for rules in any_problem(scenario, layout_of(made.job)).stages]
    except NoDesignError:
        return [() for _ in made.problem.stages]


def _kept(stage: BeltStage) -> bool:
    section = stage.belt.data
    return section.default_series is not None and not stage.belt.link and bool(stock_lengths(section))


def _side(side: SideSizes, standing: list[tuple[float, ...] | None], *, falling: bool) -> SideSizes:
    """Return a side with its standing steps; they are as they are, however little neighbours differ."""
    if all(sizes is None for sizes in standing):
        return side
    there = [sizes[0] for sizes in standing if sizes is not None]
    rising = there[::-1] if falling else there
    ordered = all(a <= b + SAME_MM for a, b in pairwise(rising))
    update = {
        "standing_mm": tuple(standing),
        "placed": True,
        "reversible": False,
        "rise_mm": 0.0,
        "cone": side.cone and ordered,
        "scarce_mm": (),
        "scarce_above_mm": inf,
        "overhang": 0,
    }
    return side.model_copy(update=update)


def _with_sides(problem: P, change: Callable[[SideSizes], SideSizes]) -> P:
    stages = tuple(
        s.model_copy(update={"driver": change(s.driver), "driven": change(s.driven)}) for s in problem.stages
    )
    return problem.model_copy(update={"stages": stages})


def by_position(candidate: MiddleCandidate) -> tuple[StageSizes, StageSizes]:
    """Return the sizes of both belts by their positions, slowest first."""
    first, second = candidate.stages
    if candidate.problem.shared:
        second = second.model_copy(update={"positions": second.positions[::-1]})
    return first, second


def in_levels(problem: MiddleProblem, stages: tuple[StageProblem, StageProblem]) -> MiddleProblem:
    """Return a problem with stages whose standing steps are told by position, slowest first.

    What stands of a shared cone is taken from the first belt's driven side.
    """
    first, second = stages
    if problem.shared:
        shared = first.driven
        same = ("standing_mm", "placed", "reversible", "rise_mm", "cone", "scarce_mm", "scarce_above_mm", "overhang")
        driver = second.driver.model_copy(update={name: getattr(shared, name) for name in same})
        driven = second.driven.model_copy(update={"standing_mm": second.driven.standing_mm[::-1]})
        second = second.model_copy(update={"driver": driver, "driven": driven})
    return problem.model_copy(update={"stages": (first, second)})


def held(problem: P, stages: Sequence[StageSizes]) -> P:
    """Return a problem with the belts, and its standing steps at the sizes, that were chosen."""

    def side(own: SideSizes, sizes_mm: list[float]) -> SideSizes:
        if not own.standing_mm:
            return own
        standing = (None if s is None else (mm,) for s, mm in zip(own.standing_mm, sizes_mm, strict=True))
        return own.model_copy(update={"standing_mm": tuple(standing)})

    chosen = []
    for rules, sizes in zip(problem.stages, stages, strict=True):
        driver = side(rules.driver, [p.driver_mm for p in sizes.positions])
        driven = side(rules.driven, [p.driven_mm for p in sizes.positions])
        chosen.append(rules.model_copy(update={"driver": driver, "driven": driven, "belts": (sizes.belt,)}))
    return problem.model_copy(update={"stages": tuple(chosen)})


def with_open_ticked(problem: MiddleProblem) -> MiddleProblem:
    """Return a problem whose open steps may have any whole tick; itself where there would be too many to look at.

    So there are with levels that are open on every side, which stand for rays of listed sizes.
    """
    sides = [side for stage in problem.stages for side in (stage.driver, stage.driven)]
    ticked = [_ticked(side) for side in sides]
    changed = problem.model_copy(
        update={
            "stages": tuple(
                stage.model_copy(update={"driver": ticked[2 * n], "driven": ticked[2 * n + 1]})
                for n, stage in enumerate(problem.stages)
            )
        }
    )
    groups = [[0, 1, 3]] if problem.shared else [[0, 1], [2, 3]]
    for group, levels in product(groups, [range(max(problem.levels))]):
        own = [ticked[n] for n in group]
        if prod(len(side.fixed_mm) + len(side.listed_mm) for side in own) > MOST_TOGETHER:
            return problem
        for level in levels:
            counts = [_count(side, level) for side in own]
            if all(_open_at(side, level) for side in own) or prod(counts) > MOST_ROWS:
                return problem
    return changed


def _open_at(side: SideSizes, level: int) -> bool:
    return not side.standing_mm or (level < len(side.standing_mm) and side.standing_mm[level] is None)


def _count(side: SideSizes, level: int) -> int:
    if _open_at(side, level):
        return len(side.listed_mm) + len(side.ready_mm)
    return len(side.standing_mm[level] or ()) if level < len(side.standing_mm) else 1


def _ticked(side: SideSizes) -> SideSizes:
    """Return a side with every whole tick that may be turned; none listed where no step is open."""
    if side.turned_mm is None:
        return side
    if side.standing_mm and None not in side.standing_mm:
        return side.model_copy(update={"listed_mm": ()})
    low, high = ((end - side.given_shift_mm) / side.tick_mm for end in side.turned_mm)
    ticks = range(ceil(low - SAME_MM), floor(high + SAME_MM) + 1)
    return side.model_copy(update={"listed_mm": tuple(k * side.tick_mm + side.given_shift_mm for k in ticks)})
