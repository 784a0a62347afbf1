"""Designs whose speeds are free, each worked out anew in plain arithmetic from its outside diameters."""

from __future__ import annotations

from functools import cache
from itertools import pairwise, product
from math import cos, dist, log, sin
from random import Random
from typing import NamedTuple

import pytest

from optimizer.errors import ScenarioError
from optimizer.pipeline.design import design
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.pipeline.options import DesignOptions
from optimizer.records.design import Design
from optimizer.scenario import load_scenario
from tests.oracle.plain import centre_mm, unevenness
from tests.sampled import sampled

SLIP = 0.01
SHIFT_MM = 5.0
"""Outside diameter less pitch diameter of a Z groove: 2·2.5 mm of groove over the datum line (read: GOST 20889-88, b
at least 2.5 mm), its pitch line being the datum line."""
Position = tuple[int, int]


def _text(rng: Random, shared: bool) -> str:
    low = rng.randint(380, 620)
    high = round(low * rng.uniform(3.2, 5.5))
    middle = round((low * high) ** 0.5)
    count = rng.choice([3, 3, 4]) if shared else rng.choice([2, 3])
    least, most = rng.choice([(60, 150), (55, 140), (65, 160)])
    sides = f"driver = {{ free = [{least}, {most}] }}", f"driven = {{ free = [{least}, {most}] }}"
    second = "driver = { shared = true }" if shared else f"positions = 3\n{sides[0]}"
    return f"""
title = "Spotting drill"
units = "mm"
[motor]
speed = {rng.choice([1380, 1420, 1720])}
[series]
free = {"false" if shared else "true"}
[[band]]
name = "slow"
from = {low}
to = {middle}
want = {rng.randint(1, 2)}
[[band]]
name = "fast"
from = {middle}
to = {high}
want = {rng.randint(1, 2)}
[making]
largest_blank = {most + 10}
turn_to = {rng.choice([0.5, 0.25])}
grid = 10
[[shaft]]
name = "motor"
mount = "slide"
[[shaft]]
name = "middle"
diameter = 15
mount = "slide"
[[stage]]
from = "motor"
to = "middle"
positions = {count}
centres = [190, 250]
travel = {rng.choice([52, 60])}
belt = {{ section = "Z", lengths = "metric stock" }}
{sides[0]}
{sides[1]}
[[stage]]
from = "middle"
to = "spindle"
centres = [190, 260]
travel = {rng.choice([52, 60])}
belt = {{ section = "Z", lengths = "metric stock" }}
{second}
{sides[1]}
"""


@cache
def _made(seed: int) -> Design | str:
    text = _text(Random(seed), shared=seed % 2 == 0)
    try:
        return design(load_scenario(text, "drill.toml"))
    except NoLayoutError as error:
        return str(error)


class Plain(NamedTuple):
    """What a design comes to."""

    speeds: dict[Position, float]
    """Every way of making a speed [rpm], by positions counted from 1."""
    apart_mm: tuple[float, float]
    """How far the own centre distances of either belt lie apart."""


def _plain(made: Design) -> Plain:
    """Work out speeds and centre distances from outside diameters and belts alone."""
    ratios, apart = [], []
    for stage in made.machine.stages:
        sizes = [(p.driver.outside_mm - SHIFT_MM, p.driven.outside_mm - SHIFT_MM) for p in stage.positions]
        ratios.append([a / b * (1 - SLIP) for a, b in sizes])
        own = [centre_mm(a, b, stage.pitch_length_mm) for a, b in sizes]
        assert all(c is not None and 190 <= c <= 260 for c in own)
        found = [c for c in own if c is not None]
        apart.append(max(found) - min(found))
    shared = made.machine.stages[1].shared_driver
    steps = len(ratios[0])
    speeds = {
        (p + 1, q + 1): made.machine.motor_rpm * ratios[0][p] * ratios[1][q]
        for p, q in product(range(steps), range(len(ratios[1])))
        if not shared or p + q != steps - 1
    }
    return Plain(speeds, (apart[0], apart[1]))


