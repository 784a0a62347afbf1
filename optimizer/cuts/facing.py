"""How the two cones of a stage face each other: large end to small end, step to step, every belt in line."""

from __future__ import annotations

from typing import Literal

from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.cones import CutCone, CutStep
from optimizer.pipeline.job import Job
from optimizer.records.design import CheckSheet

__all__ = [
    "End",
    "cone_name",
    "ends_words",
    "facing_step",
    "large_end",
    "line_checks",
    "line_words",
    "off_line_left_mm",
    "turned_parts",
]

End = Literal["first", "last"]
LINE = "belts in line"
SAME_MM = 1e-6


def cone_name(cone: CutCone) -> str:
    """Return what papers call a cone, such as `stage 2, driver on countershaft`."""
    return f"stage {cone.stage}, {cone.side} on {cone.shaft}"


def large_end(cone: CutCone) -> End | None:
    """Return at which end the largest step lies: that of position 1, or of the last; nothing where all are equal."""
    first, last = cone.steps[0].outside_mm, cone.steps[-1].outside_mm
    if abs(first - last) < SAME_MM:
        return None
    return "first" if first > last else "last"


def facing_step(cone: CutCone, cones: tuple[CutCone, ...], step: CutStep) -> CutStep | None:
    """Return the step on the other cone of the stage that a step faces; nothing where that cone is not in the list."""
    other = next((each for each in cones if each.stage == cone.stage and each.side != cone.side), None)
    return None if other is None else next((each for each in other.steps if each.position == step.position), None)


def ends_words(cone: CutCone) -> str:
    """Return, in a sentence, which end is the large one and what it faces."""
    if len(cone.steps) == 1:
        return f"One step, which faces the one on {cone.other_shaft}."
    end = large_end(cone)
    if end is None:
        return f"All steps are equal; each faces the step of the same number on {cone.other_shaft}."
    large = 1 if end == "first" else len(cone.steps)
    small = len(cone.steps) + 1 - large
    return (
        f"Large end at step {large}, small end at step {small}; each step faces the one of the same number on "
        f"{cone.other_shaft}, so large end faces small end."
    )


def line_checks(cone: CutCone, job: Job) -> tuple[CheckSheet, ...]:
    """Return the checks that the belts of a cone's stage run in line."""
    key = cone.key.rpartition(".")[0]
    return tuple(c for c in job.design.checks if c.name.startswith(LINE) and c.where.startswith(key))


def line_words(cone: CutCone, job: Job) -> str:
    """Return, in a sentence, what proves that every belt runs in line, or why nothing does."""
    words = BenchWords.of(job.scenario)
    if len(cone.steps) == 1:
        return "One belt, set in line on the machine."
    checks = line_checks(cone, job)
    if not checks:
        key = cone.key.rpartition(".")[0]
        why = next((s.why for s in job.design.skipped if s.name == LINE and s.where.startswith(key)), "")
        return f"That the belts run in line could not be checked{': ' + why if why else ''}."
    told = [
        f"{words.most(check.value)} off at most, {words.most(check.limit)} allowed, "
        f"{'passed' if check.passed else 'FAILED'}"
        for check in checks
        if check.value is not None
    ]
    return f"Belts in line, checked for this design: {'; '.join(told)}."


def turned_parts(cone: CutCone) -> tuple[tuple[CutStep, ...], ...]:
    """Return the turned steps in runs that lie side by side, each of which is one piece of timber or metal."""
    parts: list[list[CutStep]] = []
    before = 0
    for step in cone.turned:
        if not parts or step.position != before + 1:
            parts.append([])
        parts[-1].append(step)
        before = step.position
    return tuple(map(tuple, parts))


def off_line_left_mm(cone: CutCone) -> float | None:
    """Return by how much a step's width may differ from the facing cone's before an outer belt runs out of line [mm].

    The middles of both cones being in line, the outer belts of n steps lie `(n − 1)/2` step widths from there, so the
    widths may differ by `2·(most − off)/(n − 1)`. Source: geometry. Nothing for a single step.
    """
    count = len(cone.steps)
    if count == 1:
        return None
    return min(2 * (step.off_line_most_mm - step.off_line_mm) / (count - 1) for step in cone.steps)
