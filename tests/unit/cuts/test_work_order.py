"""Orders of work, with their figures worked out by hand from the mill of `hand_made`."""

from __future__ import annotations

from math import asin, pi, sqrt

import pytest

from optimizer.cuts import CutCone, cut_cones
from optimizer.cuts.truing import Truing, truing, truing_rpm
from optimizer.cuts.work_order import WorkStep, work_order
from optimizer.pipeline.job import Job
from tests.jobs import JOBS, job
from tests.unit.cuts.hand_made import BEARINGS, HEAD, by_hand, mill, stage

GLUED = [
    "measure the plywood",
    "saw squares, then discs",
    "glue the stack",
    "bore a pilot",
    "choose the truing speed",
    "turn the rims",
    "cut the grooves",
    "bore last",
    "fit the hub",
    "seal and rest",
    "put on first what cannot pass",
    "true again, to size",
    "balance",
    "measure again",
    "line it up",
]
PLAIN = HEAD + (
    """[[shaft]]
name = "motor"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
centres = [250, 400]
travel = 90
slip = 0
belt = {belt}
driver = {driver}
driven = {driven}
"""
)


def _order(made: Job, slug: str) -> dict[str, WorkStep]:
    return {step.name: step for step in work_order(_cone(made, slug), made)}


def _cone(made: Job, slug: str) -> CutCone:
    return next(cone for cone in cut_cones(made) if cone.slug == slug)


def _truing(made: Job, slug: str) -> Truing:
    found = truing(_cone(made, slug), made)
    assert found is not None
    return found


def _plain(driver: str, driven: str, turned: tuple[str, str], belt: str = '{ section = "A", lengths = [1120] }') -> Job:
    """Return a machine of one step each, datum 100 and 140 mm (106.6 and 146.6 over the rim), nothing else stated."""
    text = PLAIN.format(title="Plain", units="mm", rpm=800, belt=belt, driver=driver, driven=driven)
    return by_hand(text, stage(0, ("A", 1120.0), ((106.6,), (146.6,)), turned))


def test_a_glued_cone_goes_from_the_sheet_to_the_belt_in_line() -> None:
    """Every step has its number, in this order; bore last, rest, true again, what cannot pass before it is mounted."""
    made = mill()
    steps = work_order(_cone(made, "stage-2-driver"), made)
    assert [step.name for step in steps] == GLUED
    assert [step.number for step in steps] == list(range(1, 16))


def test_the_stack_is_held_against_real_plywood() -> None:
    """Four layers of 17.7 make 70.80; nominal 18 may be 17.1 to 18.1 (EN 315, read), so 68.40 to 72.40 mm."""
    check = _order(mill(), "stage-2-driver")["measure the plywood"].check
    assert "the dry stack of 4 70.80 mm" in check
    assert "nominal 18 mm is 17.70 mm on average and may be 17.10 mm to 18.10 mm" in check
    assert "68.40 mm to 72.40 mm" in check


def test_a_layer_of_no_known_plywood_has_no_limits() -> None:
    """16.4 mm lies between the limits of nominal 15 and 18 mm (EN 315, read)."""
    made = mill(change=('layer = "17.7 mm"', 'layer = "16.4 mm"'))
    check = _order(made, "stage-2-driver")["measure the plywood"].check
    assert "plywood" not in check and "16.40 mm" in check


def test_squares_are_told_by_size_the_largest_first() -> None:
    """Rims 96.6 and 156.6 + 4 mm truing; layers 1 and 2 belong to step 1."""
    what = _order(mill(), "stage-2-driver")["saw squares, then discs"].what
    assert "2 of 160.60 mm (layers 3 and 4); 2 of 100.60 mm (layers 1 and 2)" in what


def test_layers_are_planed_where_they_make_more_than_a_step() -> None:
    """A step of 30 mm takes two layers of 17.7, which make 35.4."""
    made = mill(change=('layer = "17.7 mm"', 'layer = "17.7 mm"\nstep_pitch = "30 mm"'))
    assert "The layers of one step make 35.40 mm, a step is 30.00 mm wide" in _glue(made, "stage-2-driver").what
    assert "plane" not in _glue(mill(), "stage-2-driver").what


