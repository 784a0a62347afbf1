"""What a design comes to and what it rests on: answer, verdict, defaults, changed limits, cautions, scenario."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.blocks import Table
from optimizer.documents.checks import check_summary, troubles
from optimizer.documents.figures import length, rpm
from optimizer.documents.html import Markup, html_table, inside, listing, part, tag
from optimizer.records.design import Design, ScenarioSheet

__all__ = [
    "answer_head",
    "answer_words",
    "cautions_part",
    "changed_table",
    "default_table",
    "defaults_part",
    "scenario_part",
    "troubles_part",
    "verdict_words",
]


TITLES = {
    "failed": "Failed checks, warnings",
    "warned": "Warnings",
    "passed": "No failed checks, no warnings",
}


def answer_words(design: Design) -> str:
    """Return layout, speeds, belts, largest disc, verdict in one sentence."""
    layout, speeds = design.layout, [speed.rpm for speed in design.machine.speeds]
    order = "" if layout.order == "one stage" else f", {layout.order}"
    span = " to ".join(dict.fromkeys((rpm(min(speeds)), rpm(max(speeds)))))
    count = "1 speed" if len(speeds) == 1 else f"{len(speeds)} speeds"
    shown = sum(speed.on_plate for speed in design.machine.speeds)
    count += f", {shown} of them on the plate" if shown < len(speeds) else ""
    belts = [stage.marking for stage in design.machine.stages]
    on = f"belt {belts[0]}" if len(belts) == 1 else f"belts {', '.join(belts[:-1])} and {belts[-1]}"
    units = design.scenario.units
    disc = f"largest disc {length(layout.largest_disc_mm, units)} {units}" if layout.turned_steps else "nothing to turn"
    return f"Layout {layout.name}{order}: {count}, {span} rpm, {on}, {disc}; {verdict_words(design)}."


def verdict_words(design: Design) -> str:
    """Return what all checks together say."""
    failed = len(design.failed)
    warned = sum(not check.passed for check in design.checks) - failed
    if failed:
        return f"{failed} of {len(design.checks)} checks FAILED: do not build it so"
    if warned:
        return f"no check failed, {warned} of {len(design.checks)} {'warns' if warned == 1 else 'warn'}"
    return f"all {len(design.checks)} checks passed"


def answer_head(design: Design) -> Iterator[Markup]:
    """Yield what stands below the title."""
    yield tag("p", answer_words(design), class_=f"answer {_state(design)}", id="answer")
    if design.scenario.note:
        yield tag("p", design.scenario.note, class_="note")


def troubles_part(design: Design) -> Markup:
    """Return the section of failed checks, warnings, what was not checked, remarks."""
    bad = list(troubles(design.checks, design.machine, design.scenario.units))
    content = [tag("p", f"{check_summary(design.checks)}.", class_=f"verdict {_state(design)}")]
    content.append(inside("ul", [tag("li", tag("strong", line)) for line in bad]) if bad else Markup(""))
    content.append(listing(design.remarks))
    content.append(
        tag(
            "p",
            "Figures are no guard: read the ",
            tag("a", "cautions", href="#cautions"),
            " before the first cut and before the first run.",
            class_="caution",
        )
    )
    return part("verdict", TITLES[_state(design)], content)


def _state(design: Design) -> str:
    if design.failed:
        return "failed"
    return "warned" if any(not check.passed for check in design.checks) else "passed"


def changed_table(scenario: ScenarioSheet) -> Table:
    """Return the limits that the maker set otherwise than the default."""
    rows = ((c.limit, c.value, c.default, c.reason) for c in scenario.changed_limits)
    return Table(("limit", "value", "default", "reason"), tuple(rows))


def default_table(scenario: ScenarioSheet) -> Table:
    """Return the values that nobody stated."""
    rows = ((d.key, d.value, d.source) for d in scenario.defaults)
    return Table(("key", "value", "source"), tuple(rows))


def defaults_part(design: Design) -> Markup:
    """Return the section of defaults used and limits changed."""
    scenario = design.scenario
    content = [tag("h3", "Limits that were changed")]
    if scenario.changed_limits:
        content.append(html_table(changed_table(scenario), "Limits set otherwise than the default"))
    else:
        content.append(tag("p", "None."))
    content.append(tag("h3", "Defaults used"))
    if scenario.defaults:
        content.append(html_table(default_table(scenario), "Values nobody stated"))
    else:
        content.append(tag("p", "None."))
    return part("defaults", "Defaults and limits", content)


def cautions_part(cautions: tuple[str, ...]) -> Markup:
    """Return the section of cautions."""
    return part("cautions", "Cautions", [listing(cautions, class_="cautions")])


def scenario_part(design: Design) -> Markup:
    """Return the section of the scenario as it was read, with the versions of what read it."""
    scenario = design.scenario
    versions = ", ".join(f"{item.name} {item.version}" for item in design.versions)
    return part(
        "scenario",
        "The scenario itself",
        [
            tag("p", f"File {scenario.file}, sha256 ", tag("code", scenario.sha256), "."),
            tag("pre", Markup("\n"), scenario.text, tabindex="0", aria_label="Text of the scenario", role="group"),
            tag("p", f"Made with {versions}."),
        ],
    )
