"""GOST 1284.3-96, V-belts of standard cross-sections, transmitted powers; read.

Sections Z, A, B, millimetres. The standard states conformity with ISO 5292-80.
"""

from typing import Any

import pytest

from optimizer.catalogue.lengths import stock_lengths
from optimizer.catalogue.sections import section
from optimizer.layouts.budget import StatedBelt, budget_lines
from optimizer.scenario import BeltStage
from optimizer.series import preferred_numbers

TABLE_19 = (
    "400 425 450 475 500 530 560 600 630 670 710 750 800 850 900 950 1000 1060 1120 1180 1250 1320 1400 1500 1600 1700 "
    "1800 1900 2000 2120 2240 2360 2500"
)


def stage() -> BeltStage:
    """Return a stage on a stock belt A, all limits left as they are."""
    given: dict[str, Any] = {
        "from_shaft": "motor",
        "to_shaft": "spindle",
        "centres_mm": (300, 400),
        "travel_mm": 90,
        "belt": {"section": "A"},
        "driver": {"ready_mm": [150]},
        "driven": {"ready_mm": [200]},
    }
    return BeltStage(**given)


@pytest.mark.parametrize(("name", "first_mm"), [("Z", 400), ("A", 560), ("B", 900)])
def test_the_stock_lengths_are_those_of_the_table(name: str, first_mm: float) -> None:
    """Table 19: datum lengths to 2500 mm, Z from 400, A from 560, B from 900; they are the preferred numbers R40."""
    printed = tuple(float(length) for length in TABLE_19.split() if float(length) >= first_mm)
    assert tuple(belt.datum_length_mm for belt in stock_lengths(section(name), "metric")) == printed
    assert preferred_numbers("R40", first_mm, 2500) == printed


@pytest.mark.parametrize(("name", "top_mm", "height_mm"), [("Z", 10, 6), ("A", 13, 8), ("B", 17, 11)])
def test_the_belts_have_the_printed_cross_sections(name: str, top_mm: float, height_mm: float) -> None:
    """Z is 10 x 6, A 13 x 8, B 17 x 11 mm."""
    assert (section(name).top_mm, section(name).height_mm) == (top_mm, height_mm)


def test_a_belt_runs_at_thirty_metres_a_second_at_most() -> None:
    """The limit of belt speed is 30 m/s for the classical sections, and so it is for a stage that states none."""
    assert {section(name).belt_speed_m_s for name in ("Z", "A", "B")} == {30.0}
    assert stage().belt_speed_m_s == 30.0


def test_the_least_wrap_is_a_right_angle() -> None:
    """The arc of contact is at least 90°, where the maker states nothing else."""
    assert stage().wrap_deg == 90.0


@pytest.mark.parametrize(("length_mm", "stretch_mm", "fitting_mm"), [(900, 22.5, 8.1), (1250, 31.25, 11.25)])
def test_the_take_up_is_the_printed_share_of_the_length(length_mm: float, stretch_mm: float, fitting_mm: float) -> None:
    """3.3.8: outward 0.025 of the length; inward 0.009 of it, with the standard's 2·Wp left out.

    The standard adds twice the datum width inward, to lift a belt over a plain pulley's rim. A belt on a cone is
    walked over step by step: the belt's height stands in its place here (judgement), which asks for less.
    """
    belt = StatedBelt(f"A {length_mm}", length_mm, 0.0, "none, so that the shares stand alone")
    _, stretch, climb = budget_lines(stage(), belt)
    assert stretch.amount_mm == pytest.approx(stretch_mm)
    assert climb.amount_mm == pytest.approx(fitting_mm + 8)
    assert climb.amount_mm < fitting_mm + 2 * section("A").datum_width_mm
