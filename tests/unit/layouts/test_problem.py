"""One layout of a scenario as a problem."""

from __future__ import annotations

import pytest

from optimizer.errors import NoDesignError
from optimizer.layouts import layouts_of, problem_for
from optimizer.records.problem import Problem
from optimizer.scenario import load_scenario
from tests.machines import GRINDER, MIXER, OLD_SAW

GEARED = """
[[shaft]]
name = "counter"
diameter = 20

[[stage]]
from = "counter"
to = "spindle"
ratio = 0.25
reverses = true
"""


def problem(text: str, number: int = 0) -> Problem:
    """Return the problem of one layout of a scenario."""
    scenario = load_scenario(text, "machine.toml")
    return problem_for(scenario, layouts_of(scenario)[number])


def test_outermost_edges_are_widened_inner_ones_not() -> None:
    """The bands' bottom is divided, their top multiplied by 1.03; only the top edge itself counts."""
    low, high = problem(GRINDER).targets.bands
    assert [low.low_rpm, low.high_rpm] == pytest.approx([500 / 1.03, 900.0])
    assert [high.low_rpm, high.high_rpm] == pytest.approx([900.0, 1700 * 1.03])
    assert (low.top, high.top) == (False, True)


def test_targets_begin_and_end_at_the_bands_themselves() -> None:
    """End miss is measured from the edges as stated, not widened."""
    targets = problem(GRINDER).targets
    assert (targets.lo_rpm, targets.hi_rpm) == (500.0, 1700.0)


def test_layouts_are_every_number_of_positions_in_every_order() -> None:
    """One or two positions before three or four: seven layouts."""
    titles = [layout.title for layout in layouts_of(load_scenario(MIXER, "mixer.toml"))]
    assert titles == [
        "1x3",
        "1x4",
        "2x3, coarse stage first",
        "2x3, fine stage first",
        "2x4, coarse stage first",
        "2x4, fine stage first",
        "2x4, interleaved 2·2·2",
    ]


def test_window_is_what_the_budget_leaves_with_fit() -> None:
    """A 1000 of 90 mm travel: 90 − 15.24 − 25 − 17 + 0.2 mm is left for the positions (G3 and MH figures, read)."""
    (stage,) = problem(GRINDER).stages
    window = next(b.window_mm for b in stage.belts if b.marking == "A 1000")
    assert window == pytest.approx(90 - 15.24 - 25 - 17 + 0.2)


def test_rims_keep_clear_when_the_belt_goes_on() -> None:
    """The clearance covers how far the mount goes inward to fit any belt, since facing rims meet there first."""
    (stage,) = problem(GRINDER).stages
    longest = max(float(b.length_mm) for b in stage.belts)
    tolerance = 17.78 if longest > 1181.1 else 15.24
    assert stage.clearance_mm == pytest.approx(tolerance / 2 + 0.009 * longest + 8 + 6.6)


def test_belts_out_of_reach_are_dropped() -> None:
    """No belt is offered that no size and centre distance could take."""
    (stage,) = problem(GRINDER).stages
    lengths = [b.length_mm for b in stage.belts]
    assert min(lengths) >= 2 * 300 + 75 * 3.14
    assert max(lengths) <= 1500


def test_fixed_ratio_goes_into_the_gain_behind_the_last_belt() -> None:
    """A gear pair behind the belts becomes the outgoing gain, before them the gain of the next belt."""
    behind = GRINDER.replace('to = "spindle"', 'to = "counter"').replace("500", "125").replace("900", "225")
    behind = behind.replace("1700", "425") + GEARED
    assert problem(behind).gain_out == 0.25
    before = GRINDER.replace('from = "motor"', 'from = "counter"').replace('name = "motor"', 'name = "spindle"')
    before += GEARED.replace('from = "counter"\nto = "spindle"', 'from = "motor"\nto = "counter"').replace(
        "0.25", "1.5"
    )
    assert problem(before).stages[0].gain == 1.5


