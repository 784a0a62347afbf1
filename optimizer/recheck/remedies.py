"""What could be done about a made machine: turn the rest, skim, another belt, a step made anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import Literal, NamedTuple

from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.pipeline.finish import finish, on_ticks
from optimizer.pipeline.free import final_of
from optimizer.recheck.made import MadeMachine, SizesNow, made_sheet, step_change
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
from optimizer.records.middle import MiddleCandidate, MiddleProblem
from optimizer.records.middle_rules import middle_logs
from optimizer.records.plate import PlateRules, plate_holds
from optimizer.records.problem import Problem, SideSizes, Targets
from optimizer.refine.middle import refine_middle
from optimizer.search import least_skimming, look
from optimizer.search.middle import search_middle
from optimizer.search.middle.skimming import least_middle_skimming

__all__ = ["Situation", "is_well", "options", "worse_checks"]

SAME_MM = 1e-6
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


def worse_checks(asked: Situation) -> tuple[CheckSheet, ...]:
    """Return the checks of what is impossible and of limits that fail now and did not in the design."""
    before = {(check.name, check.where) for check in asked.made.job.design.failed}
    return tuple(check for check in asked.now.failed if (check.name, check.where) not in before)


def is_well(asked: Situation) -> bool:
    """Tell whether nothing is worse than in the design, and what was advised there is kept to."""
    series = asked.now.series
    kept = "advice" not in asked.aims or (series.ends_advised and series.evenness_advised and asked.plate_kept)
    return kept and asked.now.wants_met and not worse_checks(asked)


class _Found(NamedTuple):
    """A set of sizes that does."""

    stages: tuple[StageSizes, ...]
    """Positions slowest first."""
    proved: bool
    within: Literal["advice", "limits"]
    deepest_mm: float
    """How much was looked at of every step, infinite where all that is allowed was."""
    anew: tuple[StepKnown, ...]
    """Steps that are made anew."""


def options(asked: Situation) -> tuple[OptionSheet, ...]:
    """Return what could be done, the least trouble first; nothing where nothing need, or can, be done."""
    well = is_well(asked)
    if well and not asked.open:
        return ()
    found: list[OptionSheet] = []
    own = _own_belts(asked.made)
    asked.clock.begin("least skimming")
    least = _least(asked, asked.made, own, skims=not well)
    if least is None and well and isinstance(own, MiddleProblem):
        return ()
    if least is not None:
        found += _told(asked, asked.made, least)
    if least is None or any(option.skim for option in found):
        found += _other_belts(asked, found[0].skim_mm if found else inf)
    if not found:
        found += _anew(asked, own)
    if well and found and not found[0].skim and found[0].made.series.j > asked.now.series.j - WORTH:
        return ()
    return tuple(found)


def _own_belts(made: MadeMachine) -> Problem | MiddleProblem:
    return with_belts(made.problem, tuple((belt,) for belt in made.belts))


def _least(
    asked: Situation,
    made: MadeMachine,
    problem: Problem | MiddleProblem,
    again: StepKnown | None = None,
    *,
    skims: bool = True,
) -> _Found | None:
    """Return the sizes with the least skimming within what is advised, else within the limits.

    Where speeds are free it can be asked for sizes without any skimming.
    Where steps are open it is first asked whether any sizes of theirs do without skimming. Where the search for the
    least was cut short, sizes that do are taken from the one for the least J, and it is not said to be proved.
    """
    machine = MadeMachine(made.job, made.scenario, problem, made.belts)
    anew = (*asked.too_small, *((again,) if again else ()))
    standing, deepest = standing_problem(machine, asked.steps, anew=anew)
    is_open = asked.open or bool(anew)
    for aim in asked.aims:
        ratio = asked.made.job.design.series.ratio
        if isinstance(standing, MiddleProblem):
            free = within_advice(standing, ratio) if aim == "advice" else standing
            accepts = plate_as_good(standing.targets, asked.plate_speeds) if aim == "advice" else any_plate
            mend = mended(free, Ask(accepts, is_open, skims), asked.clock)
            if mend is not None:
                return _Found(mend.stages, mend.proved, aim, deepest, anew)
            continue
        held = within_advice(standing, ratio) if aim == "advice" else standing
        candidate, proved = _zero(held, asked.clock) if is_open else None, True
        if candidate is None:
            candidate, proved = _skimmed(held, asked.clock)
        if candidate is not None:
            candidate = _best_open(asked, held, candidate) if is_open else candidate
            return _Found(candidate.stages, proved, aim, deepest, anew)
    return None


def _zero(problem: Problem, clock: Clock) -> Candidate | None:
    """Return the best sizes of the open steps beside those that stand as they are."""
    return look(as_it_stands(problem), clock).found.candidate


def _skimmed(problem: Problem, clock: Clock) -> tuple[Candidate | None, bool]:
    """Return the sizes with the least skimming, and whether that is proved."""
    coarse = with_open_listed(problem)
    skimmed = least_skimming(coarse, inf, clock)
    if skimmed is not None:
        return skimmed.candidate, skimmed.proved and coarse is problem
    return look(problem, clock).found.candidate, False


def _best_open(asked: Situation, problem: Problem, candidate: Candidate) -> Candidate:
    """Return the best sizes of the open steps beside what was chosen of the standing ones, all on ticks."""
    stages = []
    for rules, sizes in zip(problem.stages, candidate.stages, strict=True):
        sides = {
            "driver": _held(rules.driver, [p.driver_mm for p in sizes.positions]),
            "driven": _held(rules.driven, [p.driven_mm for p in sizes.positions]),
        }
        stages.append(rules.model_copy(update={**sides, "belts": (sizes.belt,)}))
    held = problem.model_copy(update={"stages": tuple(stages)})
    searched = look(held, asked.clock).found
    best = searched.candidate or candidate.model_copy(update={"problem": held})
    try:
        return finish(best, searched.proof.structural, asked.clock, close=True).candidate
    except NoDesignError:
        return best if on_ticks(best.problem.stages, best.stages) else candidate


def _held(side: SideSizes, chosen_mm: list[float]) -> SideSizes:
    """Return a side with its standing steps at the sizes that were chosen."""
    if not side.standing_mm:
        return side
    standing = (None if s is None else (mm,) for s, mm in zip(side.standing_mm, chosen_mm, strict=True))
    return side.model_copy(update={"standing_mm": tuple(standing)})


def _told(asked: Situation, made: MadeMachine, found: _Found) -> Iterator[OptionSheet]:
    """Yield an option with what the machine then is; nothing where nothing is to be done."""
    belts = tuple(sizes.belt for sizes in found.stages)
    job = made.job
    skim: list[StepChange] = []
    chosen_anew = False
    fresh: list[tuple[StepKnown, StepChange]] = []
    pitch = [[list(side) for side in two] for two in asked.sizes.pitch_mm]
    for step in asked.steps:
        at = found.stages[step.stage].positions[step.place]
        size = at.driver_mm if step.side == "driver" else at.driven_mm
        pitch[step.stage][0 if step.side == "driver" else 1][step.place] = size
        smaller = step.size is not None and size < step.size.pitch_mm - SAME_MM
        if step.state == "not turned" or (step in found.anew and not smaller):
            fresh.append((step, step_change(job, step, size)))
        elif smaller:
            # a step that was looked for anew, and comes out smaller, need only be skimmed
            skim.append(step_change(job, step, size))
            chosen_anew = chosen_anew or step in found.anew
    for k, stage in enumerate(job.design.machine.stages):
        if stage.shared_driver:
            pitch[k][0] = pitch[k - 1][1][::-1]
    turn = tuple(change for step, change in fresh if step not in found.anew)
    again = tuple(change for step, change in fresh if step in found.anew)
    others = tuple(k for k, (one, other) in enumerate(zip(belts, asked.made.belts, strict=True), 1) if one != other)
    if not (skim or turn or again or others):
        return
    then = MadeMachine(job, for_belts(asked.made, made, belts), made.problem, belts)
    sheet = made_sheet(then, asked.sizes.changed(tuple((tuple(a), tuple(b)) for a, b in pitch)))
    depth = sum(2 * change.deeper_mm for change in skim)
    yield OptionSheet(
        kind="anew" if again else "belt" if others else "skim" if skim else "turn",
        belts=tuple(belt.marking for belt in belts),
        other_belts=others,
        skim=tuple(skim),
        turn=turn,
        anew=again,
        skim_mm=depth,
        within=found.within,
        proved=found.proved and depth <= found.deepest_mm and not chosen_anew,
        said=_bounded(found, depth, sum(_needs_larger(asked, step, change) for step, change in fresh)),
        made=sheet,
    )


def _needs_larger(asked: Situation, step: StepKnown, change: StepChange) -> bool:
    """Tell whether a step is to be turned from a larger disc than the design took for it."""
    planned, truing = step.designed.blank_mm, asked.made.scenario.making.truing_mm
    return planned is not None and change.outside_mm + truing > planned + SAME_MM


def _bounded(found: _Found, skim_mm: float, larger: int) -> str:
    """Return what may have kept a better way from being found, and what else is asked of the maker."""
    said = []
    if skim_mm > found.deepest_mm:
        said.append("of some steps no more skimming was looked at, though more is allowed")
    if larger:
        said.append(f"{'1 step needs' if larger == 1 else f'{larger} steps need'} a larger disc than was planned")
    return "; ".join(said)


def _other_belts(asked: Situation, skim_mm: float) -> list[OptionSheet]:
    """Return the way with other belts of the same sections, where it takes less skimming."""
    asked.clock.begin("other belts")
    wide = with_stock_belts(asked.made)
    found = _least(asked, wide, wide.problem)
    if found is None:
        return []
    told = list(_told(asked, wide, found))
    return [option for option in told if option.other_belts and option.skim_mm < skim_mm - SAME_MM]


def _anew(asked: Situation, own: Problem | MiddleProblem) -> list[OptionSheet]:
    """Return the way of making one turned step anew from a blank that takes the least skimming.

    Where speeds are free others are first looked for that take none, which is sooner known.
    """
    found: list[OptionSheet] = []
    steps = [
        s for s in asked.steps if s.size is not None and s.designed.source == "turned" and s not in asked.too_small
    ]
    for skims in (False, True) if isinstance(own, MiddleProblem) else (True,):
        for step in steps:
            asked.clock.begin("a step made anew")
            least = _least(asked, asked.made, own, step, skims=skims)
            if least is not None:
                found += _told(asked, asked.made, least)
        if found:
            break
    return sorted(
        found, key=lambda option: (bool(option.anew), option.skim_mm, option.within == "limits", option.made.series.j)
    )[:1]


Accepts = Callable[[Sequence[float]], bool]
WEIGHT = 2
"""Combinations that one counts for which is looked at for the least skimming, by the time it takes."""


class Mended(NamedTuple):
    """A set of sizes that does."""

    stages: tuple[StageSizes, StageSizes]
    """By position, slowest first."""
    proved: bool
    """Whether no less skimming does it, over the sizes that were looked at."""


def any_plate(_: Sequence[float]) -> bool:
    """Accept all speeds."""
    return True


def plate_as_good(targets: Targets, speeds: int) -> Accepts:
    """Return a rule that accepts speeds of which at least so many make a plate as even as is advised."""
    rules = PlateRules(targets.bands, targets.distinct)
    return lambda logs: plate_holds(logs, rules, speeds)


class Ask(NamedTuple):
    """What is asked of sizes that mend a machine."""

    accepts: Accepts
    """Tells of the speeds' natural logarithms, ascending, whether they will do."""
    is_open: bool
    """Whether some steps are open."""
    skims: bool = True
    """Whether steps may be skimmed at all."""


