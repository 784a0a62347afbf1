"""What the maker asks of a design beside the scenario."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from optimizer.catalogue.ratings import ratings_of
from optimizer.errors import Fault, ScenarioError
from optimizer.layouts.orders import layouts_of
from optimizer.records.layout import Layout
from optimizer.scenario import BeltStage, Scenario

__all__ = ["DesignOptions", "asked_layouts", "refuse_unknown_grip"]


@dataclass(frozen=True)
class DesignOptions:
    """Which layouts may be chosen, and what is made best within the slack."""

    layout: str | None = None
    """Only this layout, such as `2x4`."""
    order: str | None = None
    """Only orders that begin so: coarse, fine, interleaved."""
    prefer: Literal["evenness", "timber", "disc", "grip"] = "evenness"
    changes: bool = False
    """Whether a design comes with how far every limit could be tightened, and what a little more would buy."""


def refuse_unknown_grip(scenario: Scenario, options: DesignOptions) -> None:
    """Raise if grip is preferred where nobody says what the belts must carry.

    Raises
    ------
    ScenarioError
        With what to state.
    """
    if options.prefer != "grip":
        return
    wishes = "evenness, timber, disc"
    if scenario.motor.power_kw is None and not any(band.work_power_kw for band in scenario.bands):
        what = "without a power it is not known what the belts must carry"
        raise ScenarioError([Fault("--prefer", what, "grip", wishes, "state power under [motor]")])
    for stage in scenario.stages:
        if isinstance(stage, BeltStage) and not ratings_of(stage.belt.data):
            what = f"no source is known that tells what a belt of section {stage.belt.section} carries"
            raise ScenarioError([Fault("--prefer", what, "grip", wishes)])


def asked_layouts(scenario: Scenario, options: DesignOptions) -> tuple[Layout, ...]:
    """Return the layouts of the scenario that the options leave.

    Raises
    ------
    ScenarioError
        No layout has the name, or the order, asked for: with those there are.
    """
    layouts = layouts_of(scenario)
    if options.layout is not None:
        wanted = options.layout.replace("X", "x").replace(" ", "")
        named = tuple(layout for layout in layouts if layout.name == wanted)
        if not named:
            raise _no_such("--layout", "layout", options.layout, [layout.name for layout in layouts])
        layouts = named
    if options.order is not None:
        start = options.order.strip().lower()
        ordered = tuple(layout for layout in layouts if layout.order.startswith(start) and start)
        if not ordered:
            raise _no_such("--order", "order", options.order, [layout.order for layout in layouts])
        layouts = ordered
    return layouts


def _no_such(where: str, what: str, got: str, there: list[str]) -> ScenarioError:
    allowed = ", ".join(dict.fromkeys(there))
    return ScenarioError([Fault(where, f"the scenario allows no such {what}", got, allowed)])
