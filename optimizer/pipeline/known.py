"""What a fully known machine gives."""

from __future__ import annotations

from optimizer.checks.stated import read_machine
from optimizer.layouts.known import known_machine
from optimizer.pipeline.machine import machine_sheet
from optimizer.pipeline.sheets import (
    around_sheet,
    carrying_sheet,
    cautions_of,
    check_sheets,
    gear_sheets,
    hanging_sheet,
    scenario_sheet,
    shafts_sheet,
    skipped_sheets,
    versions_of,
    work_size_sheet,
)
from optimizer.records.known import KnownMachine
from optimizer.scenario import Scenario

__all__ = ["tell_known"]


def tell_known(scenario: Scenario) -> KnownMachine:
    """Return every speed, belt fit and check of a machine whose diameters and belts are all stated.

    Raises
    ------
    ScenarioError
        Something is left open: with every place where a choice remains.
    """
    machine = read_machine(scenario, known_machine(scenario))
    return KnownMachine(
        scenario=scenario_sheet(scenario),
        machine=machine_sheet(machine),
        work_size=work_size_sheet(machine),
        carrying=carrying_sheet(machine),
        gears=gear_sheets(machine),
        hanging=hanging_sheet(machine),
        shafts=shafts_sheet(machine),
        around=around_sheet(machine),
        checks=check_sheets(machine),
        skipped=skipped_sheets(machine),
        remarks=scenario.remarks,
        cautions=cautions_of(scenario),
        versions=versions_of("numpy", "pydantic"),
    )
