"""A machine with sizes that were measured: its steps, belts, speeds, figures, checks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, isnan, log, sqrt
from typing import NamedTuple

import numpy as np

from optimizer.checks import asked_once_made
from optimizer.checks.coupled import Meeting, Movement, movements_of
from optimizer.checks.stated import Machine, MadeSpeed, own_centre_mm, read_machine
from optimizer.geometry.belts import belt_length_mm, length_gradient
from optimizer.layouts.free import any_problem
from optimizer.pipeline.free import Figures, series_of_free
from optimizer.pipeline.job import Job, built_of
from optimizer.pipeline.sheet import series_sheet
from optimizer.pipeline.sheets import check_sheets
from optimizer.pipeline.turned import made_up
from optimizer.quantities import show_length
from optimizer.quantities.digits import meaningful
from optimizer.recheck.records import (
    BandNow,
    MadeSheet,
    OtherNow,
    PositionNow,
    SharedNow,
    SizeThen,
    SpeedNow,
    StageNow,
    StepChange,
    StepNow,
)
from optimizer.recheck.sizes import CONTRADICT, Bench, StepKnown, how_to_measure
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.candidate import PositionSizes, StageSizes
from optimizer.records.design import CheckSheet, SeriesSheet
from optimizer.records.layout import Layout
from optimizer.records.middle import MiddleProblem, largest_gap
from optimizer.records.problem import BeltChoice, Problem, StageProblem, Targets
from optimizer.records.sheet import StageSheet
from optimizer.records.speeds import counts
from optimizer.scenario import BeltStage, Scenario
from optimizer.scenario.scenario import Units
from optimizer.scoring import Score, score
from optimizer.series import end_miss

__all__ = [
    "MadeMachine",
    "SizesNow",
    "built_machine",
    "joined",
    "layout_of",
    "made_sheet",
    "problem_of",
    "sizes_now",
    "step_change",
    "steps_now",
]

SIZE_CHECKS = frozenset({"smallest diameter", "groove root over the hub", "free range, least"})
"""Checks of sizes, which count as passed where they miss by no more than a reading can tell."""


class StepSize(NamedTuple):
    """A step as it is, or as it was designed where nothing is known."""

    pitch_mm: float
    standard_mm: float
    """Standard uncertainty; 0 where it was not measured."""
    known: bool
    """Whether it was measured, or is there as stated."""


class FacingSteps(NamedTuple):
    """The steps of a stage, slowest position first."""

    driver: tuple[StepSize, ...]
    driven: tuple[StepSize, ...]

    @property
    def positions(self) -> tuple[tuple[StepSize, StepSize], ...]:
        """The step that pulls, and the one facing it, at every position."""
        return tuple(zip(self.driver, self.driven, strict=True))


SizesNow = tuple[FacingSteps, ...]
"""The steps of every stage, motor's first."""


@dataclass(frozen=True)
class MadeMachine:
    """Of what a sheet is made: a design, its problem, and the belts it runs on."""

    job: Job
    scenario: Scenario
    """The design's, or one with the belt that is tried."""
    problem: Problem | MiddleProblem
    belts: tuple[BeltChoice, ...]

    @staticmethod
    def of(job: Job) -> MadeMachine:
        """Return a design with its own belts.

        Raises
        ------
        NoDesignError
            The scenario leaves nothing to choose from.
        """
        problem = problem_of(job)
        stages = job.design.machine.stages
        return MadeMachine(job, job.scenario, problem, tuple(map(_belt_of, problem.stages, stages)))


