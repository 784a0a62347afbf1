"""What a made machine is told to be, and the least that is to be skimmed, against plain enumeration."""

from __future__ import annotations

import random
import re
from itertools import pairwise, product
from math import inf, log, pi

import pytest

from optimizer.pipeline.job import Job
from optimizer.recheck import standing
from optimizer.recheck.loading import load_measured
from optimizer.recheck.made import problem_of
from optimizer.recheck.records import Recheck
from optimizer.recheck.sizes import newest
from optimizer.recheck.standing import skim_sizes_mm
from tests.jobs import job, job_from
from tests.recheck_truth import job_of, own_centre_mm
from tests.unit.recheck.forms import as_designed, filled, grinder, told_of, toml_form

Sizes = dict[tuple[int, str, int], float]
OLD_CONE = """
title = "New pulleys on an old middle cone"
units = "in"
[motor]
speed = 1140
[[band]]
name = "slow"
from = 300
to = 700
want = 2
[[band]]
name = "fast"
from = 700
to = 1900
want = 2
[making]
largest_blank = 7.25
truing = 0.125
turn_to = "1/64"
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
centres = [8, 11]
travel = 3
belt = { section = "4L", lengths = "inch stock" }
driver = { free = [2.6, 6.5] }
driven = { kept = [5.25, 4.25, 3.25], pitch = 0.875, material = "metal" }
[[stage]]
from = "middle"
to = "spindle"
centres = [8, 12]
travel = 3
belt = { section = "4L", lengths = "inch stock" }
driver = { shared = true }
driven = { free = [2.6, 6.5] }
"""
"""Whose motor's first two steps are designed nearly alike, next to the smallest that the belt may bend round."""


def told(job: Job, sizes: Sizes) -> Recheck:
    """Return what is told of a machine with such sizes over pins."""
    return told_of(job, filled(toml_form(job), sizes))


def off(changes: Sizes) -> Sizes:
    """Return the grinder's sizes over pins with some of them off."""
    return {where: size + changes.get(where, 0.0) for where, size in as_designed(grinder()).items()}


def test_speeds_and_centres_follow_from_the_sizes() -> None:
    """Driver 1 at 75.7 for 75.0, driven 207.5: 1420·75.7/207.5·0.99 rpm, 0.933 % over the plate."""
    found = told(grinder(), off({(1, "driver", 1): 0.7})).now
    assert found.speeds[0].rpm == pytest.approx(1420 * 75.7 / 207.5 * 0.99)
    assert found.speeds[0].off == pytest.approx(0.7 / 75.0)
    stage = found.stages[0]
    assert stage.positions[0].centre_mm == pytest.approx(own_centre_mm(75.7, 207.5, stage.length_mm), abs=1e-6)


def test_how_sure_a_speed_and_a_centre_are() -> None:
    """By 12 mm pins to 0.1 mm, angles ± 1°: u = 0.0573 mm at 34° (driver, 75), 0.0526 mm at 38° (driven, 207.5).

    A groove 1° wider moves the diameter by 0.0486 and 0.0285 mm, over √3, beside 0.05 mm. Half the wraps are
    π/2 ∓ 0.2221, so ∂L/∂D = 1.349, ∂L/∂d = 1.793, ∂L/∂C = 2·cos 12.73° = 1.951.
    """
    found = told(grinder(), off({})).now
    one, other = (0.05**2 + 0.0486**2 / 3) ** 0.5, (0.05**2 + 0.0285**2 / 3) ** 0.5
    share = 2 * ((one / 75.0) ** 2 + (other / 207.5) ** 2) ** 0.5
    assert found.speeds[0].uncertainty == pytest.approx(share, rel=0.002)
    doubt = found.stages[0].positions[0].uncertainty_mm
    assert doubt == pytest.approx(2 * ((1.355 * one) ** 2 + (1.786 * other) ** 2) ** 0.5 / 1.954, rel=0.005)


