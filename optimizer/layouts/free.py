"""One layout of a machine whose speeds are free as a problem in plain figures."""

from __future__ import annotations

from optimizer.layouts.coupling import coupled, within_reach
from optimizer.layouts.problem import belt_stages, problem_for, targets_of, widths_mm
from optimizer.layouts.room import in_line, refuse_crowding
from optimizer.records.layout import Layout
from optimizer.records.middle import MiddleProblem
from optimizer.records.problem import Problem, StageProblem
from optimizer.scenario import Scenario

__all__ = ["any_problem", "middle_problem"]


def any_problem(scenario: Scenario, layout: Layout) -> Problem | MiddleProblem:
    """Return everything that is known of one layout, whether its speeds make a series or are free.

    Raises
    ------
    NoDesignError
        A stage has no size, no belt, or a shaft no room: with the limit that binds.
    """
    return middle_problem(scenario, layout) if layout.free else problem_for(scenario, layout)


def middle_problem(scenario: Scenario, layout: Layout) -> MiddleProblem:
    """Return everything the search and the refinement know of one layout whose speeds are free.

    Raises
    ------
    NoDesignError
        A stage has no size, no belt, or a shaft no room: with the limit that binds.
    """
    stages, gain_out = belt_stages(scenario)
    if scenario.shared_cone:
        stages = _with_one_pitch(stages)
    refuse_crowding(scenario, widths_mm(layout, stages))
    stages = in_line(scenario, layout, within_reach(scenario, stages))
    left, couplings = coupled(scenario, stages)
    return MiddleProblem(
        motor_rpm=scenario.motor.speed_rpm,
        stages=(left[0], left[1]),
        levels=(layout.positions[0], layout.positions[1]),
        shared=scenario.shared_cone,
        coupling=couplings[0] if couplings else None,
        gain_out=gain_out,
        targets=targets_of(scenario),
    )


def _with_one_pitch(stages: list[StageProblem]) -> list[StageProblem]:
    """Return stages that share a cone, their steps as wide as the widest of either: all three cones face each other."""
    width = max(side.width_mm for stage in stages for side in (stage.driver, stage.driven))
    return [
        stage.model_copy(
            update={
                "driver": stage.driver.model_copy(update={"width_mm": width}),
                "driven": stage.driven.model_copy(update={"width_mm": width}),
            }
        )
        for stage in stages
    ]
