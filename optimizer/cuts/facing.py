"""How the cones of a stage face each other: large end to small end, step to step, every belt in line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple

from optimizer.cuts.bench_words import BenchWords, listed
from optimizer.cuts.cones import CutCone, CutStep, Faced
from optimizer.pipeline.job import Job
from optimizer.records.design import CheckSheet

__all__ = [
    "End",
    "FacingStep",
    "cone_name",
    "doing_words",
    "ends_words",
    "facing_steps",
    "large_end",
    "line_checks",
    "line_words",
    "off_line_left_mm",
    "step_words",
    "turned_parts",
]

End = Literal["first", "last"]
LINE = "belts in line"
SAME_MM = 1e-6


class FacingStep(NamedTuple):
    """A step that a step faces."""

    shaft: str
    number: int
    """Of the step there, counted from 1."""
    step: CutStep | None
    """Nothing where that cone is not in the list."""


def cone_name(cone: CutCone) -> str:
    """Return what papers call a cone.

    Such as `stage 2, driver on countershaft`; where two belts share it `stage 1, driven, and stage 2, driver, on
    middle`.
    """
    if cone.second_stage is None:
        return f"stage {cone.stage}, {cone.side} on {cone.shaft}"
    return f"stage {cone.stage}, {cone.side}, and stage {cone.second_stage}, driver, on {cone.shaft}"


def doing_words(cone: CutCone) -> str:
    """Return which stages a cone serves: `driver of stage 2`, `driven of stage 1, driver of stage 2`."""
    second = "" if cone.second_stage is None else f", driver of stage {cone.second_stage}"
    return f"{cone.side} of stage {cone.stage}{second}"


def step_words(cone: CutCone, step: CutStep) -> str:
    """Return which position lies on a step; on a cone that two belts share that of either belt.

    Such as `position 2`; on a shared one `position 2 of belt 1, 3 of belt 2`.
    """
    if step.second_position is None:
        return f"position {step.position}"
    return f"position {step.position} of belt {cone.stage}, {step.second_position} of belt {cone.second_stage}"


def large_end(cone: CutCone) -> End | None:
    """Return at which end the largest step lies: that of position 1, or of the last; nothing where all are equal."""
    first, last = cone.steps[0].outside_mm, cone.steps[-1].outside_mm
    if abs(first - last) < SAME_MM:
        return None
    return "first" if first > last else "last"


def facing_steps(cone: CutCone, cones: tuple[CutCone, ...], step: CutStep) -> tuple[FacingStep, ...]:
    """Return the step on the other cone of the stage that a step faces; two where two belts share the cone."""
    return tuple(_facing(cone, cones, step, faced) for faced in cone.faces)


def _facing(cone: CutCone, cones: tuple[CutCone, ...], step: CutStep, faced: Faced) -> FacingStep:
    number = faced.number(step.position, len(cone.steps))
    there = (each for each in cones if faced.stage in (each.stage, each.second_stage) and each.key != cone.key)
    steps = next((each.steps for each in there), ())
    return FacingStep(faced.shaft, number, next((each for each in steps if each.position == number), None))


def ends_words(cone: CutCone) -> str:
    """Return, in sentences, which end is the large one and what it faces."""
    if len(cone.steps) == 1:
        return f"One step, which faces the one on {listed([faced.shaft for faced in cone.faces])}."
    end = large_end(cone)
    if end is None:
        return " ".join((f"All steps are equal; {_each_faces(cone)}.", *_backward_words(cone)))
    large = 1 if end == "first" else len(cone.steps)
    small = len(cone.steps) + 1 - large
    said = f"Large end at step {large}, small end at step {small}; {_each_faces(cone)}, so large end faces small end."
    return " ".join((said, *_backward_words(cone)))


def _each_faces(cone: CutCone) -> str:
    """Return which step each step faces, of the cone whose belt comes first."""
    first = cone.faces[0]
    if first.backward:
        last = len(cone.steps)
        return f"step 1 faces step {last} on {first.shaft}, and so on to step {last}, which faces step 1"
    return f"each step faces the one of the same number on {first.shaft}"


def _backward_words(cone: CutCone) -> Iterator[str]:
    """Yield what the second belt of a shared cone faces."""
    last = len(cone.steps)
    for faced in cone.faces[1:]:
        yield (
            f"It is the driver of stage {cone.second_stage} too: step 1 faces step {last} on {faced.shaft}, and so on "
            f"to step {last}, which faces step 1. No step carries both belts at once."
        )


def line_checks(cone: CutCone, job: Job) -> tuple[CheckSheet, ...]:
    """Return the checks that the belts of a cone's stage, or stages, run in line."""
    return tuple(c for c in job.design.checks if c.name.startswith(LINE) and c.where.startswith(_keys(cone, job)))


def _keys(cone: CutCone, job: Job) -> tuple[str, ...]:
    """Return the places in the scenario of the stages whose belts run on a cone."""
    return tuple(job.design.machine.stages[faced.stage - 1].key for faced in cone.faces)


def line_words(cone: CutCone, job: Job) -> str:
    """Return, in a sentence, what proves that every belt runs in line, or why nothing does."""
    words = BenchWords.of(job.scenario)
    if len(cone.steps) == 1:
        return f"{'One belt' if len(cone.faces) == 1 else 'Two belts'}, set in line on the machine."
    checks = line_checks(cone, job)
    if not checks:
        keys = _keys(cone, job)
        why = next((s.why for s in job.design.skipped if s.name == LINE and s.where.startswith(keys)), "")
        return f"That the belts run in line could not be checked{': ' + why if why else ''}."
    several = len(cone.faces) > 1
    told = [
        f"{f'belt {_belt(check, cone, job)}, ' if several else ''}{words.most(check.value)} off at most, "
        f"{words.most(check.limit)} allowed, {'passed' if check.passed else 'FAILED'}"
        for check in checks
        if check.value is not None
    ]
    return f"Belts in line, checked for this design: {'; '.join(told)}."


def _belt(check: CheckSheet, cone: CutCone, job: Job) -> int:
    """Return the stage, counted from 1, whose belt a check is of."""
    stages = zip(cone.faces, _keys(cone, job), strict=True)
    return next(faced.stage for faced, key in stages if check.where.startswith(key))


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
