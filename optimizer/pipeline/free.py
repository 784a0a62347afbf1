"""The whole way from a scenario whose speeds are free to a design."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import exp, log
from typing import Literal, NamedTuple

from optimizer.changes import Known, changes_for_none
from optimizer.checks.stated import Machine, read_machine
from optimizer.clock import FOR_SEARCH, Clock
from optimizer.errors import Fault, NoDesignError, ScenarioError
from optimizer.layouts.free import middle_problem
from optimizer.pipeline.finish import on_ticks
from optimizer.pipeline.job import built_middle
from optimizer.pipeline.no_design import NoLayoutError, RejectedError, refuse_failing
from optimizer.pipeline.options import DesignOptions
from optimizer.pipeline.sheet import Told, design_record, proof_sheet
from optimizer.quantities.digits import meaningful
from optimizer.records.changes import LayoutReason, NoDesign
from optimizer.records.design import ClosingSheet, Design, RefinementSheet, SeriesSheet, TriedLayout
from optimizer.records.layout import Layout
from optimizer.records.middle import MiddleCandidate, MiddleFound, f_of, largest_gap, middle_logs, plate_of
from optimizer.records.plate import Plate
from optimizer.records.refined import RefinedMiddle
from optimizer.refine.middle import refine_middle
from optimizer.scenario import Scenario
from optimizer.scoring import ADVISED_END_MISS
from optimizer.search.middle import round_middle, search_middle
from optimizer.series import end_miss, unevenness

__all__ = ["Figures", "design_free", "final_of", "refuse_on_free", "series_of_free"]

NOT_MADE = "not made, as speeds that are free have no closing search"


class Figures(NamedTuple):
    """What designs with free speeds are compared by."""

    f: float
    end_miss: float
    gap: float
    """Largest gap of all speeds, as a natural logarithm."""
    plate: Plate
    turned_steps: int
    belt_moves: int
    """On the way from the slowest speed on the plate to the fastest."""

    @classmethod
    def of(cls, candidate: MiddleCandidate) -> Figures:
        """Work them out."""
        problem, plate = candidate.problem, plate_of(candidate)
        logs = sorted(middle_logs(problem, candidate.stages))
        return cls(
            f_of(problem, candidate.stages),
            end_miss(logs, problem.targets.lo_rpm, problem.targets.hi_rpm),
            largest_gap(logs),
            plate,
            _turned_steps(candidate),
            sum(speed.moved for speed in plate.speeds),
        )

    @property
    def ends_advised(self) -> bool:
        """Whether the end miss is within what is advised."""
        return meaningful(self.end_miss) <= ADVISED_END_MISS

    @property
    def advised(self) -> bool:
        """Whether ends and plate are within what is advised."""
        return self.ends_advised and self.plate.advised

    @property
    def rank(self) -> tuple[int, int, int, float]:
        """Order in which designs of different layouts are proposed, least first.

        As with speeds in series: those within what is advised by turned steps, belt moves, F; the others by F alone.
        """
        if not self.advised:
            return (1, 0, 0, meaningful(self.f))
        return (0, self.turned_steps, self.belt_moves, meaningful(self.f))


class Tried(NamedTuple):
    """A layout that stood for choice, with what became of it."""

    layout: Layout
    outcome: Literal["passed over", "no design", "stopped"]
    said: str = ""
    found: MiddleFound | None = None
    refined: RefinedMiddle | None = None
    final: MiddleCandidate | None = None
    figures: Figures | None = None
    rejected: RejectedError | None = None
    machine: Machine | None = None
    """The machine as built, checked."""


def refuse_on_free(options: DesignOptions) -> None:
    """Raise if the options ask for what is not known where speeds are free.

    Raises
    ------
    ScenarioError
        With what is not.
    """
    faults = []
    if options.prefer != "evenness":
        what = "where speeds are free nothing else than ends and gaps is made best"
        faults.append(Fault("--prefer", what, options.prefer, "evenness", "leave it out"))
    if options.changes:
        what = "where speeds are free it is not looked how far limits could be tightened"
        faults.append(Fault("--changes", what, "asked for", "not asked for", "leave it out"))
    if faults:
        raise ScenarioError(faults)


def design_free(scenario: Scenario, options: DesignOptions, layouts: Sequence[Layout], clock: Clock) -> Design:
    """Design a machine of two belts whose speeds are free: search every layout, refine, round, choose, check.

    Raises
    ------
    ScenarioError
        The options ask for what is not known here.
    NoLayoutError
        No layout has a design that can be turned and passes its checks: with the reasons.
    """
    refuse_on_free(options)
    tried = [_tried(scenario, layout, clock) for layout in layouts]
    with_design = [entry for entry in tried if entry.figures is not None]
    if not with_design:
        rejected = [entry.rejected for entry in tried if entry.rejected]
        raise NoLayoutError(_none(scenario, tried, clock), rejected)
    chosen = min(with_design, key=lambda entry: entry.figures.rank if entry.figures else ())
    assert chosen.found is not None and chosen.final is not None and chosen.figures is not None
    assert chosen.refined is not None
    figures = chosen.figures
    told = Told(
        preferred="evenness",
        layout=chosen.layout,
        belt_moves=figures.belt_moves,
        turned_steps=figures.turned_steps,
        series=series_of_free(figures),
        proof=proof_sheet(chosen.found.proof, figures.f),
        closing=ClosingSheet(status="not made", bound=0.0, examined=0, combinations=0, said=NOT_MADE),
        refinement=_refinement(chosen.refined, chosen.final),
        tried=tuple(_sheet(entry, chosen.layout) for entry in tried),
        remarks=_remarks(figures),
    )
    assert chosen.machine is not None
    return design_record(chosen.machine, told)


def _tried(scenario: Scenario, layout: Layout, clock: Clock) -> Tried:
    """Search, refine and round one layout."""
    try:
        problem = middle_problem(scenario, layout)
    except NoDesignError as error:
        return Tried(layout, "no design", str(error))
    clock.begin(f"layout {layout.title}")
    found = search_middle(problem, clock.until(FOR_SEARCH))
    if found.candidate is None:
        ended = found.proof.status == "not proved"
        said = f"the search was ended before it found a design: {found.proof.reason}" if ended else found.proof.reason
        return Tried(layout, "stopped" if ended else "no design", said, found)
    clock.begin("refining")
    refined = refine_middle(found.candidate, found.proof.structural, round_middle, clock)
    final = final_of(found.candidate, refined)
    if final is None:
        tick = min(side.tick_mm for stage in problem.stages for side in (stage.driver, stage.driven))
        why = "the search was ended before it found any" if clock.over() else "none near them were found"
        said = (
            f"sizes that keep every rule exist, but {why} on steps of {tick:g} mm; "
            "turn finer with making.turn_to, or allow more travel or fit"
        )
        return Tried(layout, "stopped" if clock.over() else "no design", said, found, refined)
    try:
        machine = refuse_failing(read_machine(scenario, built_middle(final)))
    except RejectedError as error:
        return Tried(layout, "no design", str(error), found, refined, rejected=error)
    return Tried(layout, "passed over", "", found, refined, final, Figures.of(final), machine=machine)


def final_of(candidate: MiddleCandidate, refined: RefinedMiddle) -> MiddleCandidate | None:
    """Return the better of the refined sizes rounded and the candidate's own, if these can be turned as they are."""
    sizes = []
    if refined.rounded is not None:
        sizes.append(MiddleCandidate(problem=candidate.problem, stages=refined.rounded))
    if on_ticks(candidate.problem.stages, candidate.stages):
        sizes.append(candidate)
    return min(sizes, key=lambda each: meaningful(f_of(each.problem, each.stages)), default=None)


