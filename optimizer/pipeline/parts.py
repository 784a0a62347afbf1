"""The parts of a result that are the same for every machine: cautions, versions, what the maker stated."""

from __future__ import annotations

import platform
from importlib.metadata import PackageNotFoundError, version

from optimizer.checks import Check, Skipped, check_design, skipped_checks
from optimizer.records.built import BuiltMachine
from optimizer.records.design import ChangedSheet, CheckSheet, DefaultSheet, ScenarioSheet, SkippedSheet, Version
from optimizer.scenario import BeltStage, Scenario

__all__ = ["cautions_of", "check_sheets", "finite", "has_timber", "scenario_sheet", "skipped_sheets", "versions_of"]

TIMBER = "Turned timber can split: use sound, glued stock, true it again after a week, stand aside at the first run."
CAUTIONS = (
    "Belts and pulleys catch hair, sleeves, fingers: nothing here replaces fixed guards over belts, cones, shaft ends.",
    "Change a belt only with the machine at rest and its plug pulled.",
    "Wiring, switch, overload protection and earthing are for a competent electrician, under your local codes.",
    "The limits of the makers of belt, motor, bearings and pulleys come before any figure on this sheet.",
    "Bearings, welds, and shafts whose bearings nobody states are not checked here; figures from memory are marked so.",
    TIMBER,
    "Before the first cut, measure the belt, the centre distance and every bought pulley; they decide, not this sheet.",
)


def has_timber(scenario: Scenario) -> bool:
    """Tell whether some cone is of timber, or may be, as nobody says what it is made of."""
    sides = [side for stage in scenario.stages if isinstance(stage, BeltStage) for side in (stage.driver, stage.driven)]
    return any({"timber", None} & side.materials for side in sides)


def cautions_of(scenario: Scenario) -> tuple[str, ...]:
    """Return the cautions that apply to a machine."""
    return tuple(said for said in CAUTIONS if said != TIMBER or has_timber(scenario))


def versions_of(*libraries: str) -> tuple[Version, ...]:
    """Return the versions of this program, of Python, of the libraries named."""
    found = [Version(name="conewright", version=_version("conewright"))]
    found.append(Version(name="python", version=platform.python_version()))
    return tuple(found + [Version(name=name, version=_version(name)) for name in libraries])


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def scenario_sheet(scenario: Scenario) -> ScenarioSheet:
    """Return what is repeated of the maker's statements."""
    return ScenarioSheet(
        title=scenario.title,
        note=scenario.note,
        units=scenario.units,
        file=scenario.name,
        text=scenario.text,
        sha256=scenario.sha256,
        defaults=tuple(DefaultSheet(**used._asdict()) for used in scenario.defaults),
        changed_limits=tuple(ChangedSheet(**changed._asdict()) for changed in scenario.changed_limits),
    )


def check_sheets(scenario: Scenario, built: BuiltMachine) -> tuple[CheckSheet, ...]:
    """Return every check of a machine."""
    return tuple(_sheet(check) for check in check_design(scenario, built))


def skipped_sheets(scenario: Scenario, built: BuiltMachine) -> tuple[SkippedSheet, ...]:
    """Return every check that could not be made."""
    return tuple(_skipped(item) for item in skipped_checks(scenario, built))


def finite(value: float) -> float | None:
    """Return a figure, or nothing where it is not one.

    Examples
    --------
    >>> finite(1.5), finite(float("nan"))
    (1.5, None)
    """
    return value if abs(value) < float("inf") else None


def _sheet(check: Check) -> CheckSheet:
    return CheckSheet(
        name=check.name,
        kind=check.kind,
        where=check.where,
        value=finite(check.value),
        limit=check.limit,
        margin=finite(check.margin),
        unit=check.unit,
        source=check.source,
        passed=check.passed,
        note=check.note,
    )


def _skipped(item: Skipped) -> SkippedSheet:
    return SkippedSheet(name=item.name, where=item.where, why=item.why)
