"""Changes that would give a design where there is none."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import inf
from typing import Any, NamedTuple

from optimizer.errors import NoDesignError
from optimizer.layouts.problem import problem_for
from optimizer.pipeline.choose import fewest_turned_steps
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.scenario import BeltStage, Scenario, Side
from optimizer.scoring import Score, score
from optimizer.search import search

__all__ = ["nearest_changes"]

SHARES = (0.1, 0.25, 0.5)
"""By what share a length or a speed is let out, least first."""
EXTRA_MM = (10.0, 25.0, 50.0)
"""Travel added, least first."""
LOOSE = 1.0
"""Limit of end miss and unevenness that rules out next to nothing."""
FEW = 6
"""Layouts tried with each change, those of fewest turned steps first."""
MOST_EXAMINED = 300_000
"""Combinations looked at for one change of one layout."""


class Change(NamedTuple):
    """One relaxation, with what is said of it where it gives a design."""

    said: str
    scenario: Scenario


def nearest_changes(scenario: Scenario, layouts: Sequence[Layout]) -> tuple[str, ...]:
    """Return changes of a single kind that each give a design, the least of every kind.

    Limits on end miss and unevenness, wants, travel, largest sizes, centre distances, room, rim speed are let out
    one after another in small steps. Only the layouts of fewest turned steps are tried, so that a change not named
    may still do.
    """
    found = []
    for kind in KINDS:
        said = next((s for s in (_gives(change, layouts) for change in kind(scenario)) if s), None)
        if said:
            found.append(said)
    return tuple(found)


def _gives(change: Change, layouts: Sequence[Layout]) -> str | None:
    """Return what is said of a change, nothing where no layout has a design with it."""
    wanted = sum(band.want for band in change.scenario.bands)
    problems = [problem for layout in layouts if layout.speeds >= min(wanted, 2) for problem in _stated(change, layout)]
    problems.sort(key=lambda p: (p.layout.speeds < wanted, fewest_turned_steps(p), p.layout.belt_moves))
    for problem in problems[:FEW]:
        candidate = search(problem, stop=_stop).candidate
        if candidate is not None:
            figures = score(problem, candidate.stages)
            return f"{change.said.format(**_figures(figures))} (layout {problem.layout.title})"
    return None


def _stop(examined: int) -> str | None:
    return "enough was looked at" if examined > MOST_EXAMINED else None


def _stated(change: Change, layout: Layout) -> Iterator[Problem]:
    try:
        yield problem_for(change.scenario, layout)
    except NoDesignError:
        return


def _figures(figures: Score) -> dict[str, str]:
    return {"miss": f"{figures.end_miss:.1%}", "delta": f"{figures.unevenness:.1%}"}


def _with(scenario: Scenario, part: str, **values: Any) -> Scenario:
    changed = getattr(scenario, part).model_copy(update=values)
    return scenario.model_copy(update={part: changed})


def _looser_series(scenario: Scenario) -> Iterator[Change]:
    said = "with series.end_miss at least {miss}, series.unevenness at least {delta}"
    yield Change(said, _with(scenario, "series", end_miss=LOOSE, unevenness=LOOSE))


def _fewer_wants(scenario: Scenario) -> Iterator[Change]:
    """Yield the scenario with one band's want lowered by one, for every band."""
    for number, band in enumerate(scenario.bands):
        lower = band.model_copy(update={"want": band.want - 1})
        bands = (*scenario.bands[:number], lower, *scenario.bands[number + 1 :])
        yield Change(f"with want = {lower.want} in band[{number}]", scenario.model_copy(update={"bands": bands}))


