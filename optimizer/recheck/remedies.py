"""What could be done about a made machine: turn the rest, skim, another belt, a step made anew."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf
from typing import Literal, NamedTuple

from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.pipeline.finish import finish, on_ticks
from optimizer.pipeline.free import final_of
from optimizer.recheck.made import MadeMachine, SizesNow, made_sheet, step_change, with_pitch
from optimizer.recheck.records import MadeSheet, OptionSheet, StepChange
from optimizer.recheck.sizes import StepKnown
from optimizer.recheck.standing import (
    as_it_stands,
    by_position,
    for_belts,
    held,
    standing_problem,
    too_small,
    with_belts,
    with_open_listed,
    with_open_ticked,
    with_stock_belts,
    within_advice,
)
from optimizer.records.candidate import Candidate, StageSizes
from optimizer.records.design import CheckSheet
from optimizer.records.middle import MiddleCandidate, MiddleProblem, middle_logs
from optimizer.records.plate import PlateRules, plate_holds
from optimizer.records.problem import Problem
from optimizer.refine.middle import refine_middle
from optimizer.search import least_skimming, look
from optimizer.search.middle import round_middle, search_middle
from optimizer.search.middle.skimming import least_middle_skimming

__all__ = ["Situation", "is_well", "options", "worse_checks"]

SAME_MM = 1e-6
WEIGHT = 2
"""Combinations that one counts for which is looked at for the least skimming with free speeds, by the time it takes."""
WORTH = 0.0005
"""By how much J must fall for other sizes of the steps not turned yet to be proposed; judgement."""


@dataclass(frozen=True)
class Situation:
    """Of what remedies are looked for."""

    made: MadeMachine
    steps: tuple[StepKnown, ...]
    sizes: SizesNow
    now: MadeSheet
    clock: Clock

    @property
    def aims(self) -> tuple[Literal["advice", "limits"], ...]:
        """What is to be restored: what is advised, where the design kept to it; else the limits."""
        series = self.made.job.design.series
        return ("advice", "limits") if series.ends_advised and series.evenness_advised else ("limits",)

    @cached_property
    def too_small(self) -> tuple[StepKnown, ...]:
        """Steps that no skimming can make good, as they are below their limit already."""
        return too_small(self.made, self.steps)

    @property
    def plate_kept(self) -> bool:
        """Whether an even plate has as many speeds as the design's; always where all speeds are on it."""
        return sum(speed.on_plate for speed in self.now.speeds) >= self.plate_speeds

    @property
    def plate_speeds(self) -> int:
        """How many speeds are on the design's plate."""
        return sum(speed.on_plate for speed in self.made.job.design.machine.speeds)

    @property
    def open(self) -> bool:
        """Whether some steps are not turned yet."""
        return any(step.state == "not turned" for step in self.steps)


def worse_checks(situation: Situation) -> tuple[CheckSheet, ...]:
    """Return the checks of what is impossible and of limits that fail now and did not in the design."""
    before = {(check.name, check.where) for check in situation.made.job.design.failed}
    return tuple(check for check in situation.now.failed if (check.name, check.where) not in before)


def is_well(situation: Situation) -> bool:
    """Tell whether nothing is worse than in the design, and what was advised there is kept to."""
    series = situation.now.series
    kept = "advice" not in situation.aims or (series.ends_advised and series.evenness_advised and situation.plate_kept)
    return kept and situation.now.wants_met and not worse_checks(situation)


class Mended(NamedTuple):
    """A set of sizes that does."""

    stages: tuple[StageSizes, ...]
    """Positions slowest first."""
    proved: bool
    """Whether no less skimming does it, over the sizes that were looked at."""


class _Remedy(NamedTuple):
    """Sizes that do, with what was asked of them."""

    mended: Mended
    within: Literal["advice", "limits"]
    deepest_mm: float
    """How much was looked at of every step, infinite where all that is allowed was."""
    anew: tuple[StepKnown, ...]
    """Steps that are made anew."""


