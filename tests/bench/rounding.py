"""Joint rounding beside rounding each diameter by itself: ``python -m tests.bench.rounding``."""

from __future__ import annotations

import sys
from math import inf
from typing import NamedTuple

from optimizer.layouts.orders import layouts_of
from optimizer.pipeline.choose import choose, stated_problems
from optimizer.records.candidate import Candidate, StageSizes, nearest_sizes
from optimizer.records.problem import Problem
from optimizer.records.proof import Found
from optimizer.records.rules import broken_rules
from optimizer.refine import refine
from optimizer.scenario.load import load_scenario
from optimizer.search import look, round_sizes
from tests.bench.store import ROOT

__all__ = ["RoundedBoth", "rounding_table", "shipped_roundings"]

BEFORE = """Every diameter refined, then brought to what is turned (`making.turn_to`): each by itself to its nearest
tick, and all together (`optimizer.search.round_sizes`), before the closing search. The layout is the one that `design`
proposes. Where rounding each by itself breaks a rule there is no design at all."""
HEAD = (
    "| scenario | layout | J refined, % | each by itself, % | together, % |",
    "| :--- | :--- | ---: | :--- | ---: |",
)


class RoundedBoth(NamedTuple):
    """One scenario's J, refined and rounded in both ways."""

    scenario: str
    layout: str
    refined: float
    nearest: float
    """Infinity where a rule is broken."""
    broken: str
    """The first rule that rounding each size by itself breaks."""
    joint: float


def shipped_roundings() -> list[RoundedBoth]:
    """Return both roundings for every shipped scenario with speeds in a series and something turned."""
    found = []
    for path in sorted((ROOT / "scenarios").glob("*.toml")):
        scenario = load_scenario(path.read_text(encoding="utf-8"), path.name)
        if not scenario.bands or scenario.free:
            continue
        choice, _ = choose(stated_problems(scenario, layouts_of(scenario)), _searched)
        if choice is not None and _turns(choice.candidate):
            found.append(_rounded(path.stem, choice.candidate, choice.found.proof.structural))
    return found


def rounding_table() -> str:
    """Return the roundings as markdown."""
    rows = []
    for row in shipped_roundings():
        alone = f"breaks a rule: {row.broken}" if row.nearest == inf else f"{100 * row.nearest:.3f}"
        rows.append(f"| {row.scenario} | {row.layout} | {100 * row.refined:.3f} | {alone} | {100 * row.joint:.3f} |")
    return "\n".join((BEFORE, "", *HEAD, *rows))


def _searched(problem: Problem, /) -> Found:
    return look(problem).found


def _turns(candidate: Candidate) -> bool:
    return any("turned" in (p.driver_source, p.driven_source) for s in candidate.stages for p in s.positions)


def _rounded(name: str, candidate: Candidate, structural: float) -> RoundedBoth:
    refined = refine(candidate, structural)
    rounded = round_sizes(candidate.problem, refined.smooth)
    broken = ""
    if rounded.nearest_j == inf:
        broken = _broken(candidate.problem, refined.smooth)
    return RoundedBoth(
        scenario=name,
        layout=candidate.problem.layout.title,
        refined=refined.smooth_j,
        nearest=rounded.nearest_j,
        broken=broken,
        joint=rounded.j,
    )


def _broken(problem: Problem, stages: tuple[StageSizes, ...]) -> str:
    """Return the first rule that sizes break, each at its nearest tick."""
    built = [nearest_sizes(rules, sizes) for rules, sizes in zip(problem.stages, stages, strict=True)]
    sizes = tuple(stage for stage in built if stage is not None)
    if len(sizes) < len(built):
        return "a size has no tick within its limits"
    return broken_rules(problem, sizes)[0]


if __name__ == "__main__":
    sys.stdout.write(rounding_table() + "\n")
