"""Made machines whose speeds are free: everything that is told of them, against plain re-computation."""

from __future__ import annotations

from functools import cache
from itertools import combinations, pairwise, product
from math import atan2, cos, dist, log, pi, sin

import pytest

from optimizer.clock import Clock
from optimizer.documents.recheck import recheck_screen
from optimizer.documents.recheck_form import measured_csv, measured_toml
from optimizer.errors import ScenarioError
from optimizer.pipeline.job import Job
from optimizer.recheck.loading import is_blank, load_measured
from optimizer.recheck.made import problem_of
from optimizer.recheck.records import MadeSheet, Recheck
from tests.jobs import job_from
from tests.recheck_truth import MIDDLE, Where, case, job_of, own_centre_mm
from tests.sampled import sampled
from tests.swinging import SWINGING
from tests.unit.recheck.forms import as_designed, filled, told_of, toml_form

Sizes = dict[Where, float]
MACHINES = ("middle", "cones")
SEEDS = sampled(range(1, 13), every=4, slow=(5,))
REAL = 1e-9


def told(job: Job, changes: Sizes | None = None, *, without: tuple[Where, ...] = (), more: str = "") -> Recheck:
    """Return what is told of a machine with sizes over pins so much off the design, some steps not turned yet."""
    form = filled(toml_form(job), sizes_of(job, changes or {}, without))
    return told_of(job, form.replace("centre = [", more) if more else form)


def sizes_of(job: Job, changes: Sizes, without: tuple[Where, ...]) -> Sizes:
    """Return sizes over pins so much off the design."""
    designed = as_designed(job).items()
    return {where: size + changes.get(where, 0.0) for where, size in designed if where not in without}


def pitches(job: Job, found: Recheck) -> Sizes:
    """Return all pitch diameters, those of a shared cone for both of its belts."""
    keys = [stage.key for stage in job.design.machine.stages]
    sizes = {(keys.index(s.side.split(".")[0]) + 1, s.side.split(".")[1], s.position): s.pitch_mm for s in found.steps}
    for number, stage in enumerate(job.design.machine.stages, 1):
        if stage.shared_driver:
            count = len(stage.positions)
            sizes |= {(number, "driver", p): sizes[(number - 1, "driven", count + 1 - p)] for p in range(1, count + 1)}
    return sizes


def ways(job: Job, sizes: Sizes) -> dict[tuple[int, ...], float]:
    """Return the speed [rpm] at every two positions that the belts can be on together."""
    first, second = job.design.machine.stages
    shared = second.shared_driver
    found: dict[tuple[int, ...], float] = {}
    for p, q in product(range(1, len(first.positions) + 1), range(1, len(second.positions) + 1)):
        if shared and p + q == len(first.positions) + 1:
            continue
        ratio = sizes[(1, "driver", p)] / sizes[(1, "driven", p)] * (1 - first.slip)
        ratio *= sizes[(2, "driver", q)] / sizes[(2, "driven", q)] * (1 - second.slip)
        found[(p, q)] = job.scenario.motor.speed_rpm * ratio
    return found


def groups(speeds: dict[tuple[int, ...], float], share: float) -> list[set[tuple[int, ...]]]:
    """Return the positions whose speeds are nearly the same, slowest first."""
    found: list[set[tuple[int, ...]]] = []
    first = 0.0
    for at, rpm in sorted(speeds.items(), key=lambda item: item[1]):
        if not found or rpm >= first * (1 + share):
            found.append(set())
            first = rpm
        found[-1].add(at)
    return found


def uneven(logs: list[float]) -> tuple[float, float]:
    """Return the unevenness of speeds with the logarithm of the ratio it is least for, by narrowing an interval."""

    def spread(slope: float) -> float:
        left = [value - k * slope for k, value in enumerate(logs)]
        return max(left) - min(left)

    low, high = 0.0, 3.0
    for _ in range(200):
        one, other = low + (high - low) / 3, high - (high - low) / 3
        low, high = (low, other) if spread(one) <= spread(other) else (one, high)
    return spread(low) / 2, low


