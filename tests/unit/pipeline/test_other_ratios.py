"""Other ratios of a gear against designs of scenarios that state them outright."""

from __future__ import annotations

import pytest

from optimizer.documents.changes import none_lines
from optimizer.documents.data import design_json, design_of_json, record_json
from optimizer.documents.design import design_paper, design_screen
from optimizer.errors import NoDesignError
from optimizer.pipeline.design import design
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.pipeline.options import DesignOptions
from optimizer.records.changes import RatioTrial
from optimizer.scenario import Scenario, load_scenario

SAW = """
title = "Metal band saw with a reducer"
units = "mm"
[motor]
speed = 1420
power = "0.55 kW"
[[band]]
name = "metals"
from = 28
to = 98
want = 4
[[shaft]]
name = "motor"
mount = "slide"
[[shaft]]
name = "worm shaft"
[[stage]]
from = "motor"
to = "worm shaft"
positions = 4
centres = [250, 400]
travel = 80
belt = "A"
driver = { ready = [80, 90, 100, 112, 125, 140, 160] }
driven = { ready = [80, 90, 100, 112, 125, 140, 150, 160] }
[[stage]]
from = "worm shaft"
to = "spindle"
ratio = "25:1"
other_ratios = ["10:1", 0.05, "30:1"]
"""


def saw(*edits: tuple[str, str]) -> Scenario:
    """Return the saw, changed."""
    text = SAW
    for old, new in edits:
        assert old in text
        text = text.replace(old, new)
    return load_scenario(text, "saw.toml")


def by_ratio(trials: tuple[RatioTrial, ...]) -> dict[float, RatioTrial]:
    """Return the trials by ratio, rounded."""
    return {round(trial.ratio, 4): trial for trial in trials}


@pytest.fixture(scope="module")
def told() -> tuple[RatioTrial, ...]:
    """Return what the saw's design says of other ratios."""
    return design(saw()).other_ratios


def test_every_ratio_stands_with_the_stated_one_first(told: tuple[RatioTrial, ...]) -> None:
    """The ratio of the scenario comes first, then the others in the order of the file."""
    assert [(trial.key, round(trial.ratio, 4), trial.stated) for trial in told] == [
        ("stage[1]", 0.04, True),
        ("stage[1]", 0.1, False),
        ("stage[1]", 0.05, False),
        ("stage[1]", 0.0333, False),
    ]


@pytest.mark.parametrize("ratio", ["25:1", "0.05", "30:1"])
def test_a_ratio_has_the_listed_design_of_a_scenario_that_states_it(told: tuple[RatioTrial, ...], ratio: str) -> None:
    """J, end miss, unevenness, layout are those that designing with the ratio outright lists."""
    written = f'"{ratio}"' if ":" in ratio else ratio
    stated = saw(('"25:1"', written), ('other_ratios = ["10:1", 0.05, "30:1"]\n', ""))
    value = stated.stages[1].ratio  # type: ignore[union-attr]
    trial = by_ratio(told)[round(value, 4)]
    try:
        outright = design(stated)
    except NoDesignError:
        assert trial.j is None
        assert trial.why
    else:
        assert trial.j == pytest.approx(outright.proof.listed)
        assert (trial.layout, trial.proved) == (outright.layout.name, True)
        assert outright.other_ratios == ()


def test_a_ratio_out_of_reach_says_why(told: tuple[RatioTrial, ...]) -> None:
    """10:1 leaves 71 to 284 rpm at most, with sheaves from 80 to 160 mm: 1420/10 · 80/160 = 71."""
    trial = by_ratio(told)[0.1]
    assert trial.j is None
    assert trial.proved
    assert "the sizes let the spindle run from 7" in trial.why


def test_the_table_stands_on_screen_and_paper_and_in_the_document() -> None:
    """Screen, sheet and design.json tell the same ratios."""
    result = design(saw())
    for text in (design_screen(result), design_paper(result)):
        assert "Other ratios of gears" in text
        assert "0.04 (25:1), stated" in text
        assert "0.1 (10:1)" in text
    assert design_of_json(design_json(result)).other_ratios == result.other_ratios


def test_without_a_design_the_ratios_are_told_all_the_same() -> None:
    """A stated ratio that gives no design comes with those that do."""
    with pytest.raises(NoLayoutError) as caught:
        design(saw(('"25:1"', '"100:1"'), ('["10:1", 0.05, "30:1"]', '["25:1"]')), DesignOptions())
    trials = caught.value.told.other_ratios
    assert [trial.j is None for trial in trials] == [True, False]
    lines = none_lines(caught.value.told)
    assert any(line.startswith("  - stage[1], ratio 0.04 (25:1): layout 4, J ") for line in lines)
    assert '"other_ratios"' in record_json(caught.value.told)


def test_nothing_is_searched_where_no_other_ratio_is_stated() -> None:
    """A gear with one ratio has nothing beside it."""
    assert design(saw(('other_ratios = ["10:1", 0.05, "30:1"]\n', ""))).other_ratios == ()