def _glue(made: Job, slug: str) -> WorkStep:
    return _order(made, slug)["glue the stack"]


def test_the_stack_is_glued_from_the_large_end() -> None:
    """The driver's large end is that of layer 4, the driven's that of layer 1; discs within (4 - 2)/2 = 1 mm."""
    assert "from the large end to the small end, layers 4, 3, 2, 1" in _glue(mill(), "stage-2-driver").what
    assert "from the large end to the small end, layers 1, 2, 3, 4" in _glue(mill(), "stage-2-driven").what
    assert "turned 90 degrees" in _glue(mill(), "stage-2-driven").what
    assert "No disc more than 1.00 mm off" in _glue(mill(), "stage-2-driven").check


def test_a_single_step_has_no_large_end() -> None:
    """One step of two layers is stacked in their order."""
    assert "Stack layers 1, 2" in _glue(mill(), "stage-1-driven").what


@pytest.mark.parametrize(("blank_mm", "rpm"), [(254.0, 600.0), (152.4, 1000.0), (240.0, 635.0)])
def test_rpm_times_inches_is_at_most_6000(blank_mm: float, rpm: float) -> None:
    """10 in 600, 6 in 1000, 9.449 in 635 rpm (common practice, no source)."""
    assert truing_rpm(blank_mm) == pytest.approx(rpm)


def test_the_first_cone_of_a_shaft_needs_a_temporary_pulley() -> None:
    """Blank 216.6 + 4 = 220.6 mm: 152 400/220.6 = 690.84 rpm.

    The smallest ready sheave has datum 75: 1400·75/690.84 = 151.99 datum, 158.59 over the rim, 159.0 on half
    millimetres; 1400·75/152.4 = 688.98 rpm.
    """
    found = _truing(mill(), "stage-1-driven")
    assert (found.drive, found.pair is not None) == ("temporary pulley", True)
    assert found.most_rpm == pytest.approx(690.84, abs=0.01)
    assert found.pair is not None
    assert (found.pair.driver_mm, found.pair.driven_mm) == pytest.approx((81.6, 159.0))
    assert found.pair.rpm == pytest.approx(688.98, abs=0.01)
    assert found.pair.rpm <= found.most_rpm
    said = _order(mill(), "stage-1-driven")["choose the truing speed"]
    assert "81.60 mm over the rim on motor" in said.what and "159.00 mm or more on countershaft" in said.what
    assert "at most 690 rpm" in said.check


def test_the_belt_of_a_temporary_pair_keeps_the_centre_distances() -> None:
    """Datum 75 and 152.4 at 300 and 400 mm: 2·sqrt(C² - 38.7²) + 113.7π + 77.4·asin(38.7/C), written out here."""
    pair = _truing(mill(), "stage-1-driven").pair
    assert pair is not None
    spans = [2 * sqrt(c * c - 38.7**2) + 113.7 * pi + 77.4 * asin(38.7 / c) for c in (300, 400)]
    assert pair.lengths_mm == pytest.approx(spans)
    assert spans == pytest.approx([962.20, 1160.95], abs=0.01)
    assert pair.own_centre_mm is None  # the stage's own belt of 1180 mm is longer


def test_stock_belts_are_named_for_a_temporary_pair() -> None:
    """Metric stock between 962.2 and 1160.9 mm datum: 1000, 1060, 1120 (GOST 1284.3-96, read)."""
    made = mill(change=('lengths = ["1180 mm"]', 'lengths = "metric stock"'))
    pair = _truing(made, "stage-1-driven").pair
    assert pair is not None and pair.markings == ("A 1000", "A 1060", "A 1120")
    assert "such as A 1000, A 1060, A 1120" in _order(made, "stage-1-driven")["choose the truing speed"].what


