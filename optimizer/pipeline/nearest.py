"""Changes that would give a design where there is none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from optimizer.records.layout import Layout
from optimizer.records.problem import Problem, SideSizes, StageProblem, Targets
from optimizer.scoring import Score, score
from optimizer.search import Stop, search

__all__ = ["nearest_changes"]

SHARES = (0.05, 0.1, 0.2, 0.4)
"""By what share a length is let out, least first."""
EXTRA_MM = (5.0, 10.0, 20.0, 40.0)
"""Travel added, least first."""
LOOSE = 1.0
"""Limit of end miss and unevenness that rules out next to nothing."""
FEW = 4
"""Layouts tried with each change, those of most speeds first."""


class Change(NamedTuple):
    """One relaxation, with what is said of it where it gives a design."""

    said: str
    problem: Problem


def nearest_changes(stated: Sequence[tuple[Layout, Problem | str]], *, stop: Stop | None) -> tuple[str, ...]:
    """Return changes of a single kind that each give a design, the least of every kind.

    Limits on end miss and unevenness are let out, wants lowered, travel added, largest sizes and centre
    distances let out, in small steps, for the layouts that make most speeds.
    """
    problems = [problem for _, problem in stated if not isinstance(problem, str)]
    problems.sort(key=lambda problem: -problem.layout.speeds)
    found = []
    for kind in (_looser_series, _fewer_wants, _more_travel, _larger_sizes, _wider_centres):
        for changes in zip(*(tuple(kind(problem)) for problem in problems[:FEW]), strict=True):
            said = next((s for s in (_gives(change, stop) for change in changes) if s), None)
            if said:
                found.append(said)
                break
    return tuple(found)


def _gives(change: Change, stop: Stop | None) -> str | None:
    candidate = search(change.problem, stop=stop).candidate
    if candidate is None:
        return None
    figures = score(change.problem, candidate.stages)
    return f"{change.said.format(**_figures(figures))} (layout {change.problem.layout.title})"


def _figures(figures: Score) -> dict[str, str]:
    return {"miss": f"{figures.end_miss:.1%}", "delta": f"{figures.unevenness:.1%}"}


def _with_targets(problem: Problem, targets: Targets) -> Problem:
    return problem.model_copy(update={"targets": targets})


def _looser_series(problem: Problem) -> Iterator[Change]:
    targets = problem.targets.model_copy(update={"end_miss_most": LOOSE, "unevenness_most": LOOSE})
    said = "with series.end_miss of at least {miss} and series.unevenness of at least {delta}"
    yield Change(said, _with_targets(problem, targets))


def _fewer_wants(problem: Problem) -> Iterator[Change]:
    """Yield the problem with one band's want lowered by one, for every band that wants some."""
    bands = problem.targets.bands
    for number, band in enumerate(bands):
        lower = band.model_copy(update={"want": max(band.want - 1, 0)})
        changed = (*bands[:number], lower, *bands[number + 1 :])
        said = (
            f"with want = {lower.want} in band {_safe(band.name)}"
            if lower.want
            else f"without band {_safe(band.name)}'s want"
        )
        yield Change(said, _with_targets(problem, problem.targets.model_copy(update={"bands": changed})))


def _more_travel(problem: Problem) -> Iterator[Change]:
    for extra in EXTRA_MM:
        stages = tuple(_with_travel(stage, extra) for stage in problem.stages)
        yield Change(
            f"with {extra:g} mm more travel on every belt stage", problem.model_copy(update={"stages": stages})
        )


def _with_travel(stage: StageProblem, extra_mm: float) -> StageProblem:
    belts = tuple(b.model_copy(update={"window_mm": b.window_mm + extra_mm}) for b in stage.belts)
    return stage.model_copy(update={"belts": belts})


def _larger_sizes(problem: Problem) -> Iterator[Change]:
    for share in SHARES:
        stages = tuple(
            stage.model_copy(update={"driver": _larger(stage.driver, share), "driven": _larger(stage.driven, share)})
            for stage in problem.stages
        )
        said = f"with turned sizes up to {share:.0%} larger (making.largest_blank, blanks, free)"
        yield Change(said, problem.model_copy(update={"stages": stages}))


def _larger(side: SideSizes, share: float) -> SideSizes:
    if side.turned_mm is None:
        return side
    low, high = side.turned_mm[0], side.turned_mm[1] * (1 + share)
    sizes = list(side.listed_mm)
    while sizes and side.grid_mm and sizes[-1] + side.grid_mm <= high:
        sizes.append(sizes[-1] + side.grid_mm)
    return side.model_copy(update={"turned_mm": (low, high), "listed_mm": tuple(sizes)})


def _wider_centres(problem: Problem) -> Iterator[Change]:
    for share in SHARES:
        stages = tuple(
            stage.model_copy(update={"centre_mm": (stage.centre_mm[0] * (1 - share), stage.centre_mm[1] * (1 + share))})
            for stage in problem.stages
        )
        said = f"with centre distances let out by {share:.0%} both ways"
        yield Change(said, problem.model_copy(update={"stages": stages}))


def _safe(name: str) -> str:
    return name.replace("{", "{{").replace("}", "}}")
