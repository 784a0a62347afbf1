"""Manufactured truth for `recheck`: ``python -m tests.recheck_truth 500 --seed 1``.

Machines are designed, turned on paper with known errors, measured with the rounding of the tool; `recheck` must find
the sizes again, and what it proposes, done to the true sizes, must give a machine on which the one belt fits
everywhere and every want is met, to within what the rounding hides.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import product
from math import pi

from optimizer.catalogue.sections import section
from optimizer.pipeline.job import Job
from optimizer.recheck.loading import load_measured
from optimizer.recheck.made import problem_of
from optimizer.recheck.records import OptionSheet, Recheck, StepChange
from optimizer.recheck.sizes import rim_of
from optimizer.recheck.verdict import MeasuredFile, recheck
from optimizer.records.middle import MiddleProblem
from optimizer.records.problem import Problem
from optimizer.records.sheet import StepSheet
from tests.jobs import job_from
from tests.machines import GRINDER
from tests.oracle.plain import centre_mm
from tests.shared import shared

__all__ = ["MACHINES", "Case", "Outcome", "case", "job_of", "judge"]

Where = tuple[int, str, int]
"""Stage, side, position; stage and position from 1."""

LOCKED = """
title = "Locked pair"
units = "mm"
[motor]
speed = 1420
[[band]]
name = "all"
from = 700
to = 2200
want = 3
[making]
turn_to = 0.1
grid = 1
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = 300
slackened = "the belt is laced"
belt = { section = "A", link = true, every = 2 }
driver = { free = [80, 200] }
driven = { free = [80, 200] }
"""
FLAT = """
title = "Flat rims under a V-belt"
units = "mm"
[motor]
speed = 1420
[[band]]
name = "all"
from = 450
to = 1300
want = 3
[making]
turn_to = 0.2
[[shaft]]
name = "motor"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = [320, 420]
travel = 80
belt = "A"
driver = { free = [80, 160] }
driven = { free = [120, 260], groove = "flat" }
"""
TWO = """
title = "Two stages, motor's side bought"
units = "in"
[motor]
speed = 1725
[[band]]
name = "slow"
from = 250
to = 600
want = 2
[[band]]
name = "fast"
from = 600
to = 1500
want = 2
[making]
turn_to = "1/64 in"
[[shaft]]
name = "motor"
mount = "hinge"
on = "counter"
[[shaft]]
name = "counter"
mount = "slide"
[[stage]]
from = "motor"
to = "counter"
positions = 2
centres = [9, 14]
travel = 3
belt = { section = "4L", lengths = ["37 in", "40 in", "43 in"], measured = "outside" }
driver = { ready = [2.5, 3, 3.5], measured = "outside" }
driven = { free = [4, 8] }
[[stage]]
from = "counter"
to = "spindle"
positions = 3
centres = [9, 16]
travel = 3.5
belt = { section = "4L", lengths = ["40 in", "43 in", "46 in"], measured = "outside" }
driver = { free = [3, 8] }
driven = { free = [3, 8] }
"""
KEPT = """
title = "Mate to a kept cone"
units = "mm"
[motor]
speed = 1380
[[band]]
name = "all"
from = 800
to = 2600
want = 4
[making]
turn_to = 0.2
[[shaft]]
name = "motor"
mount = "hinge"
[[stage]]
from = "motor"
to = "spindle"
centres = [200, 300]
travel = 65
belt = { section = "Z", lengths = [750, 800, 850] }
driver = { free = [56, 150] }
driven = { kept = [72, 87, 107, 132], measured = "over pins", pitch = 20 }
"""
MIDDLE = """
title = "One middle cone"
units = "mm"
[motor]
speed = 1420
[[band]]
name = "all"
from = 480
to = 2300
want = 4
[making]
turn_to = 0.2
grid = 10
[[shaft]]
name = "motor"
mount = "slide"
[[shaft]]
name = "middle"
mount = "slide"
[[stage]]
from = "motor"
to = "middle"
positions = 3
centres = [180, 260]
travel = 34
belt = { section = "Z", lengths = [630, 670] }
driver = { free = [50, 140] }
driven = { free = [50, 140] }
[[stage]]
from = "middle"
to = "spindle"
centres = [180, 260]
travel = 34
belt = { section = "Z", lengths = [670, 710] }
driver = { shared = true }
driven = { free = [50, 140] }
"""
CONES = (
    MIDDLE.replace("One middle cone", "Two middle cones")
    .replace("driver = { shared = true }", "positions = 2\ndriver = { free = [50, 140] }")
    .replace("[making]", "[series]\nfree = true\n[making]")
)
MACHINES = {
    "grinder": GRINDER,
    "locked": LOCKED,
    "flat": FLAT,
    "two": TWO,
    "kept": KEPT,
    "middle": MIDDLE,
    "cones": CONES,
}
SPREADS = (0.1, 0.3, 0.8)
"""Standard deviations of a maker's errors [mm]."""
RESOLUTIONS = (0.02, 0.05, 0.1)
"""Finest differences of tools [mm]."""
ROUND = 1e-9