def most_on_a_plate(lowest: list[float]) -> int:
    """Return how many speeds an even plate holds at most, the slowest and the fastest among them."""
    inner = lowest[1:-1]
    for count in range(len(inner), -1, -1):
        for chosen in combinations(inner, count):
            delta, ratio = uneven([log(n) for n in (lowest[0], *chosen, lowest[-1])])
            if delta <= 0.10 * (2.718281828459045**ratio - 1) + 1e-9:
                return count + 2
    return 2


def agrees(job: Job, made: MadeSheet, sizes: Sizes) -> None:
    """Hold what is told of some sizes against plain re-computation."""
    speeds, targets = ways(job, sizes), problem_of(job).targets
    alike = groups(speeds, targets.distinct)
    assert [{s.positions, *(other.positions for other in s.others)} for s in made.speeds] == alike
    for s in made.speeds:
        assert s.rpm == pytest.approx(speeds[s.positions], rel=REAL)
        assert all(other.rpm == pytest.approx(speeds[other.positions], rel=REAL) for other in s.others)
    ordered = sorted(speeds.values())
    miss = max(abs(log(ordered[0] / targets.lo_rpm)), abs(log(ordered[-1] / targets.hi_rpm)))
    assert made.series.end_miss == pytest.approx(miss, abs=REAL)
    assert made.series.largest_gap == pytest.approx(max(b / a for a, b in pairwise(ordered)) - 1, abs=REAL)
    plate = [log(s.rpm) for s in made.speeds if s.on_plate]
    assert made.series.unevenness == pytest.approx(uneven(plate)[0], abs=1e-7)
    assert len(plate) == most_on_a_plate([min(speeds[at] for at in group) for group in alike])
    for number, stage in enumerate(made.stages, 1):
        own = [
            own_centre_mm(sizes[(number, "driver", p.number)], sizes[(number, "driven", p.number)], stage.length_mm)
            for p in stage.positions
        ]
        assert [p.centre_mm for p in stage.positions] == pytest.approx(own, abs=1e-6)
        assert stage.spread_mm == pytest.approx(max(own) - min(own), abs=1e-6)
        low, high = stage.limits_mm
        assert stage.fits == (max(own) - min(own) <= stage.window_mm and low <= min(own) and max(own) <= high)


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("seed", SEEDS)
def test_all_that_is_told(machine: str, seed: int) -> None:
    """Speeds with near-equals once, their largest step, the plate, own centres, fit: as worked out one by one."""
    made = case(seed, machine)
    found = told_of(made.job, made.text)
    sizes = pitches(made.job, found)
    agrees(made.job, found.now, sizes)
    was = ways(made.job, pitches(made.job, told(made.job)))
    for speed in found.now.speeds:
        assert speed.plate_rpm == pytest.approx(was[speed.positions], rel=REAL)
        assert speed.off == pytest.approx(speed.rpm / speed.plate_rpm - 1, abs=REAL)
    for option in found.options:
        places = {s.key: n for n, s in enumerate(made.job.design.machine.stages, 1)}
        then = dict(sizes)
        for change in (*option.skim, *option.turn, *option.anew):
            key, side = change.side.split(".")
            then[(places[key], side, change.position)] = change.pitch_mm
            if machine == "middle" and (key, side) == ("stage[0]", "driven"):
                then[(2, "driver", 4 - change.position)] = change.pitch_mm
        agrees(made.job, option.made, then)


def test_one_step_of_the_shared_cone_changes_both_belts() -> None:
    """Step 2 of three 1 mm too large: belt 1 is nearer on its position 2, belt 2 on its position 2, no other moves."""
    job = job_of("middle")
    found = told(job, {(1, "driven", 2): 1.0})
    moved = [
        [
            (p.centre_mm or 0.0) < (was.centre_mm or 0.0) - 0.5
            for p, was in zip(stage.positions, sheet.positions, strict=True)
        ]
        for stage, sheet in zip(found.now.stages, job.design.machine.stages, strict=True)
    ]
    assert moved == [[False, True, False], [False, True, False]]
    (step,) = [s for s in found.steps if abs(s.pitch_mm - s.designed_mm) > 1e-6]
    assert (step.side, step.position) == ("stage[0].driven", 2)


