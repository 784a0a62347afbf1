"""A made machine checked again: sizes from what was measured, fit, speeds, what to skim, and the verdict in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.checks.stated import read_machine
from optimizer.clock import Clock
from optimizer.pipeline.job import CHANGED, Job
from optimizer.pipeline.sheets import cautions_of, skipped_sheets, versions_of
from optimizer.quantities import show_length
from optimizer.recheck.made import MadeMachine, built_machine, joined, made_sheet, sizes_now, steps_now
from optimizer.recheck.readings import Measurements
from optimizer.recheck.records import BeltNow, OptionSheet, Recheck, StageNow, Verdict
from optimizer.recheck.remedies import Situation, is_well, options, worse_checks
from optimizer.recheck.sizes import StepKnown, newest
from optimizer.recheck.slip import CAUTION
from optimizer.recheck.speeds import belt_lengths, read_speeds, slip_sheet

__all__ = ["MeasuredFile", "recheck"]

MOST_EXAMINED = 2_000_000
"""Combinations looked at in one of its many searches before it ends unproved."""
SKIMMING = (
    "Skim with the belt off and the machine's plug pulled, a little at a time, measured after every cut: what is off "
    "cannot be put back.",
)
KINDS: dict[str, Verdict] = {
    "turn": "turn the rest",
    "skim": "skim",
    "belt": "change the belt",
    "anew": "make a step anew",
}


@dataclass(frozen=True)
class MeasuredFile:
    """The readings with the name and digest of their file."""

    measured: Measurements
    name: str
    sha256: str


def recheck(job: Job, file: MeasuredFile, clock: Clock | None = None) -> Recheck:
    """Return what a machine is by what was measured on it, and what could be done about it.

    Parameters
    ----------
    job
        The design beside its scenario.
    file
        What was measured.
    clock
        Ends the work where time, memory or a search's combinations are over; hears how far it is.

    Raises
    ------
    NoDesignError
        The scenario no longer states a problem for the design's layout.
    """
    measured = file.measured
    steps = newest(measured, job.design.machine)
    sizes = sizes_now(job, steps)
    made = joined(MadeMachine.of(job), sizes)
    now = made_sheet(made, sizes)
    clock = (clock or Clock()).counting(MOST_EXAMINED)
    asked = Situation(made, steps, sizes, now, clock)
    found = () if _untold(steps) else options(asked)
    lengths = belt_lengths(made, sizes, measured)
    verdict, said = judged(asked, found, cut_short=bool(clock.ended))
    return Recheck(
        title=job.scenario.title,
        units=job.scenario.units,
        scenario=job.scenario.name,
        scenario_sha256=job.scenario.sha256,
        measured=file.name,
        measured_sha256=file.sha256,
        dates=tuple(dict.fromkeys(str(check.date) for check in measured.checks)),
        verdict=verdict,
        said=said,
        steps=steps_now(steps, job.scenario.units),
        designed=job.design.series,
        now=now,
        lengths=lengths,
        read_speeds=read_speeds(made, sizes, measured),
        slip=slip_sheet(made, sizes, measured),
        options=found,
        skipped=skipped_sheets(read_machine(made.scenario, built_machine(made, sizes))),
        remarks=(*((f"{CHANGED}.",) if job.changed else ()), *remarks_of(asked, measured, lengths)),
        cautions=(*SKIMMING, CAUTION, *cautions_of(made.scenario)),
        versions=versions_of("numpy", "scipy", "pydantic"),
    )


def _untold(steps: tuple[StepKnown, ...]) -> bool:
    """Tell whether some step stands whose size nobody can tell, so that nothing can be worked out from it."""
    return any(step.state == "cannot tell" for step in steps)


def judged(asked: Situation, options: tuple[OptionSheet, ...], *, cut_short: bool) -> tuple[Verdict, str]:
    """Return the verdict with a sentence that says it; `cut_short` tells that some search was ended by its limit."""
    untold = sum(step.state == "cannot tell" for step in asked.steps)
    if untold:
        which = "a step" if untold == 1 else f"{untold} steps"
        said = f"The running diameter of {which} cannot be told from what was measured, so nothing is proposed yet."
        return "measure", said
    if options:
        return KINDS[options[0].kind], _option_words(asked, options)
    if is_well(asked):
        if asked.open:
            return "turn the rest", "What stands is well; turn the rest as designed."
        return "all is well", "All is well: the belts fit, the speeds are where they were wanted. Stop."
    if not worse_checks(asked) and asked.now.wants_met:
        said = f"All is within its limits; {_advised_words(asked)}, and no skimming mends that."
        return "all is well", f"{said} Stop."
    if cut_short:
        return "no remedy", "No remedy was found, but searches were ended by their limit before all was looked at."
    return "no remedy", "No skimming, no other belt, and no single step made anew restores what fails."


def remarks_of(asked: Situation, measured: Measurements, lengths: tuple[BeltNow, ...]) -> tuple[str, ...]:
    """Return what should be known beside the verdict."""
    return (
        *_shared_cone(asked),
        *_plate(asked),
        *_stated(asked),
        *_unsure(asked),
        *_stands(asked, measured),
        *_lengths(asked, lengths),
    )


def _advised_words(asked: Situation) -> str:
    if asked.now.series.largest_gap is None:
        return "end miss or unevenness is beyond what is advised"
    return "end miss, or the evenness or number of speeds of the plate, is not what is advised or was designed"


def _shared_cone(asked: Situation) -> Iterator[str]:
    for number, stage in enumerate(asked.made.job.design.machine.stages, 1):
        if stage.shared_driver:
            count = len(stage.positions)
            yield (
                f"The cone on {stage.driver_shaft} carries the belts of stages {number - 1} and {number} and is told "
                f"once, as driven: its step 1 is position {count} of stage {number}, its step {count} position 1."
            )


def _plate(asked: Situation) -> Iterator[str]:
    """Yield how the plate that goes best with the speeds as they are differs from the design's, where they are free."""
    if asked.now.series.largest_gap is None:
        return
    was = {speed.positions: speed.rpm for speed in asked.made.job.design.machine.speeds if speed.on_plate}
    now = {speed.positions: speed.rpm for speed in asked.now.speeds if speed.on_plate}
    gone = [f"{_on(at)} ({rpm:.1f} rpm)" for at, rpm in was.items() if at not in now]
    new = [f"{_on(at)} ({rpm:.1f} rpm)" for at, rpm in now.items() if at not in was]
    if gone or new:
        parts = [f"leave out {', '.join(gone)} of the design's plate"] if gone else []
        parts += [f"show {', '.join(new)}"] if new else []
        yield f"As the speeds are now, the most even plate would {', and '.join(parts)}."


