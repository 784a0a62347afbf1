"""The parts of docs/machines.md that are made: what every machine's design gives, with its speed chart."""

from __future__ import annotations

import re

from optimizer.documents.chart_text import chart_text
from optimizer.documents.design_sheet import speed_chart_of
from optimizer.documents.figures import rpm
from optimizer.quantities.written import percent
from tests.docs.markup import with_blocks
from tests.docs.pages import ROOT
from tests.jobs import job

__all__ = ["machines_page", "machines_shown"]

PAGE = ROOT / "docs/machines.md"


def machines_page() -> str:
    """Return the page with its made blocks renewed."""
    text = PAGE.read_text(encoding="utf-8")
    return with_blocks(text, {name.replace("-", " "): _block(name) for name in machines_shown(text)})


def machines_shown(text: str) -> list[str]:
    """Return the names of the shipped scenarios that have a block on the page."""
    return [name.replace(" ", "-") for name in re.findall(r"<!-- begin ([a-z ]+) -->", text)]


def _block(name: str) -> str:
    made = job(name)
    design = made.design
    speeds = ", ".join(rpm(speed.rpm) for speed in design.machine.speeds)
    said = (
        f"`conewright design scenarios/{name}.toml`: layout {design.layout.name}, {design.layout.order}; "
        f"{len(design.machine.speeds)} speeds, {design.layout.turned_steps} steps to turn; end miss "
        f"{percent(design.series.end_miss)}, unevenness {percent(design.series.unevenness)}; {design.proof.status} "
        f"over the listed sizes. Speeds: {speeds} rpm."
    )
    return f"{_wrapped(said)}\n\n```\n{chart_text(speed_chart_of(made)).rstrip()}\n```"


def _wrapped(text: str) -> str:
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > 118:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return "\n".join(lines)