def options(situation: Situation) -> tuple[OptionSheet, ...]:
    """Return what could be done, the least trouble first; nothing where nothing need, or can, be done."""
    well = is_well(situation)
    if well and not situation.open:
        return ()
    found: list[OptionSheet] = []
    own = with_belts(situation.made.problem, tuple((belt,) for belt in situation.made.belts))
    situation.clock.begin("least skimming")
    least = _least(situation, situation.made, own, skims=not well)
    if least is None and well and isinstance(own, MiddleProblem):
        return ()
    if least is not None:
        found += _told(situation, situation.made, least)
    if least is None or any(option.skim for option in found):
        found += _other_belts(situation, found[0].skim_mm if found else inf)
    if not found:
        found += _anew(situation, own)
    if well and found and not found[0].skim and found[0].made.series.j > situation.now.series.j - WORTH:
        return ()
    return tuple(found)


def _least(
    situation: Situation,
    made: MadeMachine,
    problem: Problem | MiddleProblem,
    again: StepKnown | None = None,
    *,
    skims: bool = True,
) -> _Remedy | None:
    """Return the sizes with the least skimming within what is advised, else within the limits.

    Where steps are open it is first asked whether any sizes of theirs do without skimming; where speeds are free that
    may be all that is situation.
    """
    anew = (*situation.too_small, *((again,) if again else ()))
    standing, deepest = standing_problem(replace(made, problem=problem), situation.steps, anew=anew)
    is_open = situation.open or bool(anew)
    for aim in situation.aims:
        aimed = standing if aim == "limits" else within_advice(standing, situation.made.job.design.series.ratio)
        if isinstance(aimed, MiddleProblem):
            speeds = situation.plate_speeds if aim == "advice" else 0
            mended = _mended_free(aimed, speeds, situation.clock, is_open=is_open, skims=skims)
        else:
            mended = _mended(situation, aimed, is_open=is_open)
        if mended is not None:
            return _Remedy(mended, aim, deepest, anew)
    return None


def _mended(situation: Situation, problem: Problem, *, is_open: bool) -> Mended | None:
    """Return sizes whose speeds make a series, open steps as good as they can be beside those that stand.

    Where the search for the least skimming was cut short, sizes that do are taken from the one for the least J, and it
    is not said to be proved.
    """
    clock, proved = situation.clock, True
    candidate = look(as_it_stands(problem), clock).found.candidate if is_open else None
    if candidate is None:
        coarse = with_open_listed(problem)
        skimmed = least_skimming(coarse, inf, clock)
        candidate = skimmed.candidate if skimmed is not None else look(problem, clock).found.candidate
        proved = skimmed is not None and skimmed.proved and coarse is problem
    if candidate is None:
        return None
    return Mended((_best_open(situation, candidate) if is_open else candidate).stages, proved)


def _best_open(situation: Situation, candidate: Candidate) -> Candidate:
    """Return the best sizes of the open steps beside what was chosen of the standing ones, all on ticks."""
    problem = held(candidate.problem, candidate.stages)
    searched = look(problem, situation.clock).found
    best = searched.candidate or candidate.model_copy(update={"problem": problem})
    try:
        return finish(best, searched.proof.structural, situation.clock, close=True).candidate
    except NoDesignError:
        return best if on_ticks(best.problem.stages, best.stages) else candidate