def joined(made: MadeMachine, sizes: SizesNow) -> MadeMachine:
    """Return a machine with every belt that is made up in place as long as its sizes ask, its shafts being fixed."""
    stages = [stage for stage in made.scenario.chain if isinstance(stage, BeltStage)]
    belts = list(made.belts)
    for k, (stage, belt, two) in enumerate(zip(stages, made.belts, sizes, strict=True)):
        sheet = made.job.design.machine.stages[k]
        if made_up(stage, sheet.datum_length_mm):
            driver, driven = (np.array([step.pitch_mm for step in side]) for side in two)
            lengths = belt_length_mm(driver, driven, sum(stage.centres_mm) / 2, crossed=stage.crossed)
            belts[k] = belt.model_copy(update={"length_mm": float(np.mean([lengths.min(), lengths.max()]))})
    return replace(made, belts=tuple(belts))


def layout_of(job: Job) -> Layout:
    """Return the layout of a design."""
    offsets = job.design.layout.offsets
    if job.scenario.free:
        positions = tuple(len(stage.positions) for stage in job.design.machine.stages)
        return Layout(positions=positions, offsets=(), free="shared cone" if job.scenario.shared_cone else "two cones")
    return Layout(
        positions=tuple(map(len, offsets)),
        offsets=offsets,
        switched=job.design.layout.switched,
        switch_names=tuple(switch.name for switch in job.scenario.switches),
    )


def problem_of(job: Job) -> Problem | MiddleProblem:
    """Return the problem that a design answers."""
    return any_problem(job.scenario, layout_of(job))


def sizes_now(job: Job, steps: tuple[StepKnown, ...]) -> SizesNow:
    """Return the sizes as they are, those of the design where nothing is known.

    A driver that is the driven cone of the stage before has its steps, from the other end.
    """
    found: list[FacingSteps] = []
    for k, stage in enumerate(job.design.machine.stages):
        driver, driven = (
            tuple(_as_known(step) for step in steps if (step.stage, step.side) == (k, side))
            for side in ("driver", "driven")
        )
        found.append(FacingSteps(found[-1].driven[::-1] if stage.shared_driver else driver, driven))
    return tuple(found)


def _as_known(step: StepKnown) -> StepSize:
    return StepSize(step.pitch_mm, step.size.standard_mm if step.size else 0.0, step.state in ("measured", "as stated"))


def with_pitch(sizes: SizesNow, stages: Sequence[StageSizes]) -> SizesNow:
    """Return the steps with other diameters, positions slowest first."""
    return tuple(
        FacingSteps(
            tuple(s._replace(pitch_mm=p.driver_mm) for s, p in zip(two.driver, chosen.positions, strict=True)),
            tuple(s._replace(pitch_mm=p.driven_mm) for s, p in zip(two.driven, chosen.positions, strict=True)),
        )
        for two, chosen in zip(sizes, stages, strict=True)
    )


def made_sheet(made: MadeMachine, sizes: SizesNow) -> MadeSheet:
    """Return everything that is told of a machine with such sizes."""
    stages = tuple(_stage(made, sizes, k) for k in range(len(made.problem.stages)))
    checks, built = _checks(made, sizes), built_machine(made, sizes)
    machine = read_machine(made.scenario, built)
    shared = _shared_now(machine, stages)
    if isinstance(made.problem, MiddleProblem):
        speeds, series = _free_speeds(made, sizes, machine), _free_series(machine, made.problem.targets)
    else:
        figures = score(made.problem, stage_sizes(made, sizes))
        speeds, series = _speeds(made, made.problem, sizes, figures), series_sheet(figures)
    return MadeSheet(
        stages=stages, speeds=speeds, bands=_bands(made, speeds), series=series, checks=checks, shared=shared
    )


def stage_sizes(made: MadeMachine, sizes: SizesNow) -> tuple[StageSizes, ...]:
    """Return the sizes as the search has them."""
    return tuple(
        StageSizes(
            belt=belt,
            positions=tuple(
                PositionSizes(driver_mm=a, driven_mm=b, centre_mm=own_centre_mm(a, b, belt.length_mm, rules.crossed))
                for (a, _, _), (b, _, _) in two.positions
            ),
        )
        for rules, belt, two in zip(made.problem.stages, made.belts, sizes, strict=True)
    )


