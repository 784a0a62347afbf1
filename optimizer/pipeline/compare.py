"""Layouts side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import exp, isfinite
from typing import Literal, NamedTuple, Protocol

from optimizer.checks.stated import read_machine
from optimizer.clock import FOR_SEARCH, Clock
from optimizer.errors import Fault, NoDesignError, ScenarioError
from optimizer.layouts.orders import layouts_of
from optimizer.pipeline.choose import Stated, Tried, in_order, judged, stated_problems, with_any_design
from optimizer.pipeline.finish import Finished, extreme_of, finish, finish_preferred
from optimizer.pipeline.job import built_machine
from optimizer.pipeline.machine import machine_sheet
from optimizer.pipeline.no_design import NoLayoutError, RejectedError, refuse_failing, why_none
from optimizer.pipeline.sheets import cautions_of, scenario_sheet, versions_of
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.candidate import Candidate
from optimizer.records.changes import LayoutReason, NoDesign
from optimizer.records.comparison import (
    ComparedBand,
    ComparedRow,
    ComparedStage,
    Comparison,
    CriterionSheet,
    MadeFor,
    RowProof,
    WithoutDesign,
)
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Proof
from optimizer.records.sheet import StageSheet
from optimizer.records.speeds import grip_of
from optimizer.scenario import Scenario
from optimizer.scoring import score
from optimizer.search import Searched, look_all

__all__ = [
    "BLANK",
    "CRITERIA",
    "GRIP",
    "TIMBER",
    "CompareOptions",
    "Contender",
    "Criterion",
    "Draft",
    "Drafting",
    "Figures",
    "best_at",
    "compare",
    "compared_rows",
    "criteria_for",
    "undominated",
]


class Figures(Protocol):
    """Figures that a layout's design is compared by."""

    @property
    def speeds_rpm(self) -> Sequence[float]:
        """Spindle speeds."""

    @property
    def end_miss(self) -> float:
        """How far the ends of the series lie from those wanted."""

    @property
    def unevenness(self) -> float:
        """How far the speeds lie from a geometric series."""

    @property
    def widest_gap(self) -> float:
        """Greatest step between neighbouring speeds, as a share of the lower one."""

    @property
    def turned_steps(self) -> int:
        """Number of steps to turn."""

    @property
    def timber_mm3(self) -> float:
        """Volume of all discs that steps are turned from."""

    @property
    def largest_disc_mm(self) -> float:
        """Largest of those discs."""

    @property
    def grip(self) -> float | None:
        """Least of power carried over power that must be carried; nothing where unknown."""

    @property
    def belt_moves(self) -> int:
        """Belts moved from the slowest speed to the fastest."""


class Criterion(NamedTuple):
    """One thing to compare by, with what counts as a difference."""

    name: str
    better: Literal["more", "less"]
    value: Callable[[Figures], float | None]
    """Gives nothing where a row's is not known."""
    unit: str
    step: float
    """Values that round to the same multiple of this are equal: less is not shown, and nobody would notice it."""

    def cost(self, row: Figures) -> int:
        """Return a row's value in whole steps, the less the better; 0 where it is not known."""
        return self.cost_of(self.value(row) or 0.0)

    def cost_of(self, value: float) -> int:
        """Return a value in whole steps, the less the better."""
        steps = round(value / self.step)
        return -steps if self.better == "more" else steps


BLANK = Criterion("largest blank", "less", lambda row: row.largest_disc_mm, "mm", 0.01)
GRIP = Criterion("grip", "more", lambda row: row.grip, "", 0.01)
TIMBER = Criterion("timber", "less", lambda row: row.timber_mm3, "mm³", 1000)
CRITERIA: tuple[Criterion, ...] = (
    Criterion("number of speeds", "more", lambda row: len(row.speeds_rpm), "", 1),
    Criterion("end miss", "less", lambda row: row.end_miss, "share", 1e-3),
    Criterion("unevenness", "less", lambda row: row.unevenness, "share", 1e-3),
    Criterion("widest gap", "less", lambda row: row.widest_gap, "share", 1e-3),
    Criterion("steps to turn", "less", lambda row: row.turned_steps, "", 1),
    BLANK,
    TIMBER,
    GRIP,
    Criterion("belt moves", "less", lambda row: row.belt_moves, "", 1),
)
"""All there are, in the order in which they are shown."""


def criteria_for(rows: Sequence[Figures]) -> tuple[Criterion, ...]:
    """Return the criteria of which some row's value is known."""
    return tuple(c for c in CRITERIA if any(c.value(row) is not None for row in rows))


def best_at(rows: Sequence[Figures]) -> tuple[tuple[str, ...], ...]:
    """Return, for every row, the criteria in which no other row is better; ties count for all of them."""
    costs = _costs(rows)
    least = [min(column) for column in zip(*costs, strict=True)]
    known = criteria_for(rows)
    return tuple(
        tuple(c.name for c, cost, best in zip(CRITERIA, row, least, strict=True) if cost == best and c in known)
        for row in costs
    )


