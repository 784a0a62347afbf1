"""The scenario reference, made from the models that read a scenario."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, get_args

from optimizer.catalogue.lines import shifts
from optimizer.catalogue.sections import section, section_names
from optimizer.quantities.kinds import (
    ANGLE,
    COORDINATE,
    FORCE,
    INERTIA,
    LENGTH,
    MASS,
    NUMBER,
    POWER,
    RIM_SPEED,
    SHARE,
    SPEED,
    STRESS,
    TORQUE,
    Kind,
)
from optimizer.records.design import CheckSheet, Design
from optimizer.scenario import Scenario, scenario_schema
from optimizer.scenario.base import field_docstrings
from optimizer.scenario.stage import FixedStage
from optimizer.scenario.stated import Stated
from optimizer.scenario.values import quantity_of
from tests.docs.markup import joined, table
from tests.docs.pages import ROOT
from tests.docs.scenario_words import BUDGET, CLASSES, DIAMETERS, IN_HAND, KEYS, LINES, OPENING, PLACES, UNITS
from tests.docs.values import default_words, heading_of, value_words

__all__ = ["scenario_page"]

EXAMPLE = "scenarios/bench-drill.toml"
KINDS = (LENGTH, COORDINATE, SPEED, POWER, RIM_SPEED, ANGLE, MASS, FORCE, INERTIA, STRESS, TORQUE, SHARE, NUMBER)


def scenario_page(design: Design) -> str:
    """Return the page; the design gives an example of checks and of a travel budget."""
    schema = scenario_schema()
    tables = list(_tables(Scenario))
    parts = ["# Scenario", OPENING, "## A complete small example", _example(), "## Units", UNITS, _kinds()]
    parts += ["## Keys", KEYS, *(_keys(model, schema) for model in tables)]
    parts += ["## Places", PLACES]
    parts += ["## What is in hand", IN_HAND]
    parts += ["## Three classes of rule", CLASSES, _classes(design.checks)]
    parts += ["## How diameters are measured", DIAMETERS, _sections(), LINES]
    parts += ["## The travel budget", BUDGET, _budget(design)]
    return joined(*parts)


def _example() -> str:
    return f"```toml\n{(ROOT / EXAMPLE).read_text(encoding='utf-8')}```"


def _kinds() -> str:
    rows = []
    for kind in KINDS:
        bare = "the file's `units`" if kind in (LENGTH, COORDINATE) else kind.unit or "as it stands"
        rows.append((kind.name, bare, ", ".join(f"`{word}`" for word in kind.words), _written(kind)))
    return table(("kind", "a bare number is in", "unit words", "example"), rows)


def _written(kind: Kind) -> str:
    return " or ".join(f"`{part}`" for part in kind.example.replace(" or ", ", ").split(", "))


def _keys(model: type[Stated], schema: dict[str, Any]) -> str:
    """Return the section of one table of the file."""
    part = schema if model is Scenario else schema["$defs"][model.__name__]
    meanings, keys = field_docstrings(model), part["properties"]
    rows = []
    for name, field in model.model_fields.items():
        key, mark = field.alias or name, quantity_of(field)
        if key not in keys:
            continue
        value = value_words(field) + ("; limit" if mark is not None and mark.limit else "")
        default, source = default_words(name, field, measured_follows=model.__name__ == "Side")
        rows.append(
            (f"`{key}`", meanings[name].replace(" [mm]", "").split("; see `")[0].rstrip("."), value, default, source)
        )
    heads = ("key", "meaning", "value", "default", "source of the default")
    return joined(
        f"### {heading_of(model)}", "" if model is Scenario else str(model.__doc__).split("\n")[0], table(heads, rows)
    )


def _tables(model: type[Stated]) -> Iterator[type[Stated]]:
    """Yield a model and all models within it, each once, in the order of the fields."""
    seen: list[type[Stated]] = []
    queue = [model]
    while queue:
        first = queue.pop(0)
        if first not in seen:
            seen.append(first)
            queue += [inner for field in first.model_fields.values() for inner in _models(field.annotation)]
    yield from (m for m in seen if m is not FixedStage)
    yield FixedStage


def _models(annotation: Any) -> Iterator[type[Stated]]:
    if isinstance(annotation, type) and issubclass(annotation, Stated):
        yield annotation
    for part in get_args(annotation):
        yield from _models(part)


def _classes(checks: Sequence[CheckSheet]) -> str:
    """Return the checks of a design by class, each name once."""
    rows: dict[tuple[str, str], tuple[str, str, str, str]] = {}
    for kind in ("impossible", "limit", "advice"):
        for check in checks:
            if check.kind == kind:
                rows.setdefault((kind, check.name), (kind, check.name, check.unit, check.source))
    return table(("class", "check", "unit", "where the limit comes from"), rows.values())


def _sections() -> str:
    rows = []
    for name in section_names():
        belt = section(name)
        lines = shifts(belt, "flat" if belt.kind == "flat" else "v")
        pins = f"{belt.pins.pin_mm:.4g} mm pins" if belt.pins else ""
        pins += f", +{belt.pins.take_off_mm:g}" if belt.pins and belt.pins.take_off_mm else ""
        figures = (lines.outside_less_datum, lines.pitch_less_datum)
        usual = f"{belt.preferred_datum_mm:.4g}"
        shifted = [f"{figure:+.4g}" if abs(figure) > 1e-9 else "0" for figure in figures]
        given = "outside" if belt.kind == "flat" else belt.default_measured
        rows.append((name, belt.title, given, *shifted, pins, f"{belt.smallest_datum_mm:.4g}", usual))
    heads = ("section", "belt", "`measured`", "outside", "pitch", "over pins", "smallest", "usual smallest")
    return table(heads, rows)


def _budget(design: Design) -> str:
    (stage, *_) = design.machine.stages
    keys = ("`tolerance`", "`stretch`", "`climb`")
    rows = [
        (key, line.name, f"{line.amount_mm:.1f} mm", line.source)
        for key, line in zip(keys, stage.centres.budget[-len(keys) :], strict=True)
    ]
    return table(("key", "travel for", f"on belt {stage.marking}", "source"), rows)
