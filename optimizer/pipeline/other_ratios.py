"""Which other ratio of a gear would suit better: the same machine searched with each that it can be had with."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.clock import Clock
from optimizer.pipeline.choose import Choice, Tried
from optimizer.pipeline.options import DesignOptions, asked_layouts
from optimizer.pipeline.searches import Searches
from optimizer.pipeline.stated import stated_problems
from optimizer.records.changes import RatioTrial
from optimizer.scenario import FixedStage, Scenario
from optimizer.scenario.stage import ratio_words

__all__ = ["MOST_FOR_A_RATIO", "Outcome", "other_ratios"]

MOST_FOR_A_RATIO = 2_000_000
"""Combinations looked at in one search for another ratio before it ends unproved."""
Outcome = tuple[Choice | None, tuple[Tried, ...]]
"""What searching a scenario's layouts came to."""


def other_ratios(scenario: Scenario, options: DesignOptions, now: Outcome, clock: Clock) -> tuple[RatioTrial, ...]:
    """Return, for every fixed stage with other ratios stated, what each of them gives and what the stated one does.

    All else stays as it is; gears are changed one at a time. Designs are those over the listed sizes, not refined.

    Parameters
    ----------
    scenario
        What the maker stated.
    options
        Which layouts may be chosen.
    now
        What the search with the stated ratios came to.
    clock
        Ends every search that goes too far; each ends after `MOST_FOR_A_RATIO` combinations in any case.
    """
    clock = clock.counting(MOST_FOR_A_RATIO)
    found: list[RatioTrial] = []
    for number, stage in enumerate(scenario.stages):
        if not isinstance(stage, FixedStage) or not stage.other_ratios:
            continue
        found.append(_trial(f"stage[{number}]", stage.ratio, now, stated=True))
        for ratio in stage.other_ratios:
            clock.begin(f"stage[{number}].ratio {ratio_words(ratio)}")
            other = scenario.model_copy(update={"stages": tuple(_replaced(scenario, number, ratio))})
            outcome = Searches(clock).choose(stated_problems(other, asked_layouts(other, options)))
            found.append(_trial(f"stage[{number}]", ratio, outcome, stated=False))
    return tuple(found)


def _replaced(scenario: Scenario, number: int, ratio: float) -> Iterator[object]:
    """Yield the stages with one fixed stage's ratio changed."""
    for at, stage in enumerate(scenario.stages):
        yield stage.model_copy(update={"ratio": ratio}) if at == number else stage


def _trial(key: str, ratio: float, outcome: Outcome, *, stated: bool) -> RatioTrial:
    choice, tried = outcome
    if choice is None:
        reasons = list(dict.fromkeys(entry.said for entry in tried))
        more = f" (and {len(reasons) - 1} more reasons)" if len(reasons) > 1 else ""
        ended = any(entry.outcome == "stopped" for entry in tried)
        return RatioTrial(key=key, ratio=ratio, stated=stated, proved=not ended, why=f"{reasons[0]}{more}")
    return RatioTrial(
        key=key,
        ratio=ratio,
        stated=stated,
        layout=choice.problem.layout.title,
        j=choice.score.j,
        end_miss=choice.score.end_miss,
        unevenness=choice.score.unevenness,
        proved=choice.found.proof.status == "proved",
    )
