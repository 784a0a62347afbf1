"""Limits narrowed by what a design failed, so that the next search keeps clear of it.

Some rules hold between all that a machine is made of, and the search knows only those of its stages. What a check
lacks then says how far a plain limit has to go: how much nearer the shafts may not come, how much smaller a cone is.
"""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.checks import Check
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.problem import Problem, SideSizes, StageProblem

__all__ = ["MOST_TIGHTENED", "tightened"]

MOST_TIGHTENED = 4
"""How often the limits of one layout are narrowed before it is given up."""
CLEAR_MM = 0.01
"""How far beyond what a check lacks a limit is put."""


def tightened(problem: Problem, built: BuiltMachine, failed: Sequence[Check]) -> Problem | None:
    """Return a problem with limits narrowed by what a design of it lacks; nothing where that is not to be had by them.

    Parameters
    ----------
    problem
        What was searched.
    built
        The design that fails.
    failed
        The checks that it fails.
    """
    stages = list(problem.stages)
    for check in failed:
        number = next((n for n, stage in enumerate(stages) if check.where.startswith(stage.key)), None)
        narrower = None if number is None else _narrower(stages[number], built.stages[number], check)
        if number is None or narrower is None:
            return None
        stages[number] = narrower
    return problem.model_copy(update={"stages": tuple(stages)})


def _narrower(stage: StageProblem, built: BuiltStage, check: Check) -> StageProblem | None:
    lack_mm = -check.margin + CLEAR_MM
    low, high = stage.centre_mm
    update: dict[str, object] = {}
    inward, outward = next((b.inward_mm, b.outward_mm) for b in stage.belts if b.marking == built.marking)
    if check.name in ("belt-on centre distance", "nearest that the mount brings the shafts"):
        update["centre_mm"] = low, high = max(low, check.limit + inward + CLEAR_MM), high
    elif check.name == "farthest that the mount brings the shafts":
        update["centre_mm"] = low, high = low, min(high, check.limit - outward - CLEAR_MM)
    elif check.name == "room around":
        # of a belt alone, both its cones; what a place along the shaft would mend is the maker's
        for name, outside_mm in (("driver", built.driver_outside_mm), ("driven", built.driven_outside_mm)):
            if check.where in (stage.key, f"{stage.key}.{name}"):
                side = getattr(stage, name)
                smaller = _smaller(side, max(outside_mm) - side.outside_shift_mm - 2 * lack_mm)
                if smaller is None:
                    return None
                update[name] = smaller
    return stage.model_copy(update=update) if update and low <= high else None


def _smaller(side: SideSizes, most_mm: float) -> SideSizes | None:
    """Return a side with no step above a pitch diameter; nothing where none is left, or where its steps stand."""
    if side.standing_mm:
        return None
    turned = side.turned_mm and (side.turned_mm[0], min(side.turned_mm[1], most_mm))
    if turned and turned[0] > turned[1]:
        turned = None
    ready = tuple(size for size in side.ready_mm if size <= most_mm)
    if turned is None and not ready:
        return None
    listed = tuple(size for size in side.listed_mm if turned and size <= turned[1])
    return side.model_copy(update={"turned_mm": turned, "listed_mm": listed, "ready_mm": ready})