@dataclass(frozen=True)
class Case:
    """One machine with its true sizes and the file that was written of it."""

    seed: int
    machine: str
    job: Job
    true_mm: dict[Where, float]
    """True pitch diameters of the steps that are there."""
    bounds_mm: dict[Where, float]
    """How far rounding may put a reading's pitch diameter off."""
    text: str


@dataclass
class Outcome:
    """What became of a case."""

    verdict: str
    failures: list[str] = field(default_factory=list)


@cache
def job_of(machine: str) -> Job:
    """Return the design of a machine."""
    return shared(f"measured {machine}", lambda: job_from(MACHINES[machine], f"{machine}.toml"))


def case(seed: int, machine: str | None = None) -> Case:
    """Return a machine turned with errors, and its measurements."""
    dice = random.Random(seed)
    name = machine or dice.choice(sorted(MACHINES))
    job = job_of(name)
    spread, resolution = dice.choice(SPREADS), dice.choice(RESOLUTIONS)
    later = dice.choice((0.0, 0.0, 0.25))
    true_mm: dict[Where, float] = {}
    bounds_mm: dict[Where, float] = {}
    rows = []
    for where, name_of_belt, step in _steps(job):
        if step.source == "turned" and dice.random() < later:
            continue
        size = step.pitch_mm + (dice.gauss(0.0, spread) if step.source == "turned" else dice.uniform(-0.1, 0.1))
        row, bound = _read(dice, name_of_belt, step, size, resolution)
        true_mm[where], bounds_mm[where] = size, bound
        stage, side, position = where
        rows.append(
            f'  {{ stage = {stage}, side = "{side}", position = {position}, {row}, resolution = "{resolution} mm" }},'
        )
    lines = ['units = "mm"', "[[check]]", "date = 2026-11-26", "step = [", *rows, "]"]
    return Case(seed, name, job, true_mm, bounds_mm, "\n".join(lines) + "\n")


def judge(made: Case) -> Outcome:
    """Return what `recheck` makes of a case, with everything that is wrong about it."""
    if not made.true_mm:
        return Outcome("nothing turned")
    measured = load_measured(made.text, "measured.toml", made.job.design.machine, made.job.scenario.units)
    told = recheck(made.job, MeasuredFile(measured, "measured.toml", ""))
    outcome = Outcome(told.verdict)
    outcome.failures += _recovered(made, told)
    if told.options:
        outcome.failures += _proposal(made, told, told.options[0])
    elif told.verdict in ("all is well", "turn the rest"):
        outcome.failures += _fits(
            made, _sizes(made, told, None), [s.marking for s in made.job.design.machine.stages], 1.0
        )
    return outcome


def _steps(job: Job) -> Iterator[tuple[Where, str, StepSheet]]:
    for number, stage in enumerate(job.design.machine.stages, 1):
        for side in ("driven",) if stage.shared_driver else ("driver", "driven"):
            for p in stage.positions:
                yield (number, side, p.number), stage.section, getattr(p, side)


