"""Which other belts fit a stage, and the names of the chosen one."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import pi

import numpy as np
import pytest

from optimizer.catalogue.lengths import series_of, stock_lengths
from optimizer.catalogue.sections import section
from optimizer.checks.belts import contact_checks
from optimizer.checks.stated import Pair
from optimizer.checks.travel import travel_checks
from optimizer.checks.verdict import Check
from optimizer.cuts.belt_window import BeltWindow, belt_window, inside_length_mm, outside_length_mm
from optimizer.pipeline.job import Job, machine_of
from optimizer.scenario import load_scenario
from tests.jobs import JOBS, job, job_from
from tests.sampled import EVERYTHING

HAD = "belt can be had"
"""The one check of a belt that asks for the maker's own list."""


def windows(name: str) -> list[tuple[BeltWindow, Pair]]:
    """Return the window of every stage of a machine, with the stage."""
    return [(window(name, stage), pair) for stage, pair in enumerate(machine_of(job(name)).pairs)]


@cache
def window(name: str, stage: int) -> BeltWindow:
    """Return the window of a stage."""
    return belt_window(job(name), stage)


def passes(pair: Pair, length_mm: float, tolerance_mm: float) -> bool:
    """Tell whether a stage with a belt of another length passes every check that a design is judged by."""
    budget = pair.stage.budget.model_copy(update={"tolerance_mm": tolerance_mm})
    stage = pair.stage.model_copy(update={"budget": budget})
    other = replace(pair, stage=stage, built=pair.built.model_copy(update={"datum_length_mm": length_mm}))
    checks = [check for check in (*travel_checks(other), *contact_checks(other)) if isinstance(check, Check)]
    return all(check.passed for check in checks if check.kind != "advice" and check.name != HAD)


@pytest.mark.parametrize("name", JOBS)
def test_every_length_is_judged_as_the_checks_judge_it(name: str) -> None:
    """Tried one by one, lengths within the ends pass every check of the stage, those outside fail one."""
    for found, pair in windows(name):
        assert found.shortest_mm is not None and found.longest_mm is not None
        for length in np.linspace(0.8 * found.shortest_mm, 1.2 * found.longest_mm, 151 if EVERYTHING else 41):
            if min(abs(length - found.shortest_mm), abs(length - found.longest_mm)) > 0.02:
                inside = found.shortest_mm < length < found.longest_mm
                assert passes(pair, float(length), found.tolerance_mm) == inside, length


@pytest.mark.parametrize("name", JOBS)
def test_the_ends_are_found_to_a_hundredth(name: str) -> None:
    """A length at either end passes, one 0.02 mm beyond it fails."""
    for found, pair in windows(name):
        assert found.shortest_mm is not None and found.longest_mm is not None
        for end, beyond in ((found.shortest_mm, -0.02), (found.longest_mm, 0.02)):
            assert passes(pair, end, found.tolerance_mm)
            assert not passes(pair, end + beyond, found.tolerance_mm)


@pytest.mark.parametrize("name", JOBS)
def test_stock_belts_are_all_that_fit(name: str) -> None:
    """Of both series, exactly the belts that pass with the tolerance they are told with, short ones first."""
    for found, pair in windows(name):
        listed = {belt.marking: belt for belt in found.stock}
        lengths = [belt.datum_length_mm for belt in found.stock]
        assert lengths == sorted(lengths)
        for series in series_of(pair.section):
            for belt in stock_lengths(pair.section, series):
                told = listed.get(belt.marking)
                held = not isinstance(pair.stage.belt.lengths, str)
                tolerance = found.tolerance_mm if held else belt.tolerance_mm
                assert (told is not None) == passes(pair, belt.datum_length_mm, tolerance)
                assert told is None or told.tolerance_mm == tolerance


def test_the_chosen_belt_is_among_them() -> None:
    """The pattern mill's A 1000 is one of the stock belts that fit, and marked as the chosen one."""
    assert [belt.marking for belt in window("pattern-mill", 0).stock if belt.chosen] == ["A 1000"]


@pytest.mark.parametrize(
    ("name", "datum_in", "inside_in"),
    [
        # Machinery's Handbook, 31st ed., pp. 2575-2576 (read): A numbers are nominal inside inches, datum + 1.3 in.
        ("A", 47.3, 46.0),
        # B: datum + 1.8 in
        ("B", 61.8, 60.0),
    ],
)
def test_inside_lengths_are_near_the_nominal_ones(name: str, datum_in: float, inside_in: float) -> None:
    """The bottom of a belt is 2π(h − hd) shorter than its datum line, within 0.2 in of the nominal inside length."""
    assert inside_length_mm(section(name), datum_in * 25.4) / 25.4 == pytest.approx(inside_in, abs=0.2)


