"""What a design comes to and what it rests on: answer, verdict, cautions, changed limits, defaults, scenario."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.documents.blocks import (
    MARKDOWN,
    PAGE,
    TERMINAL,
    Block,
    Lines,
    Rank,
    Rows,
    Section,
    Text,
    Verbatim,
    table_of,
)
from optimizer.documents.checks import check_summary, troubles
from optimizer.documents.figures import counted, length, rpm
from optimizer.documents.proof import layout_words
from optimizer.pipeline.job import CHANGED
from optimizer.records.design import Design, Version

__all__ = [
    "answer_lead",
    "answer_words",
    "basis_sections",
    "cautions_of",
    "made_from",
    "remark_sections",
    "verdict_section",
    "verdict_words",
]

TITLES = {
    "failed": "Failed checks, warnings",
    "warned": "Warnings",
    "passed": "No failed checks, no warnings",
}


def answer_lead(design: Design, *, changed: bool = False) -> Iterator[Block]:
    """Yield what stands below the title."""
    if changed:
        yield Text(f"{CHANGED}.", look="answer failed", only=PAGE)
    yield Text(layout_words(design), rank=Rank.ANSWER, only=TERMINAL)
    yield Text(answer_words(design), look=f"answer {_state(design)}", anchor="answer", only=PAGE)
    if design.scenario.note:
        yield Text(design.scenario.note, look="note")
    yield Text(f"{layout_words(design)}.", only=MARKDOWN)
    if bad := list(troubles(design.checks, design.machine, design.scenario.units)):
        yield Lines(bad, look="loud", only=MARKDOWN)


def answer_words(design: Design) -> str:
    """Return layout, speeds, belts, largest disc, verdict in one sentence."""
    layout, speeds = design.layout, [speed.rpm for speed in design.machine.speeds]
    order = "" if layout.order == "one stage" else f", {layout.order}"
    span = " to ".join(dict.fromkeys((rpm(min(speeds)), rpm(max(speeds)))))
    count = counted(len(speeds), "speed")
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


def verdict_section(design: Design) -> Section:
    """Return for a page the failed checks, warnings, remarks."""
    blocks = (
        Text(f"{check_summary(design.checks)}.", look=f"verdict {_state(design)}"),
        Lines(list(troubles(design.checks, design.machine, design.scenario.units)), look="loud"),
        Lines(design.remarks),
        Text(
            "Figures are no guard: read the cautions before the first cut and before the first run.",
            look="caution",
            marked="cautions",
            href="#cautions",
        ),
    )
    return Section(TITLES[_state(design)], blocks, anchor="verdict", only=PAGE)


def _state(design: Design) -> str:
    if design.failed:
        return "failed"
    return "warned" if any(not check.passed for check in design.checks) else "passed"


def cautions_of(cautions: Sequence[str]) -> Section:
    """Return what is to be read before anything is built, as it stands before all else."""
    blocks = [Lines(cautions, only=MARKDOWN), Lines(cautions, look="cautions", only=PAGE)]
    return Section("Before you build", blocks, anchor="before")


def basis_sections(design: Design, cautions: Sequence[str]) -> Iterator[Section]:
    """Yield remarks, limits that were changed, defaults, cautions, the scenario, versions."""
    scenario, versions = design.scenario, design.versions
    limits = table_of(
        scenario.changed_limits,
        ("limit", lambda changed: changed.limit),
        ("value", lambda changed: changed.value),
        ("default", lambda changed: changed.default),
        ("reason", lambda changed: changed.reason),
    )
    defaults = table_of(
        scenario.defaults,
        ("key", lambda default: default.key),
        ("value", lambda default: default.value),
        ("source", lambda default: default.source),
    )
    none = [Text("None.", only=PAGE)]
    parts = (
        Section(
            "Limits that were changed",
            [Rows(limits, "Limits set otherwise than the default")] if limits.rows else none,
        ),
        Section("Defaults used", [Rows(defaults, "Values nobody stated")] if defaults.rows else none),
    )
    yield from remark_sections(design.remarks)
    yield Section("", parts, only=MARKDOWN)
    yield Section("Defaults and limits", parts, anchor="defaults", only=PAGE)
    yield Section("Cautions", [Lines(cautions, look="cautions")], anchor="cautions", only=PAGE)
    named = [f"{item.name} {item.version}" for item in versions]
    blocks = (
        Text(f"File {scenario.file}, sha256 {scenario.sha256}.", marked=scenario.sha256),
        Verbatim("Text of the scenario", scenario.text),
        Text(f"Made with {', '.join(named)}."),
    )
    yield Section("The scenario itself", blocks, anchor="scenario", only=PAGE)
    yield made_from(f"scenario sha256 {scenario.sha256}", versions=versions)


def remark_sections(remarks: Sequence[str]) -> Iterator[Section]:
    """Yield for Markdown what is to be remarked, where anything is."""
    if remarks:
        yield Section("Remarks", [Lines(remarks)], only=MARKDOWN)


def made_from(*sources: str, versions: Sequence[Version]) -> Section:
    """Return for Markdown what a document was made from, and by which versions."""
    return Section("Made from", [Lines([*sources, *(f"{v.name} {v.version}" for v in versions)])], only=MARKDOWN)
