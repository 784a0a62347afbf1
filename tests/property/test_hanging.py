"""What must hold for any mount that hangs, whatever hangs on it, wherever its hinge is."""

from __future__ import annotations

from math import atan2, cos, hypot, sin

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from optimizer.checks import check_design
from optimizer.checks.hanging import Balance, balances, mass_span, pull_span
from optimizer.checks.stated import read_machine
from optimizer.geometry.belts import belt_length_mm
from optimizer.pipeline.sheets import hanging_sheet
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.scenario import Scenario, load_scenario
from tests.sampled import examples

Point = tuple[float, float]
TEXT = """
title = "Hung motor"
units = "{units}"
[motor]
speed = 1400
power = "0.55 kW"
turns = "{turns}"
[[shaft]]
name = "motor"
at = [{motor[0]!r}, {motor[1]!r}]
mount = "hinge"
hinge = {{ at = [{hinge[0]!r}, {hinge[1]!r}], mass = "{mass!r} kg", centre = [{centre[0]!r}, {centre[1]!r}] }}
[[shaft]]
name = "spindle"
at = [{spindle[0]!r}, {spindle[1]!r}]
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = {centres}
travel = {travel!r}
slip = 0
belt = {{ section = "A", lengths = {lengths} }}
driver = {{ free = {free} }}
driven = {{ free = {free} }}
"""
BUILT = BuiltMachine(
    stages=(
        BuiltStage(
            key="stage[0]",
            section="A",
            marking="A 1120",
            datum_length_mm=1120.0,
            driver_outside_mm=(96.6, 131.6, 166.6),
            driven_outside_mm=(166.6, 131.6, 96.6),
            driver_turned=(True,) * 3,
            driven_turned=(True,) * 3,
        ),
    )
)
SPINDLE = (40.0, 360.0)
angles = st.floats(0, 6.28)
places = st.tuples(st.floats(-150, 150), st.floats(-150, 150))
hinges = st.tuples(st.floats(-400, 400), st.floats(-300, 150))
masses = st.floats(0, 60)


def stated(
    hinge: Point, centre: Point, mass: float, *, turns: str = "anticlockwise", mirror: float = 1.0, inch: float = 1.0
) -> Scenario:
    """Return the machine, mirrored where `mirror` is -1, its lengths written in units of `inch` millimetres."""

    def put(point: Point) -> Point:
        return mirror * point[0] / inch, point[1] / inch

    text = TEXT.format(
        units="mm" if inch == 1.0 else "in",
        turns=turns,
        motor=put((0.0, 0.0)),
        hinge=put(hinge),
        mass=mass,
        centre=put(centre),
        spindle=put(SPINDLE),
        centres=[250 / inch, 400 / inch],
        travel=70 / inch,
        lengths=[1120 / inch],
        free=[80 / inch, 200 / inch],
    )
    return load_scenario(text, "machine.toml")


def balance(text: Scenario) -> Balance:
    """Return the balance of the motor's mount."""
    (found,), _ = balances(read_machine(text, BUILT))
    return found


def apart(hinge: Point) -> bool:
    """Tell whether the hinge can bring the motor to every centre distance, away from where its arm is stretched."""
    arm, far = hypot(*hinge), hypot(hinge[0] - SPINDLE[0], hinge[1] - SPINDLE[1])
    return arm > 20 and abs(arm - far) < 320 and arm + far > 420


@given(hinges, places, masses, st.floats(0, 40))
@settings(max_examples=examples(60), deadline=None)
def test_more_hinge_mass_never_gives_less_pull(hinge: Point, centre: Point, mass: float, more: float) -> None:
    """In every state all three pulls are at least as large, whichever way the weight turns the mount."""
    assume(apart(hinge))
    light, heavy = (balance(stated(hinge, centre, kg)) for kg in (mass, mass + more))
    for before, after in ((light.rest_n, heavy.rest_n), (light.tight_n, heavy.tight_n), (light.slack_n, heavy.slack_n)):
        known = ~np.isnan(before) & ~np.isnan(after)
        assert np.all(after[known] >= before[known] - 1e-9 * (1 + before[known]))