SEEDS = sampled(range(24), every=4)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_design_is_what_its_diameters_make_of_it(seed: int) -> None:
    """Speeds, ends, largest gap, F, near-equal ones and the plate follow from the outside diameters in plain sums."""
    made = _made(seed)
    if isinstance(made, str):
        assert "layout" in made
        return
    plain = _plain(made)
    rpm = sorted(plain.speeds.values())
    scenario = load_scenario(made.scenario.text, "drill.toml")
    lo, hi = min(b.from_rpm for b in scenario.bands), max(b.to_rpm for b in scenario.bands)
    miss = max(abs(log(rpm[0] / lo)), abs(log(rpm[-1] / hi)))
    gap = max(log(b / a) for a, b in pairwise(rpm))
    assert made.series.end_miss == pytest.approx(miss, abs=1e-9)
    assert made.series.j == pytest.approx(miss + gap, abs=1e-9)
    assert made.series.largest_gap is not None
    assert log(1 + made.series.largest_gap) == pytest.approx(gap, abs=1e-9)
    assert miss <= 0.10
    told: dict[Position, float] = {}
    for speed in made.machine.speeds:
        for place, n in [(speed.positions, speed.rpm), *((other.positions, other.rpm) for other in speed.others)]:
            assert (place[0], place[1]) not in told
            told[place[0], place[1]] = n
            assert plain.speeds[place[0], place[1]] == pytest.approx(n, rel=1e-9)
            assert n < min(speed.rpm, *(other.rpm for other in speed.others), n) * 1.04
    assert told.keys() == plain.speeds.keys()
    shown = [log(speed.rpm) for speed in made.machine.speeds if speed.on_plate]
    assert made.series.unevenness == pytest.approx(unevenness(shown), abs=1e-9)
    assert min(b - a for a, b in pairwise(shown)) >= log(1.04) - 1e-9
    for band in made.bands:
        assert sum(speed.on_plate for speed in made.machine.speeds if band.name in speed.bands) >= band.want


@pytest.mark.parametrize("seed", SEEDS)
def test_a_design_can_be_built(seed: int) -> None:
    """Sizes lie on ticks within their limits and rise along each cone, belts within the travel; no check fails."""
    made = _made(seed)
    if isinstance(made, str):
        return
    assert not made.failed
    scenario = load_scenario(made.scenario.text, "drill.toml")
    tick = scenario.making.turn_to_mm
    for stage, apart in zip(made.machine.stages, _plain(made).apart_mm, strict=True):
        left = stage.centres.travel_mm - sum(line.amount_mm for line in stage.centres.budget)
        assert apart <= left + 0.2 + 1e-6
        for name, way in (("driver", 1), ("driven", -1)):
            sizes = [getattr(p, name).outside_mm for p in stage.positions]
            assert all(abs(size / tick - round(size / tick)) < 1e-6 for size in sizes)
            assert max(sizes) + scenario.making.truing_mm <= scenario.making.largest_blank_mm + 1e-9
            assert all(way * (b - a) >= -1e-9 for a, b in pairwise(sizes))
    if made.machine.stages[1].shared_driver:
        one, other = made.machine.stages
        assert [p.driven.outside_mm for p in one.positions] == [p.driver.outside_mm for p in other.positions][::-1]


def test_the_seeds_hold_designs() -> None:
    """Most of the machines drawn have a design."""
    assert sum(not isinstance(_made(seed), str) for seed in range(0, 24, 4)) >= 3