def _belt_of(rules: StageProblem, stage: StageSheet) -> BeltChoice:
    return min(
        rules.belts, key=lambda belt: (abs(belt.length_mm - stage.pitch_length_mm), belt.marking != stage.marking)
    )


def _stage(made: MadeMachine, sizes: SizesNow, k: int) -> StageNow:
    rules, belt, sheet = made.problem.stages[k], made.belts[k], made.job.design.machine.stages[k]
    positions: list[PositionNow] = []
    for number, (driver, driven) in enumerate(sizes[k].positions, 1):
        own = own_centre_mm(driver.pitch_mm, driven.pitch_mm, belt.length_mm, rules.crossed)
        doubt = None
        if not isnan(own):
            by_a, by_b, by_centre = length_gradient(driver.pitch_mm, driven.pitch_mm, own, crossed=rules.crossed)
            doubt = 2 * hypot(by_a * driver.standard_mm, by_b * driven.standard_mm) / by_centre
        known = driver.known and driven.known
        centre = None if isnan(own) else own
        positions.append(PositionNow(number=number, centre_mm=centre, uncertainty_mm=doubt, known=known))
    own_mm = [p.centre_mm for p in positions if p.centre_mm is not None]
    goes_round = len(own_mm) == len(positions)
    spread = max(own_mm) - min(own_mm) if goes_round else None
    low, high = rules.centre_mm
    margins = [-1.0]
    doubt = 0.0
    if spread is not None:
        ends = {own_mm.index(max(own_mm)), own_mm.index(min(own_mm))}
        doubt = hypot(*(positions[end].uncertainty_mm or 0.0 for end in ends)) if len(ends) > 1 else 0.0
        margins = [belt.window_mm - spread, min(own_mm) - low, high - max(own_mm)]
    margin = min(margins)
    return StageNow(
        key=sheet.key,
        driver_shaft=sheet.driver_shaft,
        driven_shaft=sheet.driven_shaft,
        marking=belt.marking,
        length_mm=belt.length_mm,
        window_mm=belt.window_mm,
        spread_mm=spread,
        uncertainty_mm=None if spread is None else doubt,
        limits_mm=(low, high),
        fits=margin >= -1e-6,
        sure=not goes_round or abs(margin) >= doubt,
        positions=tuple(positions),
    )


def _speeds(made: MadeMachine, problem: Problem, sizes: SizesNow, figures: Score) -> tuple[SpeedNow, ...]:
    plate = [speed.rpm for speed in made.job.design.machine.speeds]
    found = zip(figures.speeds_rpm, plate, problem.layout.places, problem.layout.settings, strict=True)
    return tuple(
        _speed(sizes, chosen, number=number, settings=tuple(s + 1 for s in settings), plate_rpm=was, rpm=rpm)
        for number, (rpm, was, chosen, settings) in enumerate(found, 1)
    )


def _speed(
    sizes: SizesNow,
    chosen: tuple[int, ...],
    *,
    number: int,
    plate_rpm: float,
    rpm: float,
    settings: tuple[int, ...] = (),
) -> SpeedNow:
    steps = [side[place] for two, place in zip(sizes, chosen, strict=True) for side in two]
    return SpeedNow(
        number=number,
        positions=tuple(p + 1 for p in chosen),
        settings=settings,
        plate_rpm=plate_rpm,
        rpm=rpm,
        off=rpm / plate_rpm - 1,
        uncertainty=2 * sqrt(sum((step.standard_mm / step.pitch_mm) ** 2 for step in steps)),
        known=all(step.known for step in steps),
    )


def _bands(made: MadeMachine, speeds: tuple[SpeedNow, ...]) -> tuple[BandNow, ...]:
    return tuple(
        BandNow(name=band.name, want=band.want, have=sum(counts(band, speed.rpm) for speed in speeds))
        for band in made.problem.targets.bands
    )