def test_speed_limit_of_a_shaft_reaches_the_belt_before_it() -> None:
    """A countershaft that may run at 1000 rpm limits the driven side of the first belt.

    The motor of 1725 rpm idles at 1800, and the belt then does not slip its 1 %: 1000 · 1725/1800 · 0.99 = 948.75.
    """
    limited = MIXER.replace('name = "countershaft"\n', 'name = "countershaft"\nnever_above = 1000\n')
    first, second = problem(limited).stages
    assert first.driven_rpm == pytest.approx(948.75)
    assert second.driven_rpm == float("inf")


def test_a_gears_own_limit_reaches_the_belt_before_it() -> None:
    """A reducer that may be driven at 700 rpm, behind gears of a quarter, leaves the belt before both 2800 rpm."""
    behind = GRINDER.replace('to = "spindle"', 'to = "counter"').replace("500", "125").replace("900", "225")
    behind = behind.replace("1700", "425") + GEARED
    assert problem(behind + "input_speed = 2000\n").stages[0].driven_rpm == 2000.0
    two = behind.replace('from = "counter"\nto = "spindle"', 'from = "counter"\nto = "worm"')
    two += '[[stage]]\nfrom = "worm"\nto = "spindle"\nratio = 1\ninput_speed = 700\n[[shaft]]\nname = "worm"\n'
    assert problem(two).stages[0].driven_rpm == 2800.0


def test_a_gear_on_a_motor_too_fast_has_no_design() -> None:
    """What no belt can mend is told with the gear, the speed, and the key."""
    before = GRINDER.replace('from = "motor"', 'from = "counter"').replace('name = "motor"', 'name = "spindle"')
    before += GEARED.replace('from = "counter"\nto = "spindle"', 'from = "motor"\nto = "counter"')
    with pytest.raises(NoDesignError, match=r"^stage\[1\]: motor drives it at \d+ rpm whatever is turned, above its "):
        problem(before + "input_speed = 100\n")


def test_work_behind_a_lossy_gear_asks_more_of_the_belts() -> None:
    """1 kW at the spindle behind a gear that passes on 80 % is 1.25 kW for the belt."""
    behind = GRINDER.replace('to = "spindle"', 'to = "counter"').replace("500", "125").replace("900", "225")
    behind = behind.replace("1700", "425").replace("want = ", 'work_power = "1 kW"\nwant = ') + GEARED
    (*_, band) = problem(behind + "efficiency = 0.8\n").targets.bands
    assert band.power_kw == pytest.approx(1.25)


def test_crowded_shaft_has_no_design() -> None:
    """Where the cones do not fit along a shaft, what they take and what there is are named."""
    crowded = GRINDER.replace('name = "motor"\n', 'name = "motor"\nroom = 80\n')
    with pytest.raises(NoDesignError, match=r"^shaft motor: its cones take 85\.\d+ mm, the room is 80 mm$"):
        problem(crowded)


def test_used_up_travel_has_no_design() -> None:
    """Where the budget takes more than the travel, what is missing is named."""
    with pytest.raises(
        NoDesignError, match=r"^stage\[0\]: the travel of 20 mm is .* mm too short for length tolerance"
    ):
        problem(GRINDER.replace("travel = 90", "travel = 20"))


def test_no_belt_in_reach_has_no_design() -> None:
    """Where no stock belt is short or long enough, the lengths asked for and those there are are named."""
    own = GRINDER.replace('belt = "A"', 'belt = { section = "A", lengths = [2000] }')
    with pytest.raises(NoDesignError, match=r"^stage\[0\]: no belt fits: .* those that can be had run from 2000"):
        problem(own)


def test_machine_without_bands_has_no_design() -> None:
    """Nothing can be designed for where no speed is wanted."""
    with pytest.raises(NoDesignError, match=r"^no band is stated"):
        problem(OLD_SAW)


def test_whole_layers_round_the_step_pitch_up() -> None:
    """A groove of 13.3 mm with two walls of 4 mm takes two layers of 12 mm (EN 315 mean thickness, read)."""
    layered = GRINDER.replace("largest_blank = 240", "largest_blank = 240\nlayer = 12")
    assert problem(layered).stages[0].driver.width_mm == 24.0


def test_single_centre_distance_leaves_what_the_belt_forgives() -> None:
    """Around a single centre distance half the fit of 0.2 mm is left either way."""
    assert problem(GRINDER.replace("[300, 380]", "350")).stages[0].centre_mm == pytest.approx((349.9, 350.1))
