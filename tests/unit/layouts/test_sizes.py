"""The sizes a side may have."""

from __future__ import annotations

from typing import Any

import pytest

from optimizer.catalogue.sections import section
from optimizer.errors import NoDesignError
from optimizer.layouts.sizes import SideStated, side_sizes
from optimizer.scenario import Making, Side


def stated(hub_mm: float = 0.0, making: dict[str, Any] | None = None, **side: Any) -> SideStated:
    """Return a side on an A belt."""
    return SideStated("stage[0].driver", Side(**side), section("A"), hub_mm, Making(**(making or {})), 20.0)


def test_free_grid_counts_from_its_lower_limit() -> None:
    """A free range is listed from its start in grid steps, with its end if no grid step hits it."""
    sizes = side_sizes(stated(free_mm=(78, 92)))
    assert sizes.turned_mm == (78.0, 92.0)
    assert sizes.listed_mm == (78.0, 83.0, 88.0, 92.0)


def test_discs_list_whole_multiples_and_the_largest_tick() -> None:
    """A disc of 105 mm less 4 mm truing gives 101 mm over the rim, so 94.4 mm datum: 94.0 is the largest on a tick."""
    sizes = side_sizes(stated(blanks_mm=(105,)))
    assert sizes.turned_mm == pytest.approx((75.0, 94.4))
    assert sizes.listed_mm == (75.0, 80.0, 85.0, 90.0, 94.0)
    assert sizes.discs_mm == (105.0,)


def test_section_smallest_binds_below_a_wide_range() -> None:
    """No size is below the section's smallest datum diameter, 75 mm for A (GOST 20889-88, read)."""
    assert side_sizes(stated(free_mm=(50, 100))).turned_mm == (75.0, 100.0)


def test_groove_root_stands_over_the_hub_with_a_wall_on_either_side() -> None:
    """A hub of 70 mm asks for 70 + 2·4 + 2·12.0 = 102 mm over the rim, 95.4 mm datum (G20: 3.3 + 8.7 mm deep)."""
    sizes = side_sizes(stated(hub_mm=70.0, free_mm=(75, 120)))
    assert sizes.turned_mm is not None
    assert sizes.turned_mm[0] == pytest.approx(102.0 - 6.6)


def test_largest_blank_less_truing_binds_over_the_rim() -> None:
    """A blank of 150 mm gives at most 146 mm over the rim, whatever the free range allows."""
    sizes = side_sizes(stated(making={"largest_blank_mm": 150.0}, free_mm=(75, 200)))
    assert sizes.turned_mm == pytest.approx((75.0, 146.0 - 6.6))


def test_a_plate_under_the_motor_binds_over_the_rim() -> None:
    """132 mm over the rim are 125.4 mm datum: larger turned and ready sizes are left out, the plate is named."""
    swung = stated(free_mm=(75, 200), ready_mm=(112, 125, 140))._replace(swing_mm=132.0)
    sizes = side_sizes(swung)
    assert sizes.turned_mm == pytest.approx((75.0, 125.4))
    assert sizes.ready_mm == (112, 125)
    with pytest.raises(NoDesignError, match=r"no larger than the plate under the motor \(motor.plate\) leaves"):
        side_sizes(stated(ready_mm=(140,))._replace(swing_mm=132.0))
    with pytest.raises(NoDesignError, match=r"the plate under the motor \(motor.plate\) allows 60 mm"):
        side_sizes(stated(free_mm=(75, 200))._replace(swing_mm=60.0))


def test_discs_that_cannot_be_swung_are_left_out() -> None:
    """A disc larger than the largest blank is none that can be used."""
    sizes = side_sizes(stated(making={"largest_blank_mm": 150.0}, blanks_mm=(140, 160)))
    assert sizes.discs_mm == (140.0,)
    assert sizes.turned_mm == pytest.approx((75.0, 136.0 - 6.6))


def test_line_of_the_maker_is_turned_to_pitch() -> None:
    """Outside diameters are 6.6 mm above pitch on an A groove (GOST 20889-88, read), ticks counted outside."""
    sizes = side_sizes(stated(ready_mm=(100,), free_mm=(90, 100), measured="outside"))
    assert sizes.ready_mm == pytest.approx((93.4,))
    assert sizes.given_shift_mm == pytest.approx(-6.6)
    assert sizes.turned_mm == pytest.approx((83.4, 93.4))


def test_belt_on_a_flat_rim_runs_outside_it() -> None:
    """On a flat rim the datum line of an A belt runs 8 − 3.3 = 4.7 mm outside it, 9.4 mm on the diameter (computed)."""
    sizes = side_sizes(stated(free_mm=(100, 120), measured="outside", groove="flat"))
    assert sizes.outside_shift_mm == pytest.approx(-9.4)
    assert sizes.turned_mm == pytest.approx((109.4, 129.4))


def test_pulleys_below_the_smallest_are_not_offered() -> None:
    """A pulley the belt may not bend around is left out; a smaller limit stated by the maker lets it in."""
    assert side_sizes(stated(ready_mm=(60, 80))).ready_mm == (80.0,)
    assert side_sizes(stated(ready_mm=(60, 80), smallest_mm=60)).ready_mm == (60.0, 80.0)


def test_nothing_to_turn_names_both_limits() -> None:
    """Where no size is left the two limits that clash are named with their figures."""
    with pytest.raises(NoDesignError) as caught:
        side_sizes(stated(making={"largest_blank_mm": 80.0}, free_mm=(70, 200)))
    assert str(caught.value) == (
        "stage[0].driver: nothing can be turned: the smallest diameter for section A asks for 81.6 mm over the rim "
        "at least, the largest blank less truing allows 76 mm"
    )


def test_pulleys_that_are_all_too_small_are_no_design() -> None:
    """Where the belt may bend around none of the pulleys there is no size, which is told, not stumbled over."""
    with pytest.raises(NoDesignError) as caught:
        side_sizes(stated(ready_mm=(60, 70)))
    assert str(caught.value) == (
        "stage[0].driver: no pulley is as large as the smallest diameter for section A asks for"
    )


def test_ready_pulleys_stand_in_where_nothing_can_be_turned() -> None:
    """A side with pulleys beside its discs does without the discs where no disc is large enough."""
    sizes = side_sizes(stated(ready_mm=(80,), blanks_mm=(70,)))
    assert sizes.turned_mm is None
    assert sizes.ready_mm == (80.0,)


def test_bought_pulleys_are_metal() -> None:
    """Ready pulleys alone have the rim speed of cast iron, 6500 ft/min (MPTA-B13i-2013, read); timber 20 m/s."""
    assert side_sizes(stated(ready_mm=(80,))).rim_speed_m_s == pytest.approx(6500 * 0.3048 / 60)
    assert side_sizes(stated(free_mm=(80, 100))).rim_speed_m_s == 20.0