def built_machine(made: MadeMachine, sizes: SizesNow) -> BuiltMachine:
    """Return the machine for the checks: every rim as far outside its pitch line as it was drawn."""
    machine = made.job.design.machine
    stages: list[BuiltStage] = []
    for drawn, sheet, belt, two in zip(built_of(machine).stages, machine.stages, made.belts, sizes, strict=True):
        steps = ([p.driver for p in sheet.positions], [p.driven for p in sheet.positions])
        rims = [
            tuple(size.pitch_mm + step.outside_mm - step.pitch_mm for size, step in zip(side, own, strict=True))
            for side, own in zip(two, steps, strict=True)
        ]
        update = {
            "marking": belt.marking,
            "datum_length_mm": belt.length_mm - (sheet.pitch_length_mm - sheet.datum_length_mm),
            "driver_outside_mm": stages[-1].driven_outside_mm[::-1] if sheet.shared_driver else rims[0],
            "driven_outside_mm": rims[1],
        }
        stages.append(drawn.model_copy(update=update))
    return BuiltMachine(stages=tuple(stages))


def _checks(made: MadeMachine, sizes: SizesNow) -> tuple[CheckSheet, ...]:
    """Return the checks that ask what is there, sizes held to what readings can tell."""
    doubt = max((2 * step.standard_mm for two in sizes for side in two for step in side), default=0.0)
    found = []
    for check in check_sheets(read_machine(made.scenario, built_machine(made, sizes))):
        if not asked_once_made(check.name):
            continue
        missed = -check.margin if check.margin is not None else 0.0
        if not check.passed and check.name in SIZE_CHECKS and missed <= doubt + 1e-9:
            note = f"{check.note}; within what the readings can tell".lstrip("; ")
            found.append(check.model_copy(update={"passed": True, "note": note}))
        else:
            found.append(check)
    return tuple(found)


def _free_speeds(made: MadeMachine, sizes: SizesNow, machine: Machine) -> tuple[SpeedNow, ...]:
    """Return the speeds of a machine as it is, slowest first and near-equal ones once."""
    designed = made.job.design.machine.speeds
    was = {speed.positions: speed.rpm for speed in designed}
    was |= {way.positions: way.rpm for speed in designed for way in speed.others}
    ways: dict[int, list[MadeSpeed]] = {}
    for place, speed in machine.ways:
        ways.setdefault(place, []).append(speed)
    return tuple(
        _speed(sizes, shown.positions, number=number, plate_rpm=was[_counted(shown)], rpm=shown.rpm).model_copy(
            update={
                "on_plate": shown in machine.shown,
                "others": tuple(OtherNow(positions=_counted(way), rpm=way.rpm) for way in alike if way != shown),
            }
        )
        for number, (shown, alike) in enumerate(zip(machine.speeds, ways.values(), strict=True), 1)
    )


def _free_series(machine: Machine, targets: Targets) -> SeriesSheet:
    """Return ends, largest step and evenness of the plate that goes best with a machine as it is.

    F is ``w_e·ε + w_u·g`` of all ways of making a speed.
    """
    assert machine.plate is not None
    logs = sorted(log(speed.rpm) for _, speed in machine.ways)
    miss, gap = end_miss(logs, targets.lo_rpm, targets.hi_rpm), largest_gap(logs)
    f = targets.end_weight * miss + targets.unevenness_weight * gap
    return series_of_free(Figures(f, miss, gap, machine.plate, turned_steps=0, belt_moves=0))


def _shared_now(machine: Machine, stages: tuple[StageNow, ...]) -> tuple[SharedNow, ...]:
    """Return for every mount that several belts share the positions at which one setting fits them least.

    Mounts of which a belt does not go round everywhere are left out.
    """
    return tuple(_shared_mount(movement, machine, stages) for movement in movements_of(machine) if movement.meetings)


