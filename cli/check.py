"""The command that says what is wrong with a scenario."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from textwrap import fill

from cli.codes import DONE
from cli.scenario_file import read_scenario
from cli.streams import say
from optimizer.errors import NoDesignError, ScenarioError
from optimizer.layouts import any_problem, known_machine, layouts_of
from optimizer.quantities import as_written, show_rpm
from optimizer.records.layout import Layout
from optimizer.scenario import Scenario
from optimizer.scenario.band import shown_unit, span_words

__all__ = ["check_file"]


def check_file(file: Path) -> int:
    """Print what a scenario comes to, with everything that is legal but costly on stderr."""
    scenario = read_scenario(file)
    for line in (f"{file}: nothing wrong", *_bands(scenario), *_uses(scenario, layouts_of(scenario))):
        print(line)
    say(*scenario.remarks)
    return DONE


def _bands(scenario: Scenario) -> Iterator[str]:
    """Yield the spindle speeds of every band that is stated by surface speeds."""
    for band in scenario.bands:
        if band.by_surface and band.work_mm and band.surface_speed_m_s:
            unit = shown_unit(scenario.units, band.surface_unit, scenario.work.surface_unit)
            said = span_words(band.of, band.work_mm, band.surface_speed_m_s, unit, scenario.units)
            edges = f"{show_rpm(band.from_rpm)} to {show_rpm(band.to_rpm)} rpm"
            yield fill(f"band {as_written(band.name)}: {said}: {edges}", 80, subsequent_indent="  ")


def _uses(scenario: Scenario, layouts: tuple[Layout, ...]) -> tuple[str, ...]:
    """Return what the scenario can be used for."""
    known = _is_known(scenario)
    if not scenario.bands:
        return ("fully known: conewright speeds tells what it gives",) if known else ()
    reasons: dict[str, list[str]] = {}
    for layout in layouts:
        try:
            any_problem(scenario, layout)
        except NoDesignError as error:
            reasons.setdefault(str(error), []).append(layout.name)
    impossible = sum(map(len, reasons.values()))
    lines = [f"layout {', '.join(dict.fromkeys(names))}: {reason}" for reason, names in reasons.items()]
    if impossible == len(layouts):
        raise NoDesignError("\n".join(lines))
    titles = len(layouts) - impossible
    return (*lines, f"layouts to search: {titles}")


def _is_known(scenario: Scenario) -> bool:
    try:
        known_machine(scenario)
    except ScenarioError:
        return False
    return True
