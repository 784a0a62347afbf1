"""What the design rests on: defaults, changed limits, cautions, the scenario itself."""

from __future__ import annotations

from optimizer.papers.html_table import html_table
from optimizer.papers.markup import Markup, listing, tag
from optimizer.papers.page import part
from optimizer.records.design import Design
from optimizer.report.design_tables import changed_table, default_table

__all__ = ["cautions_part", "defaults_part", "scenario_part"]


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