def undominated(rows: Sequence[Figures]) -> tuple[bool, ...]:
    """Tell, for every row, whether no other is at least as good in every criterion and better in one."""
    costs = _costs(rows)
    return tuple(not any(_beats(other, row) for other in costs) for row in costs)


def _costs(rows: Sequence[Figures]) -> list[tuple[int, ...]]:
    return [tuple(criterion.cost(row) for criterion in CRITERIA) for row in rows]


def _beats(one: tuple[int, ...], other: tuple[int, ...]) -> bool:
    return one != other and all(a <= b for a, b in zip(one, other, strict=True))


class Draft(NamedTuple):
    """A finished design that becomes a row."""

    made_for: tuple[MadeFor, ...]
    finished: Finished
    proof: Proof
    """What the search said of the layout."""
    status: Literal["proved", "found"]
    """Whether no listed design is better at what it was made for."""
    best_of_speeds: bool = False
    proposed: bool = False


def compared_rows(scenario: Scenario, drafts: Sequence[Draft]) -> tuple[ComparedRow, ...]:
    """Return a row for every design, numbered in their order, with what each of them is best at."""
    rows = [_row(scenario, number, draft) for number, draft in enumerate(drafts, 1)]
    updates = zip(rows, best_at(rows), undominated(rows), strict=True)
    return tuple(row.model_copy(update={"best_at": names, "undominated": alone}) for row, names, alone in updates)


def _row(scenario: Scenario, number: int, draft: Draft) -> ComparedRow:
    candidate = draft.finished.candidate
    layout, figures = candidate.problem.layout, score(candidate.problem, candidate.stages)
    built = built_machine(candidate.problem.stages, candidate.stages)
    stages = _stages(scenario, built)
    return ComparedRow(
        number=number,
        name=layout.name,
        order=layout.order,
        title=layout.title,
        offsets=layout.offsets,
        switched=layout.switched,
        made_for=draft.made_for,
        speeds_rpm=figures.speeds_rpm,
        band_counts=figures.band_counts,
        end_miss=figures.end_miss,
        unevenness=figures.unevenness,
        j=figures.j,
        advised=figures.advised,
        widest_gap=exp(figures.widest_gap) - 1,
        turned_steps=figures.turned_steps,
        largest_disc_mm=figures.largest_disc_mm,
        timber_mm3=figures.timber_mm3,
        belt_moves=figures.belt_moves,
        least_wrap_deg=min(stage.least_wrap_deg for stage in stages),
        grip=_known_grip(candidate),
        stages=stages,
        proof=_proof(draft, figures.j),
        best_at=(),
        undominated=False,
        best_of_speeds=draft.best_of_speeds,
        proposed=draft.proposed,
    )


def _known_grip(candidate: Candidate) -> float | None:
    grip = grip_of(candidate.problem, candidate.stages)
    return grip if isfinite(grip) else None


def _stages(scenario: Scenario, built: BuiltMachine) -> tuple[ComparedStage, ...]:
    sheets = machine_sheet(read_machine(scenario, built)).stages
    return tuple(_stage(sheet, sizes) for sheet, sizes in zip(sheets, built.stages, strict=True))


def _stage(sheet: StageSheet, sizes: BuiltStage) -> ComparedStage:
    own = [p.centre_mm for p in sheet.positions if p.centre_mm is not None]
    wraps = [wrap for p in sheet.positions for wrap in (p.driver_wrap_deg, p.driven_wrap_deg) if wrap is not None]
    return ComparedStage(
        key=sheet.key,
        driver_shaft=sheet.driver_shaft,
        driven_shaft=sheet.driven_shaft,
        marking=sheet.marking,
        centres_mm=sheet.centres.running_mm or (min(own), max(own)),
        least_wrap_deg=min(wraps),
        driver_outside_mm=sizes.driver_outside_mm,
        driven_outside_mm=sizes.driven_outside_mm,
    )


def _proof(draft: Draft, final: float) -> RowProof:
    return RowProof(
        status=draft.status,
        structural=draft.proof.structural,
        listed=draft.proof.listed if "least J" in draft.made_for else draft.finished.refined.candidate_j,
        gap=draft.proof.gap,
        end_to_end_gap=final - draft.proof.structural,
        combinations=draft.proof.combinations,
        examined=draft.proof.examined,
        held_bytes=draft.proof.held_bytes,
        closing=draft.finished.closing.status if draft.finished.closing else "not made",
    )