def test_the_second_cone_of_a_shaft_runs_once_the_first_is_finished() -> None:
    """Blank 160.6 mm allows 948.9 rpm, and the countershaft runs at 500."""
    found = _truing(mill(), "stage-2-driver")
    assert (found.drive, found.first, found.pair) == ("own shaft", "stage[0].driven", None)
    assert (found.most_rpm, found.shaft_rpm) == pytest.approx((948.94, 500.0), abs=0.01)
    what = _order(mill(), "stage-2-driver")["choose the truing speed"].what
    assert "once the cone of stage 1, driven is finished" in what


def test_a_pulley_that_is_slow_enough_at_the_smallest_is_that_small() -> None:
    """Blank 190.6: 799.6 rpm. From the facing cone's 90 mm datum at 500 rpm, 56.3 would do; belt A takes 75 at least.

    500·90/75 = 600 rpm; 81.6 mm over the rim.
    """
    pair = _truing(mill(), "stage-2-driven").pair
    assert pair is not None
    assert (pair.driver_mm, pair.driven_mm, pair.rpm) == pytest.approx((96.6, 81.6, 600.0))


def test_a_pulley_too_large_to_turn_is_said_with_what_else_to_do() -> None:
    """At 3400 rpm: 3400·75/690.84 = 369.1 datum, 376.0 over the rim; 240 - 4 = 236 can be turned."""
    made = mill(rpm=3400)
    found = _truing(made, "stage-1-driven")
    assert found.drive == "mandrel" and found.pair is not None and found.pair.too_large
    assert (found.pair.driven_mm, found.pair.most_mm) == pytest.approx((376.0, 236.0))
    order = _order(made, "stage-1-driven")
    assert "only 236.00 mm can be turned: use a mandrel in another lathe" in order["choose the truing speed"].what
    assert "by its finished bore" in order["true again, to size"].what


def test_a_second_cone_too_fast_for_its_blank_is_driven_by_a_temporary_pulley() -> None:
    """At 3400 rpm the countershaft runs at 3400·75/210 = 1214 rpm, above the 948.9 that a blank of 160.6 mm allows.

    3400·75/948.94 = 268.7 datum, 275.5 over the rim: too large as well.
    """
    found = _truing(mill(rpm=3400), "stage-2-driver")
    assert found.drive == "mandrel" and found.pair is not None
    assert found.pair.driven_mm == pytest.approx(275.5)


@pytest.mark.parametrize(("rpm", "drive"), [(1300, "own shaft"), (1400, "mandrel")])
def test_a_cone_on_the_motor_runs_at_the_motors_speed_or_on_a_mandrel(rpm: float, drive: str) -> None:
    """Blank 106.6 + 4 = 110.6 mm allows 1377.9 rpm, and nothing drives the motor's own shaft more slowly."""
    text = PLAIN.format(
        title="Plain",
        units="mm",
        rpm=rpm,
        belt='{ section = "A", lengths = [1120] }',
        driver="{ free = [75, 120] }",
        driven="{ ready = [140] }",
    )
    made = by_hand(text, stage(0, ("A", 1120.0), ((106.6,), (146.6,)), ("t", "r")))
    found = _truing(made, "stage-1-driver")
    assert (found.drive, found.pair) == (drive, None)
    assert found.most_rpm == pytest.approx(1377.94, abs=0.01)
    what = _order(made, "stage-1-driver")["choose the truing speed"].what
    assert ("turn it on a mandrel" in what) == (drive == "mandrel")


def test_metal_and_used_cones_are_not_trued_as_wood() -> None:
    """The turners' rule is for wood."""
    made = _plain('{ free = [75, 120], material = "metal" }', "{ ready = [140] }", ("t", "r"))
    assert [truing(cone, made) for cone in cut_cones(made)] == [None, None]
    names = list(_order(made, "stage-1-driver"))
    assert "true again, to size" not in names and "seal and rest" not in names
    assert names[:4] == ["get the blank", "turn the rims", "cut the grooves", "bore last"]


def test_rims_are_turned_from_the_large_end_with_something_left_on() -> None:
    """Half the truing of 4 mm stays on: 158.6, then 98.6 mm.

    The wall is (35.4 - 13.14)/2 = 11.13 mm at 36 degrees, 4 must stay: 7.12 mm may be faced off.
    """
    step = _order(mill(), "stage-2-driver")["turn the rims"]
    assert "from the large end to the small end" in step.what
    assert "Over the rim: step 2 158.60 mm, step 1 98.60 mm." in step.check
    assert "7.12 mm at most" in step.what