def mended(problem: MiddleProblem, ask: Ask, clock: Clock) -> Mended | None:
    """Return the accepted sizes with the least skimming, open steps as good as they can be; nothing without any.

    Where steps are open it is first asked whether any sizes of theirs do without skimming.

    Parameters
    ----------
    problem
        The machine, standing steps with the sizes that they may be skimmed to.
    ask
        What is asked of the sizes.
    clock
        Ends each search; one for the least skimming after a fraction of what others may look at.
    """
    sooner = clock.counting(clock.most // WEIGHT)
    if not ask.is_open:
        skimmed = least_middle_skimming(problem, ask.accepts, sooner) if ask.skims else None
        return None if skimmed is None else Mended(by_position(skimmed.candidate), skimmed.proved)
    zero = _opened(as_it_stands(problem), clock)
    if zero is not None and ask.accepts(_logs(zero)):
        return Mended(by_position(zero), proved=True)
    fine = with_open_ticked(problem)
    skimmed = least_middle_skimming(fine, ask.accepts, sooner) if ask.skims else None
    best = None if skimmed is None else _opened(held(skimmed.candidate), clock)
    if skimmed is None or best is None or not ask.accepts(_logs(best)):
        return None
    return Mended(by_position(best), skimmed.proved and fine is not problem)


def _logs(candidate: MiddleCandidate) -> list[float]:
    return sorted(middle_logs(candidate.problem, candidate.stages))


def _opened(problem: MiddleProblem, clock: Clock) -> MiddleCandidate | None:
    """Return the sizes of least F of the open steps, refined and on ticks; those that stand are as they are."""
    found = search_middle(with_open_ticked(problem), clock)
    if found.candidate is None:
        return None
    return final_of(found.candidate, refine_middle(found.candidate, found.proof.structural, clock))