def _read(dice: random.Random, name: str, step: StepSheet, size: float, resolution: float) -> tuple[str, float]:
    """Return a reading of a true pitch diameter, and how far its rounding may put it off [mm]."""

    def rounded(value: float) -> float:
        return round(value / resolution) * resolution

    if step.rim in ("flat", "crowned"):
        rim = size + step.outside_mm - step.pitch_mm
        if dice.random() < 0.5:
            return f"diameter = {rounded(rim):.6f}", resolution / 2
        return f"tape = {rounded(pi * (rim + 0.2)):.6f}, tape_thickness = 0.2", resolution / 2 / pi
    rim_of_step = rim_of(name, step)
    if step.over_pins_mm is not None and dice.random() < 0.6:
        return f"over_pins = {rounded(size + step.over_pins_mm - step.pitch_mm):.6f}", resolution / 2
    belt = section(name)
    outside = rounded(step.outside_mm + dice.uniform(-0.5, 0.5))
    top = (size - belt.pitch_shift_mm + 2 * belt.datum_depth_mm - outside) / 2
    assert rim_of_step.grooved
    return f"outside = {outside:.6f}, belt_top = {rounded(top):.6f}", resolution


def _recovered(made: Case, told: Recheck) -> Iterator[str]:
    """Yield the steps that were not found again."""
    for step in told.steps:
        where = _where(step.side, step.position, made.job)
        if where not in made.true_mm:
            if step.state == "measured":
                yield f"{where}: not there, but measured"
            continue
        off = abs(step.pitch_mm - made.true_mm[where])
        if step.state != "measured" or off > made.bounds_mm[where] + 1e-6:
            yield f"{where}: {step.state}, {off:.4f} mm off, rounding hides {made.bounds_mm[where]:.4f}"
        elif step.uncertainty_mm is None or off > 1.5 * step.uncertainty_mm:
            yield f"{where}: {off:.4f} mm off, said to be known to {step.uncertainty_mm}"


def _where(side: str, position: int, job: Job) -> Where:
    key, name = side.split(".")
    stage = next(n for n, s in enumerate(job.design.machine.stages, 1) if s.key == key)
    return stage, name, position


def _sizes(made: Case, told: Recheck, option: OptionSheet | None) -> dict[Where, float]:
    """Return the true sizes after a proposal is done to them, those of a shared cone for both of its belts."""
    sizes = {where: step.pitch_mm for where, _, step in _steps(made.job)} | made.true_mm
    if option is not None:
        for change in (*option.skim, *option.turn, *option.anew):
            sizes[_where(change.side, change.position, made.job)] = change.pitch_mm
    for number, stage in enumerate(made.job.design.machine.stages, 1):
        if stage.shared_driver:
            count = len(stage.positions)
            sizes |= {(number, "driver", p): sizes[(number - 1, "driven", count + 1 - p)] for p in range(1, count + 1)}
    return sizes


def _proposal(made: Case, told: Recheck, option: OptionSheet) -> Iterator[str]:
    problem = problem_of(made.job)
    for change in option.skim:
        where = _where(change.side, change.position, made.job)
        side = getattr(problem.stages[where[0] - 1], where[1])
        if change.pitch_mm > made.true_mm[where] + made.bounds_mm[where]:
            yield f"{where}: skimmed to a larger size"
        if change.pitch_mm < side.turned_mm[0] - 1e-6:
            yield f"{where}: skimmed below its limit"
        if not _on_tick(change, side.tick_mm):
            yield f"{where}: {change.measure_mm} is on no tick of {side.tick_mm}"
    sizes = _sizes(made, told, option)
    yield from _fits(made, sizes, list(option.belts), 1.0)


def _on_tick(change: StepChange, tick_mm: float) -> bool:
    ticks = change.measure_mm / tick_mm
    return change.measure == "belt top" or abs(ticks - round(ticks)) < 1e-5