def test_skimmed_sizes_are_ticks_down_to_the_limit() -> None:
    """93.8 over pins, ticks of 0.5 mm, section A down to 75 mm (92 over pins): 93.5, 93, 92.5, 92."""
    form = filled(toml_form(grinder()), {(1, "driver", 1): 93.8})
    measured = load_measured(form, "measured.toml", grinder().design.machine)
    step = newest(measured, grinder().design.machine)[0]
    sizes, depth = skim_sizes_mm(step, problem_of(grinder()).stages[0].driver)
    assert [round(size + 17.0, 9) for size in sizes] == [93.8, 93.5, 93.0, 92.5, 92.0]
    assert depth == inf


def test_looking_no_deeper_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """With two skimmed sizes a step, a third is left out and the depth looked at is theirs."""
    monkeypatch.setattr(standing, "MOST_SIZES", 2)
    form = filled(toml_form(grinder()), {(1, "driver", 1): 93.8})
    measured = load_measured(form, "measured.toml", grinder().design.machine)
    step = newest(measured, grinder().design.machine)[0]
    sizes, depth = skim_sizes_mm(step, problem_of(grinder()).stages[0].driver)
    assert len(sizes) == 3
    assert depth == pytest.approx(0.8)


def test_a_step_below_its_limit_is_made_anew() -> None:
    """Section A bends round 75 mm at least: a step of 70 mm cannot be mended; one of 74.95, known to 0.11, may stay."""
    found = told(grinder(), off({(1, "driver", 1): -5.0}))
    assert found.verdict == "make a step anew"
    (change,) = found.options[0].anew
    assert (change.side, change.position) == ("stage[0].driver", 1)
    assert change.pitch_mm >= 75.0
    assert not found.options[0].made.failed
    near = told(grinder(), off({(1, "driver", 1): -0.05}))
    assert "smallest diameter" not in {check.name for check in near.now.failed}
    assert not any(option.anew for option in near.options)


def test_a_step_far_too_large_is_skimmed_and_not_made_anew() -> None:
    """0.12 in too large, the first of two steps drawn 0.4 mm apart comes down by the least that serves, proved."""
    job = job_from(OLD_CONE, "old-cone.toml")
    designed = as_designed(job)
    assert designed[1, "driver", 2] - designed[1, "driver", 1] < 0.5
    sizes = {where: size + 0.1 for where, size in designed.items()} | {(1, "driver", 1): designed[1, "driver", 1] + 3.0}
    found = told(job, {where: size / 25.4 for where, size in sizes.items()})
    assert found.verdict == "skim"
    (option,) = found.options
    ((change,), ()) = option.skim, option.anew
    assert (change.side, change.position, option.proved) == ("stage[0].driver", 1, True)
    assert change.pitch_mm < change.from_mm
    assert not option.made.failed


def test_shafts_that_stand_elsewhere_are_told() -> None:
    """A locked pair made for 300 mm that stands at 301: its belt wants about 1 mm less, and forgives 0.2."""
    job = job_of("locked")
    form = filled(toml_form(job), as_designed(job)).replace("centre = [", "centre = [{ stage = 1, centre = 301 },", 1)
    (said,) = [r for r in told_of(job, form).remarks if "stand" in r]
    assert said.startswith("Stage 1: the shafts stand 301 mm apart; a belt of its nominal length wants up to 1.0")
    assert said.endswith("and forgives 0.2 mm.")


def test_a_belt_longer_than_its_name_is_told() -> None:
    """Taut 2 mm farther out than a nominal belt at position 1: it is 2 · ∂L/∂C = 2 · 1.954 = 3.9 mm longer."""
    centre = grinder().design.machine.stages[0].positions[0].centre_mm
    assert centre is not None
    old = 'stage = 1, position = 1, centre = ""'
    form = filled(toml_form(grinder()), off({}))
    assert old in form
    form = form.replace(old, f"stage = 1, position = 1, centre = {centre + 2:.2f}")
    found = told_of(grinder(), form)
    assert found.lengths[0].longer_mm == pytest.approx(3.9, abs=0.05)
    assert any(remark.startswith("Stage 1: the belt is 3.9") for remark in found.remarks)