def _turned_steps(candidate: MiddleCandidate) -> int:
    """Return how many steps are turned, those of a shared cone once."""
    first, second = candidate.stages
    count = sum((p.driver_source == "turned") + (p.driven_source == "turned") for p in first.positions)
    for p in second.positions:
        count += (p.driven_source == "turned") + (p.driver_source == "turned" and not candidate.problem.shared)
    return count


def series_of_free(figures: Figures) -> SeriesSheet:
    """Return how even free speeds are: those on the plate, with the largest step of all."""
    return SeriesSheet(
        ratio=exp(figures.plate.log_ratio),
        first_rpm=exp(unevenness([log(speed.rpm) for speed in figures.plate.speeds]).start),
        end_miss=figures.end_miss,
        unevenness=figures.plate.unevenness,
        j=figures.f,
        largest_gap=exp(figures.gap) - 1,
        ends_advised=figures.ends_advised,
        evenness_advised=figures.plate.advised,
        widest_gap=max((b.rpm / a.rpm - 1 for a, b in pairwise(figures.plate.speeds)), default=0.0),
    )


def _refinement(refined: RefinedMiddle, final: MiddleCandidate) -> RefinementSheet:
    listed = refined.rounded is None or final.stages != refined.rounded
    return RefinementSheet(
        goal="f",
        kept="candidate" if listed or refined.kept == "candidate" else "refined",
        why=refined.why,
        candidate_j=refined.candidate_f,
        smooth_j=refined.smooth_f,
        rounded_j=refined.rounded_f if refined.rounded is not None else None,
        structural_met=refined.reaches_bound,
        binding=refined.binding,
        solver=refined.solver,
    )


def _sheet(entry: Tried, chosen: Layout) -> TriedLayout:
    figures = entry.figures
    return TriedLayout(
        title=entry.layout.title,
        outcome="chosen" if entry.layout == chosen else entry.outcome,
        said=entry.said,
        j=figures.f if figures else None,
        end_miss=figures.end_miss if figures else None,
        unevenness=figures.plate.unevenness if figures else None,
        advised=figures.advised if figures else None,
        turned_steps=figures.turned_steps if figures else None,
        belt_moves=figures.belt_moves if figures else 0,
    )


def _remarks(figures: Figures) -> tuple[str, ...]:
    said = []
    if not figures.advised:
        said.append(
            "No layout has a design with end miss and unevenness of the plate within what is advised; "
            "this one has the least F of those that meet the wants."
        )
    return tuple(said)


def _none(scenario: Scenario, tried: Sequence[Tried], clock: Clock) -> NoDesign:
    reasons: dict[str, list[str]] = {}
    for entry in tried:
        reasons.setdefault(entry.said, []).append(entry.layout.title)
    told = tuple(LayoutReason(layouts=tuple(titles), reason=reason) for reason, titles in reasons.items())
    rejected = any(entry.rejected for entry in tried)
    open_still = rejected or any(entry.outcome == "stopped" for entry in tried)
    layouts = [Known(entry.layout, None) for entry in tried]
    changes = None if open_still else changes_for_none(scenario, layouts, clock)
    return NoDesign(title=scenario.title, units=scenario.units, reasons=told, rejected=rejected, changes=changes)