WISHES: tuple[tuple[Literal["timber", "disc", "grip"], MadeFor, Criterion], ...] = (
    ("timber", "least timber", TIMBER),
    ("disc", "smallest largest disc", BLANK),
    ("grip", "best grip", GRIP),
)
"""What a maker may prefer, what the row is called, what it must be better at."""
NO_LOAD = 1e6
"""Stands for the grip of belts that need carry nothing."""


@dataclass(frozen=True)
class CompareOptions:
    """What there is a row for."""

    orders: bool = False
    """Every order of a layout, not only its best one."""
    extremes: bool = False
    """Designs of least timber and of the smallest largest disc too, where they differ from the best."""


class Contender(NamedTuple):
    """A layout whose search found a design."""

    tried: Tried
    searched: Searched

    @property
    def layout(self) -> Layout:
        """The layout with its order."""
        return self.tried.layout


class Drafting:
    """Finishes the designs to be shown, the one to be proposed first."""

    def __init__(self, scenario: Scenario, options: CompareOptions, clock: Clock) -> None:
        """Take the machine, what there is a row for, what ends the work."""
        self.scenario, self.options, self.clock = scenario, options, clock
        self.unfinished: list[WithoutDesign] = []
        """Layouts whose sizes cannot be turned, or fail a check."""
        self.rejected: list[RejectedError] = []

    def drafts(self, ranked: Sequence[Contender]) -> list[Draft]:
        """Return the designs of the rows by number of speeds, those of one number in the order given."""
        shown: list[tuple[int, list[Draft]]] = []
        names: set[str] = set()
        for contender in ranked:
            if contender.layout.name in names and not self.options.orders:
                continue
            best = self._best(contender)
            if best is None:
                continue
            names.add(contender.layout.name)
            speeds = contender.layout.speeds
            first = all(speeds != other for other, _ in shown)
            best = best._replace(best_of_speeds=first, proposed=not shown)
            shown.append((speeds, [best, *(self._extremes(contender, best) if self.options.extremes else ())]))
        return [draft for _, drafts in sorted(shown, key=lambda entry: entry[0]) for draft in drafts]

    def _best(self, contender: Contender) -> Draft | None:
        candidate, proof = contender.searched.found.candidate, contender.searched.found.proof
        assert candidate is not None
        self.clock.begin(f"layout {contender.layout.title}: refining")
        try:
            finished = finish(candidate, proof.structural, self.clock, close=False)
            self._refuse_failing(finished)
        except NoDesignError as error:
            reason = str(error)
            if isinstance(error, RejectedError):
                self.rejected.append(error)
                reason += "; conewright design with this layout looks on within narrower limits"
            entry = WithoutDesign(layouts=(contender.layout.title,), outcome="no design", reason=reason)
            self.unfinished.append(entry)
            return None
        return Draft(("least J",), finished, proof, "proved" if proof.status == "proved" else "found")

    def _refuse_failing(self, finished: Finished) -> None:
        refuse_failing(
            read_machine(self.scenario, built_machine(finished.candidate.problem.stages, finished.candidate.stages))
        )

    def _extremes(self, contender: Contender, best: Draft) -> Iterator[Draft]:
        """Yield the finished extremes that are better than the best design at what they are made for."""
        self.clock.begin(f"layout {contender.layout.title}: extremes")
        found = contender.searched.with_extremes(self.clock, grip=True)
        drafts: list[Draft] = []
        for wish, name, criterion in WISHES:
            extreme = extreme_of(found, wish)
            try:
                finished = finish_preferred(found, wish, self.clock)
                if finished is not None:
                    self._refuse_failing(finished)
            except NoDesignError:
                continue
            if extreme and finished and _cost(finished, criterion) < _cost(best.finished, criterion):
                drafts.append(Draft((name,), finished, best.proof, "proved" if extreme.proved else "found"))
        if len(drafts) > 1 and len({draft.finished.candidate.stages for draft in drafts}) == 1:
            drafts = [_joined(drafts)]
        yield from drafts


def _joined(drafts: Sequence[Draft]) -> Draft:
    """Return drafts of the same sizes as one, proved where all are."""
    names = tuple(name for draft in drafts for name in draft.made_for)
    proved = all(draft.status == "proved" for draft in drafts)
    return drafts[0]._replace(made_for=names, status="proved" if proved else "found")


def _cost(finished: Finished, criterion: Criterion) -> int:
    problem, stages = finished.candidate.problem, finished.candidate.stages
    if criterion is GRIP:
        return criterion.cost_of(min(grip_of(problem, stages), NO_LOAD))
    figures = score(problem, stages)
    return criterion.cost_of(figures.timber_mm3 if criterion is TIMBER else figures.largest_disc_mm)