@pytest.mark.parametrize("seed", range(6))
def test_no_less_skimming_does_it(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a locked pair turned a little too large, the sum taken off is the least of all ways, tried one by one."""
    monkeypatch.setattr(standing, "MOST_SIZES", 5)
    job = job_of("locked")
    dice = random.Random(seed)
    sizes = {where: round(size + dice.uniform(0.0, 0.4), 2) for where, size in as_designed(job).items()}
    found = told(job, sizes)
    best = least_by_trying(job, sizes)
    option = next((o for o in found.options if o.kind == "skim"), None)
    if found.verdict == "all is well":
        assert best == 0.0
    elif option is None or option.within == "limits":
        assert best == inf
    else:
        assert option.skim_mm == pytest.approx(best, abs=1e-6)


def least_by_trying(job: Job, sizes: Sizes) -> float:
    """Return the least sum over all choices of up to five skimmed sizes a step within advice; infinite without one.

    A rim of timber, 6.6 mm over the datum line of section A, runs 20 m/s at the most where the motor of 1420 rpm idles
    at 1500 and the belt does not slip.
    """
    problem = problem_of(job)
    rules, targets = problem.stages[0], problem.targets
    (stage,) = job.design.machine.stages
    per_position = []
    for p in stage.positions:
        choices = []
        sides = [skims(sizes[(1, side, p.number)]) for side in ("driver", "driven")]
        for (a, cost_a), (b, cost_b) in product(*sides):
            centre = own_centre_mm(a, b, stage.pitch_length_mm)
            if rules.centre_mm[0] - 1e-9 <= centre <= rules.centre_mm[1] + 1e-9:
                choices.append((cost_a + cost_b, centre, a, b))
        per_position.append(sorted(choices))
    best = inf
    window = min(0.2, 0.001 * stage.datum_length_mm)
    most = 0.1 * (job.design.series.ratio - 1)
    for chosen in product(*per_position):
        cost = sum(choice[0] for choice in chosen)
        centres = [choice[1] for choice in chosen]
        if cost >= best or max(centres) - min(centres) > window + 1e-9:
            continue
        rpm = [problem.motor_rpm * a / b * (1 - rules.slip) for _, _, a, b in chosen]
        ends = max(abs(log(rpm[0] / targets.lo_rpm)), abs(log(rpm[-1] / targets.hi_rpm)))
        uneven = abs(log(rpm[1]) - (log(rpm[0]) + log(rpm[2])) / 2) / 2
        rising = all(x[2] <= y[2] and x[3] >= y[3] for x, y in pairwise(chosen))
        rim = pi * (max(b for *_, b in chosen) + 6.6) * rpm[-1] * 1500 / 1420 / (1 - rules.slip) / 60_000
        if ends <= 0.03 and uneven <= most and rising and rim <= 20:
            best = cost
    return best


def skims(over_pins_mm: float) -> list[tuple[float, float]]:
    """Return pitch diameters of a step as it is and at the five ticks of 0.1 mm below, with what comes off."""
    first = -(-round(over_pins_mm * 1e6) // 100_000) - 1
    ticks = [k / 10 for k in range(first, first - 5, -1)]
    return [(size - 17.0, over_pins_mm - size) for size in (over_pins_mm, *ticks)]


MORE_MM = 0.5


def test_sizes_alike_too_large_take_a_longer_belt_where_it_is_joined_afterwards() -> None:
    """The grindstone's flat belt is joined between fixed shafts: all steps 0.5 mm too large, it is made that longer."""
    known = job("grindstone")
    form = re.sub(
        r'diameter = ""( \},  # diameter )([\d.]+)',
        lambda found: f"diameter = {float(found[2]) + MORE_MM}{found[1]}{found[2]}",
        toml_form(known),
    ).replace('date = "" ', "date = 2026-11-26 ")
    found = told_of(known, form)
    assert not found.now.failed
    assert found.verdict == "all is well"


@pytest.mark.parametrize("resolution", ["10 mm", "0.001 mm"])
def test_sizes_read_very_coarsely_or_finely_are_no_error(resolution: str) -> None:
    """Both once ended in an error where a speed was read too; of coarse diameters no slip is told."""
    form = filled(toml_form(grinder()), as_designed(grinder()))
    form = form.replace(" over_pins", f' resolution = "{resolution}", over_pins').replace('speed = ""', "speed = 400")
    slip = told_of(grinder(), form.replace('motor = ""', "motor = 1450")).slip
    assert slip is not None
    assert resolution != "10 mm" or all(value.value is None for value in slip.values)