def _shared_mount(movement: Movement, machine: Machine, stages: tuple[StageNow, ...]) -> SharedNow:
    worst = min(movement.meetings, key=lambda meeting: meaningful(meeting.common_mm[1] - meeting.common_mm[0]))
    numbers = [machine.pairs.index(pair) for pair in (worst.one, worst.other)]
    places = worst.position, worst.other_position
    doubts = [
        _setting_doubt(movement, worst, stages[number].positions[place].uncertainty_mm or 0.0, side)
        for side, (number, place) in enumerate(zip(numbers, places, strict=True))
    ]
    return SharedNow(
        shaft=movement.shaft.name,
        stages=(numbers[0] + 1, numbers[1] + 1),
        positions=(places[0] + 1, places[1] + 1),
        apart_mm=abs(worst.settings_mm[0] - worst.settings_mm[1]),
        forgiven_mm=worst.forgiven_mm,
        uncertainty_mm=hypot(*doubts),
        fits=worst.common_mm[0] <= worst.common_mm[1] + 1e-6,
    )


def _setting_doubt(movement: Movement, worst: Meeting, doubt_mm: float, side: int) -> float:
    """Return what a doubtful centre distance makes of the setting at which one of two belts is just taut."""
    pair, place = ((worst.one, worst.position), (worst.other, worst.other_position))[side]
    belt = movement.pairs.index(pair)
    own = pair.centres_mm[place]
    if isnan(own) or not doubt_mm:
        return 0.0
    near, far = (movement.setting_mm(belt, own + way * doubt_mm / 2) for way in (-1, 1))
    return abs(far - near)


def _counted(speed: MadeSpeed) -> tuple[int, ...]:
    return tuple(place + 1 for place in speed.positions)


def steps_now(steps: tuple[StepKnown, ...], units: Units) -> tuple[StepNow, ...]:
    """Return every step, motor's stage first, drivers before driven, slowest position first."""
    return tuple(_step_now(step, units) for step in steps)


def step_change(step: StepKnown, to_mm: float) -> StepChange:
    """Return what becomes of a step that is skimmed, turned or made anew."""
    before, after = step.bench(step.pitch_mm), step.bench(to_mm)
    return StepChange(
        side=step.key,
        shaft=step.shaft,
        position=step.place + 1,
        pitch_mm=to_mm,
        from_mm=step.pitch_mm,
        deeper_mm=max((step.pitch_mm - to_mm) / 2, 0.0) if step.size else 0.0,
        outside_mm=step.designed.outside_mm + to_mm - step.designed.pitch_mm,
        measure=after.how,
        measure_mm=after.mm,
        measure_from_mm=before.mm,
        pin_mm=after.pin_mm,
    )


def _step_now(step: StepKnown, units: Units) -> StepNow:
    told, there = step.bench(step.pitch_mm), step.size
    history = [(dated.date.isoformat(), dated.size) for dated in step.history]
    sizes = [size.pitch_mm for _, size in history if size is not None]
    return StepNow(
        side=step.key,
        shaft=step.shaft,
        position=step.place + 1,
        state=step.state,
        source=step.designed.source,
        read_by=there.how if there else "",
        designed_mm=step.designed.pitch_mm,
        pitch_mm=step.pitch_mm,
        uncertainty_mm=2 * there.standard_mm if there else None,
        measure=told.how,
        measure_mm=told.mm,
        pin_mm=told.pin_mm,
        history=tuple(
            SizeThen(date=day, pitch_mm=size.pitch_mm if size else None, read_by=size.how if size else "")
            for day, size in history
        ),
        worn_mm=sizes[-2] - sizes[-1] if len(sizes) > 1 and there else None,
        note=_note(step, told, units),
    )


def _note(step: StepKnown, told: Bench, units: Units) -> str:
    """Return what is odd about a step's readings."""
    if step.state == "cannot tell":
        pin = "" if told.pin_mm is None else f" of {show_length(told.pin_mm, units)}"
        why = "cannot tell: the outside diameter does not say where a belt runs in a groove"
        return f"{why}; {how_to_measure(told.how, pin)}"
    if step.history and step.history[-1].apart > CONTRADICT:
        return "its readings of one day contradict each other: measure it again"
    return ""