@given(hinges, places, masses, st.booleans())
@settings(max_examples=examples(60), deadline=None)
def test_the_mirrored_machine_turning_the_other_way_pulls_the_same(
    hinge: Point, centre: Point, mass: float, clockwise: bool
) -> None:
    """Pulls, powers and what would do are those of the machine itself."""
    assume(apart(hinge))
    turns = ("clockwise", "anticlockwise") if clockwise else ("anticlockwise", "clockwise")
    one = balance(stated(hinge, centre, mass, turns=turns[0]))
    other = balance(stated(hinge, centre, mass, turns=turns[1], mirror=-1.0))
    for here, there in zip(figures(one), figures(other), strict=True):
        np.testing.assert_allclose(here, there, rtol=1e-7, atol=1e-7)


@given(hinges, places, masses)
@settings(max_examples=examples(40), deadline=None)
def test_units_change_nothing(hinge: Point, centre: Point, mass: float) -> None:
    """The same machine written in inches has the same pulls."""
    assume(apart(hinge))
    for here, there in zip(
        figures(balance(stated(hinge, centre, mass))),
        figures(balance(stated(hinge, centre, mass, inch=25.4))),
        strict=True,
    ):
        np.testing.assert_allclose(here, there, rtol=1e-6, atol=1e-6)


def figures(found: Balance) -> tuple[NDArray[np.float64], ...]:
    """Return all figures of a balance but those next to a dead point, where they pass all bounds."""
    near = found.levers.both > 0.01
    spans = (pull_span(found), mass_span(found)) if near.all() else ()
    arrays = (found.rest_n, found.tight_n, found.slack_n, found.carries_kw())
    told = [np.array(span, float) if span else np.array([]) for span in spans]
    return (*(np.where(near, array, 0.0) for array in arrays), *told)


@given(hinges, places, masses)
@settings(max_examples=examples(60), deadline=None)
def test_the_pull_at_rest_is_that_of_virtual_work(hinge: Point, centre: Point, mass: float) -> None:
    """In every state F·dL = dW, with the exact belt length and the height of the mass as the mount turns a little."""
    assume(apart(hinge))
    found = balance(stated(hinge, centre, mass))
    motors, step = found.scene.places["motor"], 1e-5
    for row, state in enumerate(found.scene.states):
        sizes = (found.scene.machine.pairs[0].driver.pitch_mm, found.scene.machine.pairs[0].driven.pitch_mm)
        at = motors[row]
        if np.isnan(at).any() or np.isnan(found.rest_n[row]) or found.levers.both[row] < 0.02:
            continue
        way = atan2(at[1] - hinge[1], at[0] - hinge[0]) - atan2(-hinge[1], -hinge[0])
        lengths, heights = [], []
        for turn in (-step, step):
            x, y = turned((float(at[0]), float(at[1])), hinge, turn)
            large, small = (side[state[0].position] for side in sizes)
            lengths.append(float(belt_length_mm(large, small, hypot(x - SPINDLE[0], y - SPINDLE[1]))))
            heights.append(turned(centre, hinge, way + turn)[1])
        grows, lifts = lengths[1] - lengths[0], heights[1] - heights[0]
        pull = -mass * 9.80665 * lifts / grows
        np.testing.assert_allclose(found.rest_n[row], max(pull, 0.0), rtol=1e-4, atol=1e-3 * (1 + mass))


def turned(point: Point, pivot: Point, angle: float) -> Point:
    """Return a point turned about a pivot."""
    x, y = point[0] - pivot[0], point[1] - pivot[1]
    return pivot[0] + x * cos(angle) - y * sin(angle), pivot[1] + x * sin(angle) + y * cos(angle)


@given(hinges, places, st.sampled_from([0.0, 1e-6, 15.0, 5000.0]), st.booleans())
@settings(max_examples=examples(20), deadline=None)
def test_every_figure_is_one(hinge: Point, centre: Point, mass: float, clockwise: bool) -> None:
    """Whatever the place of the hinge and the weight, checks and sheet are made, and no figure fails to be one."""
    assume(hypot(*hinge) > 1.0)
    text = stated(hinge, centre, mass, turns="clockwise" if clockwise else "anticlockwise")
    for check in check_design(read_machine(text, BUILT)):
        if check.name.startswith("pull of the mount"):
            assert np.isfinite((check.value, check.limit, check.margin)).all()
    sheet = hanging_sheet(read_machine(text, BUILT))
    assert sheet is not None
    assert "NaN" not in sheet.model_dump_json() and "Infinity" not in sheet.model_dump_json()