def _on(positions: tuple[int, ...]) -> str:
    return "x".join(map(str, positions))


def _option_words(asked: Situation, options: tuple[OptionSheet, ...]) -> str:
    """Return what is proposed first, and that there is another way."""
    first = options[0]
    units = asked.made.job.scenario.units
    parts = []
    if first.anew:
        named = ", ".join(f"position {step.position} of the cone on {step.shaft}" for step in first.anew)
        parts.append(f"make {named} anew")
    if first.other_belts:
        named = ", ".join(f"{first.belts[k - 1]} on stage {k}" for k in first.other_belts)
        parts.append(f"take another belt, {named}")
    if first.skim:
        steps = "1 step" if len(first.skim) == 1 else f"{len(first.skim)} steps"
        parts.append(f"skim {steps}, {show_length(first.skim_mm, units)} on diameters in all")
    if first.turn:
        parts.append("turn the rest to the sizes below")
    text = " and ".join(parts)
    aim = "" if first.within == "advice" else "; what is advised of ends and evenness cannot be had, the limits are"
    other = "" if len(options) == 1 else "; another belt would take less, see below"
    if first.skim and asked.now.wants_met and not worse_checks(asked):
        return f"No limit is broken; to come within what is advised, {text}{aim}{other}."
    return f"{text[:1].upper()}{text[1:]}{aim}{other}."