def _fits(made: Case, sizes: dict[Where, float], belts: list[str], slack: float) -> list[str]:
    """Return what keeps the belts, or the wants, from being kept by true sizes, to within the rounding."""
    problem = problem_of(made.job)
    failures = []
    shares = 0.0
    for number, (rules, sheet) in enumerate(zip(problem.stages, made.job.design.machine.stages, strict=True), 1):
        belt = next((b for b in rules.belts if b.marking == belts[number - 1]), None)
        if belt is None:
            continue  # one that shops keep and the scenario does not list: its window is not told here
        own, hidden = [], 0.0
        for p in sheet.positions:
            a, b = sizes[(number, "driver", p.number)], sizes[(number, "driven", p.number)]
            own.append(centre_mm(a, b, belt.length_mm) or 0.0)
            for side in ("driver", "driven"):
                bound = made.bounds_mm.get((number, side, p.number), 0.0)
                hidden = max(hidden, bound)
                shares = max(shares, 2 * len(problem.stages) * bound / min(a, b))
        apart = max(own) - min(own)
        # a diameter moves the centre by half the wrap over 2·cos, at most 1.3 mm a mm here; four diameters count
        hidden = 4 * 1.3 * hidden * slack
        if apart > belt.window_mm + hidden + ROUND:
            failures.append(
                f"stage {number}: centres {apart:.3f} apart, window {belt.window_mm:.3f}, hidden {hidden:.3f}"
            )
        low, high = rules.centre_mm
        if min(own) < low - hidden or max(own) > high + hidden:
            failures.append(
                f"stage {number}: centres {min(own):.3f} to {max(own):.3f}, allowed {low:.3f} to {high:.3f}"
            )
    return failures + _wants(made, sizes, shares)


def _wants(made: Case, sizes: dict[Where, float], shares: float) -> list[str]:
    """Return the bands with too few speeds, counting those that rounding may have put just outside."""
    problem = problem_of(made.job)
    speeds = []
    for chosen in _places(problem):
        rpm = problem.motor_rpm * problem.gain_out
        for number, (rules, place) in enumerate(zip(problem.stages, chosen, strict=True), 1):
            ratio = sizes[(number, "driver", place + 1)] / sizes[(number, "driven", place + 1)]
            rpm *= rules.gain * ratio * (1 - rules.slip)
        speeds.append(rpm)
    if isinstance(problem, MiddleProblem):
        speeds = _distinct(speeds, problem.targets.distinct - shares)
    failures = []
    for band in problem.targets.bands:
        have = sum(band.low_rpm * (1 - shares) <= rpm <= band.high_rpm * (1 + shares) for rpm in speeds)
        if have < band.want:
            failures.append(f"band {band.name}: {have} of {band.want}")
    return failures


def _places(problem: Problem | MiddleProblem) -> Sequence[tuple[int, ...]]:
    """Return the position of every belt at every speed, from 0; two belts never on one step of a shared cone."""
    if isinstance(problem, Problem):
        return problem.layout.places
    both = product(*(range(count) for count in problem.levels))
    return [chosen for chosen in both if not problem.shared or sum(chosen) != problem.levels[0] - 1]


def _distinct(speeds: Sequence[float], share: float) -> list[float]:
    """Return the speeds that are not nearly a slower one."""
    found: list[float] = []
    for rpm in sorted(speeds):
        if not found or rpm >= found[-1] * (1 + share):
            found.append(rpm)
    return found


def main(arguments: list[str]) -> int:
    """Judge so many cases; return how many failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.recheck_truth")
    parser.add_argument("count", type=int)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--machine", choices=sorted(MACHINES))
    called = parser.parse_args(arguments)
    verdicts: Counter[str] = Counter()
    failed = 0
    for seed in range(called.seed, called.seed + called.count):
        made = case(seed, called.machine)
        outcome = judge(made)
        verdicts[f"{made.machine}: {outcome.verdict}"] += 1
        if outcome.failures:
            failed += 1
            print(f"seed {seed}, {made.machine}, {outcome.verdict}: {'; '.join(outcome.failures)}", flush=True)
    for verdict, count in sorted(verdicts.items()):
        print(f"{count:5d}  {verdict}")
    print(f"{called.count} cases, {failed} failed")
    return min(failed, 100)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