def compare(
    scenario: Scenario,
    options: CompareOptions | None = None,
    clock: Clock | None = None,
) -> Comparison:
    """Search every layout and order to its proved best, finish those to be shown, set them side by side.

    Of the orders of one layout the best is the one that would be proposed were there no other layout; so is the best
    of a number of speeds. Every row is refined and rounded as a design is, but no closing search is made.

    Parameters
    ----------
    scenario
        What the maker stated.
    options
        What there is a row for.
    clock
        Ends the work where time, memory or a search's combinations are over; hears how far it is.

    Raises
    ------
    ScenarioError
        No band is stated, or the speeds are free.
    NoLayoutError
        No layout has a design: with the reasons, and with the least changes that give one. Or every design found fails
        its own checks: with what each fails.
    NoDesignError
        No layout's sizes can be turned.
    """
    _refuse_free(scenario)
    stated = stated_problems(scenario, layouts_of(scenario))
    options = options or CompareOptions()
    clock = clock or Clock()
    ranked, tried = _ranked(stated, clock)
    if not ranked:
        raise NoLayoutError(why_none(scenario, tried, clock))
    drafting = Drafting(scenario, options, clock)
    drafts = drafting.drafts(ranked)
    without = (*_without(tried), *drafting.unfinished)
    if not drafts:
        if drafting.rejected:
            reasons = tuple(LayoutReason(layouts=entry.layouts, reason=entry.reason) for entry in without)
            told = NoDesign(title=scenario.title, units=scenario.units, reasons=reasons, rejected=True)
            raise NoLayoutError(told, drafting.rejected)
        raise NoDesignError("\n".join(f"layout {'; '.join(entry.layouts)}: {entry.reason}" for entry in without))
    rows = compared_rows(scenario, drafts)
    return Comparison(
        scenario=scenario_sheet(scenario),
        rows_are="orders" if options.orders else "layouts",
        bands=tuple(
            ComparedBand(name=band.name, from_rpm=band.from_rpm, to_rpm=band.to_rpm, want=band.want)
            for band in scenario.bands
        ),
        ends=scenario.series.ends,
        criteria=tuple(
            CriterionSheet(name=c.name, better=c.better, unit=c.unit, step=c.step) for c in criteria_for(rows)
        ),
        rows=rows,
        without=without,
        remarks=(*scenario.remarks, *_belts_remark(scenario)),
        cautions=cautions_of(scenario),
        versions=versions_of("numpy", "scipy", "pydantic"),
    )


def _belts_remark(scenario: Scenario) -> tuple[str, ...]:
    """Return how rows and design differ where belts are in hand."""
    if not scenario.in_hand.belts:
        return ()
    slack = f"{100 * scenario.series.hand_slack:g} %"
    return (
        "Rows are on any belts; conewright design prefers those in hand where J rises by no more than "
        f"{slack}, so that its belts, and its J, may be others.",
    )


def _refuse_free(scenario: Scenario) -> None:
    """Raise if the speeds make no series, so that layouts have no J to be compared by."""
    if scenario.free:
        what = "speeds that are free make no series, so that layouts have no J to be set side by side by"
        advice = "run conewright design: it searches every number of positions, and its table of layouts has their F"
        raise ScenarioError([Fault(scenario.free_key, what, "free", "speeds in a series", advice)])


def _ranked(stated: Sequence[Stated], clock: Clock) -> tuple[list[Contender], tuple[Tried, ...]]:
    """Return the layouts with a design, the one to be proposed first; and all layouts, as they were stated."""
    tried = {
        number: Tried(layout, problem, searchable=False)
        for number, (layout, problem) in enumerate(stated)
        if isinstance(problem, str)
    }
    queue = in_order(stated)
    found: list[tuple[tuple[int, int, int, float], Contender]] = []
    for (number, problem), ended in zip(queue, _searched([p for _, p in queue], clock), strict=True):
        searched = with_any_design(problem, ended, clock)
        tried[number] = entry = judged(problem, searched.found)
        if entry.score:
            found.append((entry.score.rank, Contender(entry, searched)))
    ranked = [contender for _, contender in sorted(found, key=lambda pair: pair[0])]
    return ranked, tuple(tried[number] for number in sorted(tried))


def _searched(problems: Sequence[Problem], clock: Clock) -> Iterator[Searched]:
    return look_all(_announced(problems, clock), clock.until(FOR_SEARCH))


def _announced(problems: Sequence[Problem], clock: Clock) -> Iterator[Problem]:
    for problem in problems:
        clock.begin(f"layout {problem.layout.title}")
        yield problem


def _without(tried: Sequence[Tried]) -> Iterator[WithoutDesign]:
    """Yield the layouts without a design, those of one reason together."""
    reasons: dict[tuple[bool, str], list[str]] = {}
    for entry in tried:
        if entry.score is None:
            reasons.setdefault((entry.outcome == "stopped", entry.said), []).append(entry.layout.title)
    for (stopped, reason), titles in reasons.items():
        yield WithoutDesign(layouts=tuple(titles), outcome="stopped" if stopped else "no design", reason=reason)