def _nearer_ends(scenario: Scenario) -> Iterator[Change]:
    """Yield the scenario with its outermost band edges moved in, one alone, then both."""
    bottom = min(range(len(scenario.bands)), key=lambda k: scenario.bands[k].from_rpm)
    top = max(range(len(scenario.bands)), key=lambda k: scenario.bands[k].to_rpm)
    for share in SHARES:
        for ends in ((True, False), (False, True), (True, True)):
            bands = list(scenario.bands)
            said = []
            if ends[0]:
                edge = bands[bottom].from_rpm * (1 + share)
                bands[bottom] = bands[bottom].model_copy(update={"from_rpm": edge})
                said.append(f"from = {edge:.4g} in band[{bottom}]")
            if ends[1]:
                edge = bands[top].to_rpm / (1 + share)
                bands[top] = bands[top].model_copy(update={"to_rpm": edge})
                said.append(f"to = {edge:.4g} in band[{top}]")
            if all(band.from_rpm < band.to_rpm for band in bands):
                yield Change(f"with {' and '.join(said)}", scenario.model_copy(update={"bands": tuple(bands)}))


def _larger_sizes(scenario: Scenario) -> Iterator[Change]:
    making = scenario.making
    for share in SHARES:
        grown = _on_stages(scenario, _growing(share))
        yield Change(
            f"with turned sizes up to {share:.0%} larger: largest_blank, blanks, free",
            _with(grown, "making", largest_blank_mm=making.largest_blank_mm * (1 + share)),
        )


def _faster_rims(scenario: Scenario) -> Iterator[Change]:
    for share in SHARES:
        speed = scenario.making.rim_speed_m_s * (1 + share)
        yield Change(
            f"with making.rim_speed = {speed:.3g} m/s, if the timber and its glue stand it",
            _with(scenario, "making", rim_speed_m_s=speed),
        )


def _more_travel(scenario: Scenario) -> Iterator[Change]:
    for extra in EXTRA_MM:
        yield Change(f"with {extra:g} mm more travel on every belt stage", _on_stages(scenario, _travelling(extra)))


def _wider_centres(scenario: Scenario) -> Iterator[Change]:
    for share in SHARES:
        yield Change(f"with centre distances let out by {share:.0%} both ways", _on_stages(scenario, _apart(share)))


def _more_room(scenario: Scenario) -> Iterator[Change]:
    if all(shaft.room_mm == inf for shaft in scenario.shafts):
        return
    for share in SHARES:
        shafts = tuple(s.model_copy(update={"room_mm": s.room_mm * (1 + share)}) for s in scenario.shafts)
        yield Change(f"with {share:.0%} more room along the shafts", scenario.model_copy(update={"shafts": shafts}))


Edit = Callable[[BeltStage], BeltStage]


def _on_stages(scenario: Scenario, edit: Edit) -> Scenario:
    stages = tuple(edit(stage) if isinstance(stage, BeltStage) else stage for stage in scenario.stages)
    return scenario.model_copy(update={"stages": stages})


def _growing(share: float) -> Edit:
    def edit(stage: BeltStage) -> BeltStage:
        sides = {"driver": _grown(stage.driver, 1 + share), "driven": _grown(stage.driven, 1 + share)}
        return stage.model_copy(update=sides)

    return edit


def _grown(side: Side, factor: float) -> Side:
    free = (side.free_mm[0], side.free_mm[1] * factor) if side.free_mm else None
    return side.model_copy(update={"blanks_mm": tuple(d * factor for d in side.blanks_mm), "free_mm": free})


def _travelling(extra_mm: float) -> Edit:
    def edit(stage: BeltStage) -> BeltStage:
        return stage.model_copy(update={"travel_mm": stage.travel_mm + extra_mm}) if stage.moves else stage

    return edit


def _apart(share: float) -> Edit:
    def edit(stage: BeltStage) -> BeltStage:
        low, high = stage.centres_mm
        return stage.model_copy(update={"centres_mm": (low * (1 - share), high * (1 + share))})

    return edit


KINDS = (
    _looser_series,
    _fewer_wants,
    _nearer_ends,
    _larger_sizes,
    _faster_rims,
    _more_travel,
    _wider_centres,
    _more_room,
)
"""What is let out, one kind after another."""