def test_nothing_is_left_on_where_truing_takes_nothing_but_a_tick() -> None:
    """With truing 0 one tick of 0.5 mm stays."""
    made = mill(change=('layer = "17.7 mm"', 'layer = "17.7 mm"\ntruing = 0'))
    assert "step 2 157.10 mm, step 1 97.10 mm" in _order(made, "stage-2-driver")["turn the rims"].check


def test_grooves_are_cut_to_the_size_over_pins() -> None:
    """Datum + 17.0 (GOST 20889-88, read) + 2 mm at first: 109.0, 169.0; then 107.0, 167.0.

    0.1 mm too wide at 34 degrees lets the belt sink by 0.1/tan(17°) = 0.327 mm on the diameter.
    """
    order = _order(mill(), "stage-2-driver")
    first, last = order["cut the grooves"], order["true again, to size"]
    assert "Over two pins of 12.00 mm: step 1 109.00 mm, step 2 169.00 mm." in first.check
    assert "step 1 17.70 mm, step 2 53.10 mm" in first.what
    assert "smaller by 0.32 mm" in first.caution and "cannot be put back" in first.caution
    assert "Over pins step 1 107.00 mm, step 2 167.00 mm." in last.check


def test_plywood_is_never_keyed_alone() -> None:
    """A shaft of 20 mm takes 6 x 6, t2 2.8, 22.8 mm over the hub's seat (GOST 23360-78; depths from memory)."""
    step = _order(mill(), "stage-2-driver")["fit the hub"]
    assert "metal hub of 35.00 mm outside" in step.what
    assert "Key 6.00 mm x 6.00 mm" in step.what and "2.80 mm deep (t2), measures 22.80 mm" in step.what
    assert step.caution == "Never key plywood alone: a metal hub or flange carries the key."
    assert "No hub is stated" in _order(mill(), "stage-2-driven")["fit the hub"].what


def test_balance_and_run_out_are_those_of_the_speed() -> None:
    """Rims run 6.1 and 4.4 m/s at the speed without load; of 6 g·m (GOST 20889-88, read) and m·16/ω the latter is less.

    Disc π/4·(216.6² - 35²)·35.4 = 1 270 340 mm³; its groove 13.273 wide above, 5.009 below, 12 deep, 109.69 mm², the
    centroid 5.096 mm below the rim: 2π·103.204·109.69 = 71 129 mm³. 1 199 211 mm³ at 685 kg/m³ are 0.8215 kg; at
    535.7 rpm, 56.10 rad/s, 0.8215·16/56.10 = 0.2343 g·m, 2.16 g at 108.3 mm.

    535.7 rpm is 8.93 turns a second: 0.15 mm per 100 mm, so 0.144 and 0.234 mm on 96.6 and 156.6.
    """
    made = mill()
    first = _order(made, "stage-1-driven")["balance"]
    turning = next(cone for cone in made.design.shafts.cones if cone.key == "stage[0].driven")
    assert first.check == "At most 2.2 g at its rim, 108.30 mm from the axis."
    assert turning.mass_kg == pytest.approx(0.8215, abs=1e-4)
    assert turning.unbalance_g_m == pytest.approx(0.2343, abs=1e-4)
    second = _order(mill(), "stage-2-driver")
    assert "the pulley standard asks for none at 5 m/s and below" in second["balance"].what
    assert "at 536 rpm at most step 1 0.14 mm, step 2 0.23 mm" in second["measure again"].check