@pytest.mark.parametrize(
    ("name", "less_in"),
    [
        ("4L", 2.0),  # inside = outside - 2.0 in (read)
        ("3L", 1.5),  # inside = outside - 1.5 in (read)
    ],
)
def test_light_duty_belts_are_so_much_shorter_inside(name: str, less_in: float) -> None:
    """Outside less inside length is 2π times the height, near the round figure that catalogues give."""
    belt = section(name)
    apart = outside_length_mm(belt, 1000.0) - inside_length_mm(belt, 1000.0)
    assert apart == pytest.approx(2 * pi * belt.height_mm)
    assert apart / 25.4 == pytest.approx(less_in, abs=0.15)


def test_lengths_run_as_the_formulas_say() -> None:
    """Section A (13 x 8, datum line 3.3 below the top): 1180 datum is 1150.47 inside and 1200.73 outside."""
    assert inside_length_mm(section("A"), 1180.0) == pytest.approx(1180 - 2 * pi * 4.7)
    assert outside_length_mm(section("A"), 1180.0) == pytest.approx(1180 + 2 * pi * 3.3)


def _with_belt(length: str) -> BeltWindow:
    text = job("eighteen").scenario.text.replace("lengths = [1250]", f"lengths = [{length}]")
    return belt_window(job_from(text), 1)


def test_a_stock_length_has_its_marking() -> None:
    """A belt of 47.3 in datum length (1201.42 mm) is A46 of the inch series, 1201.42 of the metric one, in no stock."""
    numbers = {number.series: number for number in _with_belt('"47.3 in"').numbers}
    assert [numbers[series].marking for series in ("inch", "metric")] == ["A46", ""]
    assert [numbers[series].number for series in ("inch", "metric")] == pytest.approx([46.0, 1201.42])
    numbers = {number.series: number for number in _with_belt("1250").numbers}
    assert (numbers["metric"].number, numbers["metric"].marking) == (1250, "A 1250")
    assert numbers["inch"].number == pytest.approx(1250 / 25.4 - 1.3, abs=1e-6)


def test_light_duty_numbers_are_tenths_of_an_inch_outside() -> None:
    """The bench shaper's 4L380 is 38.0 in along its top (numbers are the outside length in tenths of an inch, read)."""
    found = window("bench-shaper", 0)
    assert found.marking == "4L380"
    assert found.outside_mm == pytest.approx(38 * 25.4)
    assert [(n.series, n.number, n.marking) for n in found.numbers] == [("inch", 380, "4L380")]


def test_belts_without_a_series_have_no_numbers() -> None:
    """A flat belt is joined to any length: a window, no stock; its top is 2π·3 mm longer than its bottom."""
    found = window("grindstone", 0)
    assert (found.numbers, found.stock) == ((), ())
    assert found.outside_mm - found.inside_mm == pytest.approx(2 * pi * 3)


def test_a_stated_tolerance_is_kept() -> None:
    """A maker who measures belts states the tolerance: the window is worked out with it."""
    text = job("eighteen").scenario.text.replace("travel = 100", "travel = 100\nbudget = { tolerance = 2 }")
    assert belt_window(job_from(text), 0).tolerance_mm == 2
    wide, own = belt_window(job_from(text), 0), window("eighteen", 0)
    assert wide.longest_mm is not None and own.longest_mm is not None
    assert wide.longest_mm >= own.longest_mm


def test_a_stage_that_is_not_there_is_refused() -> None:
    """The pattern mill has two belts."""
    with pytest.raises(IndexError):
        belt_window(job("pattern-mill"), 2)


def test_a_belt_that_does_not_fit_has_no_window() -> None:
    """With centres of 305 to 325 mm, a belt taut at 262 to 271 does not fit; A42, 100 mm longer, does."""
    made = job("pattern-mill")
    text = made.scenario.text.replace("centres = [240, 360]", "centres = [305, 325]")
    found = belt_window(Job(made.design, load_scenario(text, "pattern-mill.toml")), 0)
    assert (found.shortest_mm, found.longest_mm) == (None, None)
    assert not [belt for belt in found.stock if belt.chosen]
    assert [belt.marking for belt in found.stock] == ["A42"]