def test_layouts_stand_beside_each_other() -> None:
    """Of three and four steps the fewer are proposed where both are within what is advised, else the less F."""
    text = _text(Random(2), shared=True)
    text = text.replace(f"positions = {4 if 'positions = 4' in text else 3}", "positions = [3, 4]", 1)
    made = design(load_scenario(text, "drill.toml"))
    rows = {row.title: row for row in made.tried}
    assert set(rows) == {"3x3, shared middle cone", "4x4, shared middle cone"}
    assert [row.outcome for row in rows.values()].count("chosen") == 1
    advised = [row for row in rows.values() if row.advised]
    chosen = next(row for row in rows.values() if row.outcome == "chosen")
    best = min(advised or rows.values(), key=lambda row: (row.turned_steps if advised else 0, row.j))
    assert chosen == best


@pytest.mark.parametrize("options", [DesignOptions(prefer="timber"), DesignOptions(changes=True)], ids=str)
def test_what_is_not_known_of_free_speeds_is_refused(options: DesignOptions) -> None:
    """Other wishes than even speeds are refused rather than passed over."""
    with pytest.raises(ScenarioError, match="free"):
        design(load_scenario(_text(Random(0), shared=True), "drill.toml"), options)


ARM = """
title = "Drill with one arm"
units = "mm"
[motor]
speed = "1720 rpm"
[[band]]
name = "all"
from = 500
to = 3000
want = 4
[making]
largest_blank = 164
rim_speed = 22
[[shaft]]
name = "motor"
at = [0, 0]
[[shaft]]
name = "middle"
mount = "hinge"
at = [205, 40]
hinge = { at = [215, -160] }
[[shaft]]
name = "spindle"
at = [420, 0]
[[stage]]
from = "motor"
to = "middle"
positions = 3
centres = [190, 240]
travel = 70
fit = 1
belt = { section = "Z", lengths = [670] }
driver = { free = [60, 160] }
driven = { free = [60, 160] }
[[stage]]
from = "middle"
to = "spindle"
centres = [190, 250]
fit = 1
belt = { section = "Z", link = true, shortest = 775, longest = 785 }
driver = { shared = true }
driven = { free = [60, 160] }
"""


def test_one_arm_fits_both_belts_wherever_they_can_be_together() -> None:
    """At every pair of positions but those on one step the arm stands where both belts are within what they forgive."""
    made = design(load_scenario(ARM, "arm.toml"))
    assert not made.failed
    wanted = []
    for stage, other in zip(made.machine.stages, ((0.0, 0.0), (420.0, 0.0)), strict=True):
        forgiven = min(1.0, 0.001 * stage.datum_length_mm) / 2
        own = [p.centre_mm for p in stage.positions]
        assert None not in own
        wanted.append([_turns(centre, forgiven, other) for centre in own if centre is not None])
    for p, q in product(range(3), range(3)):
        if p + q != 2:
            (low, high), (least, most) = wanted[0][p], wanted[1][q]
            assert max(low, least) <= min(high, most) + 1e-6


def _turns(centre_mm: float, forgiven_mm: float, other: tuple[float, float]) -> tuple[float, float]:
    """Return between which angles [rad] the arm brings the middle shaft within what a belt forgives, by halving."""
    ends = []
    for wanted in (centre_mm - forgiven_mm, centre_mm + forgiven_mm):
        low, high = -0.35, 0.35
        rising = _apart(high, other) > _apart(low, other)
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if (_apart(middle, other) < wanted) == rising else (low, middle)
        ends.append((low + high) / 2)
    return min(ends), max(ends)


def _apart(angle: float, other: tuple[float, float]) -> float:
    x, y = 205 - 215, 40 + 160
    return dist((215 + x * cos(angle) - y * sin(angle), -160 + x * sin(angle) + y * cos(angle)), other)


def test_a_machine_out_of_reach_says_so() -> None:
    """Where no listed sizes come near the bands' ends the reason is told, not a crash."""
    text = _text(Random(0), shared=True).replace("centres = [190, 250]", "centres = [190, 191]", 1)
    for span in ("[60, 150]", "[55, 140]", "[65, 160]"):
        text = text.replace(f"free = {span}", "free = [100, 110]")
    with pytest.raises(NoLayoutError, match="layout"):
        design(load_scenario(text, "drill.toml"))
