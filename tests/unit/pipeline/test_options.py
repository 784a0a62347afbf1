"""What the maker asks of a design beside the scenario."""

from __future__ import annotations

import pytest

from optimizer.errors import ScenarioError
from optimizer.pipeline.options import DesignOptions, asked_layouts
from optimizer.scenario import load_scenario
from tests.machines import MIXER

SCENARIO = load_scenario(MIXER, "mixer.toml")


def test_layout_and_order_narrow_the_choice() -> None:
    """A name keeps its layouts in every order, an order keeps those that begin so."""
    named = asked_layouts(SCENARIO, DesignOptions(layout="2x4"))
    assert [layout.order for layout in named] == ["coarse stage first", "fine stage first", "interleaved 2·2·2"]
    both = asked_layouts(SCENARIO, DesignOptions(layout="2X4", order="Interleaved"))
    assert [layout.title for layout in both] == ["2x4, interleaved 2·2·2"]


def test_unknown_layout_names_those_there_are() -> None:
    """A layout the scenario does not allow is refused with those it does."""
    with pytest.raises(ScenarioError) as caught:
        asked_layouts(SCENARIO, DesignOptions(layout="5x5"))
    assert str(caught.value) == ("--layout: the scenario allows no such layout; got 5x5; allowed: 1x3, 1x4, 2x3, 2x4")


def test_unknown_order_names_those_there_are() -> None:
    """An order no layout has is refused with those there are."""
    with pytest.raises(ScenarioError, match="--order: the scenario allows no such order; got backwards; allowed: "):
        asked_layouts(SCENARIO, DesignOptions(order="backwards"))