def _mended_free(problem: MiddleProblem, speeds: int, clock: Clock, *, is_open: bool, skims: bool) -> Mended | None:
    """Return sizes whose speeds are free, so many of which make a plate as even as is advised.

    Of the searches, each ended by the clock, one for the least skimming is after a part of what others may look at.
    """
    rules = PlateRules(problem.targets.bands, problem.targets.distinct)

    def accepts(logs: Sequence[float]) -> bool:
        return not speeds or plate_holds(logs, rules, speeds)

    def does(candidate: MiddleCandidate | None) -> bool:
        return candidate is not None and accepts(sorted(middle_logs(candidate.problem, candidate.stages)))

    zero = _opened(as_it_stands(problem), clock) if is_open else None
    if zero is not None and does(zero):
        return Mended(by_position(zero), proved=True)
    if not skims:
        return None
    fine = with_open_ticked(problem) if is_open else problem
    skimmed = least_middle_skimming(fine, accepts, clock.counting(clock.most // WEIGHT))
    if skimmed is None:
        return None
    if not is_open:
        return Mended(by_position(skimmed.candidate), skimmed.proved)
    best = _opened(held(skimmed.candidate.problem, skimmed.candidate.stages), clock)
    if best is None or not does(best):
        return None
    return Mended(by_position(best), skimmed.proved and fine is not problem)


def _opened(problem: MiddleProblem, clock: Clock) -> MiddleCandidate | None:
    """Return the sizes of least F of the open steps, refined and on ticks; those that stand are as they are."""
    found = search_middle(with_open_ticked(problem), clock)
    if found.candidate is None:
        return None
    return final_of(found.candidate, refine_middle(found.candidate, found.proof.structural, round_middle, clock))


def _told(situation: Situation, made: MadeMachine, remedy: _Remedy) -> Iterator[OptionSheet]:
    """Yield an option with what the machine then is; nothing where nothing is to be done."""
    job, stages = made.job, remedy.mended.stages
    belts = tuple(sizes.belt for sizes in stages)
    skim: list[StepChange] = []
    chosen_anew = False
    fresh: list[tuple[StepKnown, StepChange]] = []
    for step in situation.steps:
        at = stages[step.stage].positions[step.place]
        size = at.driver_mm if step.side == "driver" else at.driven_mm
        smaller = step.size is not None and size < step.size.pitch_mm - SAME_MM
        if step.state == "not turned" or (step in remedy.anew and not smaller):
            fresh.append((step, step_change(step, size)))
        elif smaller:
            # a step that was looked for anew, and comes out smaller, need only be skimmed
            skim.append(step_change(step, size))
            chosen_anew = chosen_anew or step in remedy.anew
    turn = tuple(change for step, change in fresh if step not in remedy.anew)
    again = tuple(change for step, change in fresh if step in remedy.anew)
    others = tuple(k for k, (one, other) in enumerate(zip(belts, situation.made.belts, strict=True), 1) if one != other)
    if not (skim or turn or again or others):
        return
    then = MadeMachine(job, for_belts(situation.made, made, belts), made.problem, belts)
    depth = sum(2 * change.deeper_mm for change in skim)
    yield OptionSheet(
        kind="anew" if again else "belt" if others else "skim" if skim else "turn",
        belts=tuple(belt.marking for belt in belts),
        other_belts=others,
        skim=tuple(skim),
        turn=turn,
        anew=again,
        skim_mm=depth,
        within=remedy.within,
        proved=remedy.mended.proved and depth <= remedy.deepest_mm and not chosen_anew,
        said=_bounded(remedy, depth, sum(_needs_larger(situation, step, change) for step, change in fresh)),
        made=made_sheet(then, with_pitch(situation.sizes, stages)),
    )


def _needs_larger(situation: Situation, step: StepKnown, change: StepChange) -> bool:
    """Tell whether a step is to be turned from a larger disc than the design took for it."""
    planned, truing = step.designed.blank_mm, situation.made.scenario.making.truing_mm
    return planned is not None and change.outside_mm + truing > planned + SAME_MM


def _bounded(remedy: _Remedy, skim_mm: float, larger: int) -> str:
    """Return what may have kept a better way from being found, and what else is asked of the maker."""
    said = []
    if skim_mm > remedy.deepest_mm:
        said.append("of some steps no more skimming was looked at, though more is allowed")
    if larger:
        said.append(f"{'1 step needs' if larger == 1 else f'{larger} steps need'} a larger disc than was planned")
    return "; ".join(said)


def _other_belts(situation: Situation, skim_mm: float) -> list[OptionSheet]:
    """Return the way with other belts of the same sections, where it takes less skimming."""
    situation.clock.begin("other belts")
    wide = with_stock_belts(situation.made)
    found = _least(situation, wide, wide.problem)
    if found is None:
        return []
    told = list(_told(situation, wide, found))
    return [option for option in told if option.other_belts and option.skim_mm < skim_mm - SAME_MM]


def _anew(situation: Situation, own: Problem | MiddleProblem) -> list[OptionSheet]:
    """Return the way of making one turned step anew from a blank that takes the least skimming.

    Where speeds are free others are first looked for that take none, which is sooner known.
    """
    found: list[OptionSheet] = []
    turned = [s for s in situation.steps if s.size is not None and s.designed.source == "turned"]
    for skims in (False, True) if isinstance(own, MiddleProblem) else (True,):
        for step in (s for s in turned if s not in situation.too_small):
            situation.clock.begin("a step made anew")
            least = _least(situation, situation.made, own, step, skims=skims)
            if least is not None:
                found += _told(situation, situation.made, least)
        if found:
            break
    return sorted(
        found, key=lambda option: (bool(option.anew), option.skim_mm, option.within == "limits", option.made.series.j)
    )[:1]