def _stated(asked: Situation) -> Iterator[str]:
    stated = [step for step in asked.steps if step.state == "as stated"]
    if stated:
        count = "1 step was" if len(stated) == 1 else f"{len(stated)} steps were"
        yield f"{count} not measured and taken as stated: bought or kept, and surer when measured."
    later = sum(step.state == "not turned" for step in asked.steps)
    if later:
        yield f"{'1 step is' if later == 1 else f'{later} steps are'} not turned yet; figures take the design's sizes."


def _unsure(asked: Situation) -> Iterator[str]:
    for number, stage in enumerate(asked.now.stages, 1):
        if not stage.sure and stage.spread_mm is not None:
            yield (
                f"Stage {number}: whether the belt fits everywhere is closer than what was measured can tell "
                f"({_fit_words(asked, stage)}); measure finer, or try it."
            )
    units = asked.made.job.scenario.units
    for shared in asked.now.shared:
        if not shared.sure:
            apart, forgiven, doubt = (
                show_length(mm, units) for mm in (shared.apart_mm, shared.forgiven_mm, shared.uncertainty_mm)
            )
            yield (
                f"Mount of {shared.shaft}: whether one setting fits both belts everywhere is closer than what was "
                f"measured can tell (settings {apart} apart, {forgiven} allowed, known to {doubt}); measure finer, or "
                "try it."
            )


def _stands(asked: Situation, measured: Measurements) -> Iterator[str]:
    """Yield where shafts that were measured without a belt on a position do not stand as the belts want them."""
    units = asked.made.job.scenario.units
    newest: dict[int, float] = {}
    for check in measured.checks:
        newest |= {c.stage: c.centre_mm for c in check.centre if c.centre_mm is not None and c.position is None}
    for number, centre_mm in sorted(newest.items()):
        stage, rules = asked.now.stages[number - 1], asked.made.problem.stages[number - 1]
        own = [p.centre_mm for p in stage.positions if p.centre_mm is not None]
        locked = asked.made.job.design.machine.stages[number - 1].centres.travel_mm == 0
        low, high = stage.limits_mm
        stands = f"Stage {number}: the shafts stand {show_length(centre_mm, units)} apart"
        worst = max((abs(mm - centre_mm) for mm in own), default=0.0)
        if locked and worst > rules.fit_mm:
            yield (
                f"{stands}; a belt of its nominal length wants up to {show_length(worst, units)} otherwise, "
                f"and forgives {show_length(rules.fit_mm, units)}."
            )
        elif not locked and not low <= centre_mm <= high:
            yield f"{stands}, outside the {show_length(low, units)} to {show_length(high, units)} that were stated."


def _fit_words(asked: Situation, stage: StageNow) -> str:
    units = asked.made.job.scenario.units
    spread, window, doubt = (
        show_length(mm or 0.0, units) for mm in (stage.spread_mm, stage.window_mm, stage.uncertainty_mm)
    )
    return f"centre distances {spread} apart, {window} allowed, known to {doubt}"


def _lengths(asked: Situation, lengths: tuple[BeltNow, ...]) -> Iterator[str]:
    units = asked.made.job.scenario.units
    for number in range(1, len(asked.now.stages) + 1):
        own = [belt for belt in lengths if belt.stage == number]
        if not own:
            continue
        last = [belt for belt in own if belt.date == own[-1].date]
        mean = sum(belt.longer_mm for belt in last) / len(last)
        doubt = max(belt.uncertainty_mm for belt in last)
        apart = max(belt.longer_mm for belt in last) - min(belt.longer_mm for belt in last)
        if apart > 2 * doubt:
            yield (
                f"Stage {number}: by its centre distances the one belt would have lengths {show_length(apart, units)} "
                "apart, more than the readings allow; measure centres and sizes again."
            )
        elif abs(mean) > doubt:
            longer = "longer" if mean > 0 else "shorter"
            yield f"Stage {number}: the belt is {show_length(abs(mean), units)} {longer} than its name says."
