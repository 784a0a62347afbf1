"""What mounts leave to belts: how near and far each brings its shafts, what one leaves to several belts."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from optimizer.errors import NoDesignError
from optimizer.geometry.settings import Path
from optimizer.records.coupling import Coupling, SharedBelt
from optimizer.records.problem import BeltChoice, Problem, StageProblem
from optimizer.scenario import BeltStage, Scenario
from optimizer.scenario.mounts import SharedMount, lone_paths, shared_mounts, taken_mm

__all__ = ["coupled", "narrowed", "with_couplings", "within_reach"]

EPSILON_MM = 1e-6
"""What rounding may make of a window [mm]."""


def with_couplings(scenario: Scenario, problem: Problem) -> Problem:
    """Return a problem with what its shared mounts ask.

    Raises
    ------
    NoDesignError
        Tolerance and stretch leave nothing of what any belt forgives.
    """
    stages, couplings = coupled(scenario, problem.stages)
    if not couplings:
        return problem
    return narrowed(problem.model_copy(update={"stages": stages, "couplings": couplings}))


def coupled(
    scenario: Scenario, belt_stages: Sequence[StageProblem]
) -> tuple[tuple[StageProblem, ...], tuple[Coupling, ...]]:
    """Return belt stages with what their shared mounts leave them, and these mounts.

    What the length tolerance and the stretch of a belt take of its `fit` is gone for its positions.

    Raises
    ------
    NoDesignError
        Tolerance and stretch leave nothing of what any belt forgives.
    """
    mounts = shared_mounts(scenario.shafts, scenario.stages)
    numbers = {stage.key: number for number, stage in enumerate(belt_stages)}
    stages, couplings = list(belt_stages), []
    for common in mounts:
        belts = tuple(
            SharedBelt(stage=numbers[f"stage[{place}]"], path=path, travel_mm=_belt(scenario, place).travel_mm)
            for place, path in zip(common.stages, common.paths, strict=True)
        )
        place = next(f"shaft[{n}]" for n, shaft in enumerate(scenario.shafts) if shaft.name == common.mount)
        couplings.append(Coupling(key=place, shaft=common.mount, belts=belts))
        for belt, taken in zip(belts, taken_mm(scenario.stages, common.stages), strict=True):
            stages[belt.stage] = _left(stages[belt.stage], taken, common)
    return tuple(stages), tuple(couplings)


def within_reach(scenario: Scenario, belt_stages: Sequence[StageProblem]) -> list[StageProblem]:
    """Return belt stages with the centre distances that a mount of their own can bring, belts fitted and worn out.

    A hinge brings shafts no nearer than the difference of its arms, no farther apart than their sum; a slide no nearer
    than its line passes. What fitting and wear need beyond the running places is the most that any belt needs.

    Raises
    ------
    NoDesignError
        It brings them within no centre distance that is stated.
    """
    paths = {f"stage[{number}]": path for number, path in lone_paths(scenario.shafts, scenario.stages).items()}
    found = []
    for stage in belt_stages:
        near, far = paths[stage.key].span_mm if stage.key in paths else (0.0, inf)
        low = max(stage.centre_mm[0], near + max(belt.inward_mm for belt in stage.belts) if near > 0 else 0.0)
        high = min(stage.centre_mm[1], far - max(belt.outward_mm for belt in stage.belts))
        if low > high:
            reach = f"from {near:.4g} mm on" if far == inf else f"from {near:.4g} to {far:.4g} mm"
            raise NoDesignError(
                f"{stage.key}: its mount brings the shafts {reach} apart, which with what fitting and wear of a belt "
                f"need leaves no centre distance of {stage.centre_mm[0]:.4g} to {stage.centre_mm[1]:.4g} mm; mend the "
                "places of shafts and hinge, or centres"
            )
        found.append(stage.model_copy(update={"centre_mm": (low, high)}))
    return found


def narrowed(problem: Problem) -> Problem:
    """Return a problem with the windows of stages on shared mounts no wider than any design can use.

    Every position of one stage runs at some setting at which any one position of another stage runs. So the own centre
    distances of one lie no farther apart than what its belt forgives and how much its centre distance changes over the
    settings at which a belt of the other runs. No design is lost; the search has less to look at.
    """
    stages = list(problem.stages)
    for coupling in problem.couplings:
        widths = [_width_mm(problem.stages[belt.stage], belt.path) for belt in coupling.belts]
        for number, belt in enumerate(coupling.belts):
            most = min(width for other, width in enumerate(widths) if other != number) * belt.path.steepest
            stages[belt.stage] = _within(stages[belt.stage], most)
    return problem.model_copy(update={"stages": tuple(stages)})


def _belt(scenario: Scenario, place: int) -> BeltStage:
    stage = scenario.stages[place]
    assert isinstance(stage, BeltStage)
    return stage


def _left(stage: StageProblem, taken_mm: float, common: SharedMount) -> StageProblem:
    belts = tuple(
        belt.model_copy(update={"forgives_mm": max(belt.forgives_mm - taken_mm, 0.0)})
        for belt in stage.belts
        if belt.forgives_mm - taken_mm >= -EPSILON_MM
    )
    if not belts:
        raise NoDesignError(
            f"{stage.key}: length tolerance and stretch of {taken_mm:.3g} mm are more than any of its belts forgives, "
            f"and one movement of {common.mount} cannot take up those of several belts; "
            'state lengths = "any", or what takes them up under slackened'
        )
    return stage.model_copy(update={"belts": belts})


def _width_mm(stage: StageProblem, path: Path) -> float:
    """Return over how many settings a belt of the stage runs at the most.

    Settings to a millimetre of centre distance are most at one end of the centre distances, or the other.
    """
    half = max(belt.forgives_mm for belt in stage.belts) / 2
    ends = [abs(float(path.setting_mm(c + half)) - float(path.setting_mm(c - half))) for c in stage.centre_mm]
    low, high = path.span_mm
    turning = stage.centre_mm[0] - half < low or stage.centre_mm[1] + half > high
    return inf if turning else max(ends)


def _within(stage: StageProblem, most_mm: float) -> StageProblem:
    def within(belt: BeltChoice) -> BeltChoice:
        return belt.model_copy(update={"window_mm": min(belt.window_mm, belt.forgives_mm + most_mm + EPSILON_MM)})

    return stage.model_copy(update={"belts": tuple(within(belt) for belt in stage.belts)})