def test_the_inner_cone_and_endless_belts_go_on_first() -> None:
    """Middles at 20 and 80 mm, steps of 35.4: 2.3 to 37.7 and 62.3 to 133.1 mm, between bearings at -100 and 200."""
    made = mill(countershaft=BEARINGS, along=("20 mm", "80 mm"))
    what = _order(made, "stage-2-driver")["put on first what cannot pass"].what
    assert "along it from 2.30 mm to 37.70 mm, this one from 62.30 mm to 133.10 mm" in what
    assert "the driven cone of the other stage goes on first, then this cone" in what
    assert "The cone sits between the bearings: thread the endless belts A 1180 mm and A 1120 mm over the shaft" in what
    other = _order(made, "stage-1-driven")["put on first what cannot pass"].what
    assert "this cone goes on first, then the driver cone of the other stage" in other


def test_a_free_end_takes_its_belt_at_any_time() -> None:
    """Bearings at -100 and -20 mm stand behind both cones; the motor's shaft has a free end always."""
    made = mill(countershaft='bearings = ["-100 mm", "-20 mm"]', along=("20 mm", "80 mm"))
    assert "outside the bearings" in _order(made, "stage-2-driver")["put on first what cannot pass"].what
    assert "free end of the motor's shaft" in _order(made, "stage-1-driver")["put on first what cannot pass"].what


def test_unstated_places_are_said_to_be_so() -> None:
    """Without places and bearings nothing is claimed of either."""
    what = _order(mill(), "stage-2-driver")["put on first what cannot pass"].what
    assert "the places of both along it are not stated" in what and "If a bearing stands on either side" in what


def test_a_joined_belt_need_not_be_on_first() -> None:
    """Link belt is put together round both pulleys."""
    made = _plain(
        "{ ready = [100] }", "{ free = [75, 230] }", ("r", "t"), '{ section = "A", link = true, lengths = "any" }'
    )
    assert "joined on the spot" in _order(made, "stage-1-driven")["put on first what cannot pass"].what


def test_without_layers_shafts_hubs_the_blank_is_built_up_and_the_bore_measured() -> None:
    """Groove 13.02 mm at the most at 34 to 36 degrees and walls of 4 mm: 21.14 wide; rim 146.6 + 4."""
    order = _order(_plain("{ ready = [100] }", "{ free = [75, 230] }", ("r", "t")), "stage-1-driven")
    assert list(order)[:2] == ["make the blank", "bore a pilot"]
    assert "round: step 1 150.60 mm" in order["make the blank"].check
    assert "as hub or shaft measures (not stated)" in order["bore last"].what


def test_kept_and_bought_cones_are_measured_not_cut() -> None:
    """Datum 100 and 140: rims 106.6 and 146.6, over pins 117.0 and 157.0; nothing is turned."""
    made = _plain("{ ready = [100] }", "{ kept = [140] }", ("r", "n"))
    ready, kept = _order(made, "stage-1-driver"), _order(made, "stage-1-driven")
    assert list(ready)[:2] == ["measure the ready sheaves", "bore and key the sheaves"]
    assert next(iter(kept)) == "measure the kept cone"
    assert "157.00 mm" in kept["measure the kept cone"].check
    assert not {"turn the rims", "cut the grooves", "bore last", "true again, to size"} & {*ready, *kept}


def test_lengths_are_in_the_makers_units() -> None:
    """In inches 96.6 + 2 mm left on is 3.882 in, nearest 64th 3 7/8 (3.875); limits stay decimals, never rounded up.

    Run-out 0.1449 mm is 0.0057 in.
    """
    made = mill(units="in")
    order = _order(made, "stage-2-driver")
    assert 'step 1 3 7/8" (3.882 in)' in order["turn the rims"].check
    assert "step 1 0.005 in" in order["measure again"].check


@pytest.mark.parametrize("name", JOBS)
def test_every_machine_has_an_order_for_every_cone(name: str) -> None:
    """Orders are numbered, name sources wherever something is measured, end with the line, say nothing twice."""
    made = job(name)
    for cone in cut_cones(made):
        steps = work_order(cone, made)
        assert [step.number for step in steps] == list(range(1, len(steps) + 1))
        assert steps[-1].name == "line it up"
        assert all(step.source for step in steps if step.check)
        assert len({step.name for step in steps}) == len(steps)
        assert all("None" not in step.what + step.check and "  " not in step.what for step in steps)
        assert steps == work_order(cone, made)