def test_a_machine_as_designed_is_well() -> None:
    """Nothing is off: all is well, nothing proposed, the shared cone told once with how its positions are counted."""
    found = told(job_of("middle"))
    assert found.verdict == "all is well"
    assert found.options == ()
    assert found.now.series.j == pytest.approx(job_of("middle").design.series.j, abs=1e-9)
    assert len(found.steps) == 9
    assert any("its step 1 is position 3 of stage 2, its step 3 position 1" in remark for remark in found.remarks)


@pytest.mark.parametrize("without", [((1, "driven", 2),), ((1, "driver", 1), (2, "driven", 1)), None], ids=str)
@pytest.mark.parametrize("machine", MACHINES)
def test_open_steps(machine: str, without: tuple[Where, ...] | None) -> None:
    """One step, one of a level, or all steps are not turned yet: what is proposed fits, and every limit is kept."""
    job = job_of(machine)
    more = "centre = [{ stage = 1, position = 1, centre = 216 }," if without is None else ""
    found = told(job, without=tuple(as_designed(job)) if without is None else without, more=more)
    assert found.verdict == "turn the rest"
    assert sum(step.state == "not turned" for step in found.steps) == (len(without) if without else len(found.steps))
    for option in found.options:
        assert not option.skim and not option.made.failed
        assert option.made.wants_met and all(stage.fits for stage in option.made.stages)
        assert option.made.series.j < found.now.series.j


def test_another_belt() -> None:
    """A machine turned 5 % too large throughout fits a listed belt 40 mm shorter as it is; its checks are all kept."""
    job = longer()
    changes = {w: round(s * 0.05, 1) for w, s in pitches(job, told(job)).items() if w[:2] != (2, "driver")}
    found = told(job, changes)
    (option,) = [o for o in found.options if o.kind == "belt"]
    assert option.other_belts and not option.skim
    assert not option.made.failed


@cache
def longer() -> Job:
    """Return the machine with its shafts farther apart, on its longer belts."""
    return job_from(MIDDLE.replace("centres = [180, 260]", "centres = [208, 260]"))


def test_searches_that_are_ended_are_not_told_as_having_found_nothing() -> None:
    """Where every search is ended at once the verdict says so."""
    job = job_of("middle")
    form = filled(toml_form(job), sizes_of(job, {(1, "driven", 2): 3.0}, ()))
    found = told_of(job, form, Clock(most=-1))
    assert found.verdict == "no remedy"
    assert found.said == "No remedy was found, but searches were ended by their limit before all was looked at."


def test_forms_have_the_shared_cone_once() -> None:
    """No row of either form is of the second belt's driver; what is there is read."""
    design = job_of("middle").design
    assert 'stage = 2, side = "driver"' not in measured_toml(design)
    assert not any(row.split(",")[2:4] == ["2", "driver"] for row in measured_csv(design).splitlines())
    assert is_blank(measured_toml(design), "measured.toml") and is_blank(measured_csv(design), "measured.csv")


def refused(text: str) -> str:
    """Return why a file of measurements is refused."""
    job = job_of("middle")
    with pytest.raises(ScenarioError) as error:
        load_measured(text, "measured.toml", job.design.machine, "mm")
    (fault,) = error.value.faults
    return str(fault)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (
            'step = [{ stage = 2, side = "driver", position = 1, over_pins = 62 }]',
            "check[0].step[0].side: this cone is the driven one of the belt before, and is measured once, there; "
            'got stage 2, "driver"; allowed: stage 1, side "driven", position 3 is this step; '
            "try: write it there, or leave it out",
        ),
        (
            "speed = [{ positions = [2, 2], speed = 900 }]",
            "check[0].speed[0].positions: both belts would lie on one step of the cone that they share; got 2x2; "
            "allowed: positions that do not add up to 4",
        ),
    ],
)
def test_what_cannot_be_measured_is_refused(row: str, said: str) -> None:
    """A shared cone is written under its first belt; two belts on one of its steps make no speed."""
    assert refused(f"[[check]]\ndate = 2026-11-26\n{row}\n") == said


def test_rows_of_the_second_belt_that_are_not_filled_in_do_no_harm() -> None:
    """An empty row for the second belt's driver, as in a form of one's own, tells nothing and is let be."""
    job = job_of("middle")
    row = '{ stage = 2, side = "driver", position = 1, over_pins = "" },\n]\ncentre = ['
    form = filled(toml_form(job), as_designed(job)).replace("]\ncentre = [", row, 1)
    assert told_of(job, form).verdict == "all is well"


def test_near_speeds_and_the_plate_are_told_on_the_screen() -> None:
    """A speed that the plate leaves out is not marked; what the most even plate now has is told where it differs."""
    job = job_of("middle")
    screen = recheck_screen(told(job), job.design.machine, 1.0)
    on_plate = [s.on_plate for s in job.design.machine.speeds]
    assert False in on_plate
    assert screen.count("  yes ") == sum(on_plate)
    assert "off  " in screen and "off plate" not in screen
    assert "largest step of all speeds" in " ".join(screen.split())
    assert "most even plate" not in screen
    other = told(job, {(1, "driver", 2): 4.0})
    words = " ".join(recheck_screen(other, job.design.machine, 1.0).split())
    now, was = ({s.positions for s in speeds if s.on_plate} for speeds in (other.now.speeds, job.design.machine.speeds))
    assert ("As the speeds are now, the most even plate would" in words) == (now != was)


def test_slips_are_told_with_a_shared_cone() -> None:
    """True sizes, belts losing 1.5 and 2.5 %, all shafts read with every combination: both slips are found again."""
    job = job_of("middle")
    sizes = pitches(job, told(job))
    rows = []
    for p, q in ways(job, sizes):
        middle = 1450 * sizes[(1, "driver", p)] / sizes[(1, "driven", p)] * 0.985
        spindle = middle * sizes[(2, "driver", q)] / sizes[(2, "driven", q)] * 0.975
        for shaft, rpm in (("middle", middle), ("spindle", spindle)):
            rows.append(
                f'{{ positions = [{p}, {q}], shaft = "{shaft}", speed = {rpm:.1f}, motor = 1450, resolution = 0.2 }}'
            )
    form = filled(toml_form(job), as_designed(job))
    form = form[: form.index("speed = [")] + f"speed = [{', '.join(rows)}]\n"
    slip = told_of(job, form).slip
    assert slip is not None and slip.consistent
    values = {value.name: value for value in slip.values}
    for name, true in (("slip of stage 1 idle", 0.015), ("slip of stage 2 idle", 0.025)):
        value = values[name]
        assert value.value is not None and value.uncertainty is not None
        assert abs(value.value - true) < value.uncertainty


def test_one_setting_of_a_shared_mount() -> None:
    """Of a swinging countershaft with a step off: the settings of both belts, on the arc of its axis, by its place."""
    job = job_from(SWINGING)
    found = told(job, {(1, "driven", 1): 0.5})
    (shared,) = found.now.shared
    at, hinge, motor, spindle = (150.0, 280.0), (450.0, 250.0), (0.0, 0.0), (430.0, 0.0)
    arm, start = dist(at, hinge), atan2(at[1] - hinge[1], at[0] - hinge[0])

    def setting(other: tuple[float, float], centre: float) -> float:
        """Return how far the axis goes along its arc, away from the motor, until it is so far from another shaft."""
        low, high = -0.5, 0.5
        for _ in range(60):
            middle = (low + high) / 2
            place = (hinge[0] + arm * cos(start + middle), hinge[1] + arm * sin(start + middle))
            nearer = dist(place, other) < centre
            grows = dist((hinge[0] + arm * cos(start + 0.1), hinge[1] + arm * sin(start + 0.1)), other) > dist(
                at, other
            )
            low, high = (middle, high) if nearer == grows else (low, middle)
        return low * arm

    own = [[p.centre_mm or 0.0 for p in stage.positions] for stage in found.now.stages]
    apart = {
        (p, q): abs(setting(motor, one) - setting(spindle, other))
        for p, one in enumerate(own[0], 1)
        for q, other in enumerate(own[1], 1)
    }
    assert shared.apart_mm == pytest.approx(apart[shared.positions], abs=1e-3)
    assert shared.fits == (shared.apart_mm <= shared.forgiven_mm)
    assert pi > shared.uncertainty_mm > 0
    words = " ".join(recheck_screen(found, job.design.machine, 1.0).split())
    assert "Mount of countershaft: one setting does NOT fit both belts" in words
