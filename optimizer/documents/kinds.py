"""The kinds of papers there are, with the files of each."""

from __future__ import annotations

import re
from enum import StrEnum

__all__ = ["SAID", "WHY_NONE", "Kind", "PaperSize", "is_paper"]


class Kind(StrEnum):
    """A kind of papers, as it is asked for."""

    SHEET = "sheet"
    CUTS = "cuts"
    BUYING = "buying"
    SAWING = "sawing"
    SECTIONS = "sections"
    GAUGES = "gauges"
    DISCS = "discs"
    LAYOUT = "layout"
    PLATE = "plate"
    CARD = "card"


class PaperSize(StrEnum):
    """A size of pages."""

    A4 = "A4"
    A3 = "A3"
    LETTER = "Letter"


SAID = {
    Kind.SHEET: "the design sheet, one page of HTML with all of it",
    Kind.CUTS: "the cut list with the order of work: page, CSV, JSON",
    Kind.BUYING: "the buying list: page, CSV, JSON",
    Kind.SAWING: "squares nested on the sheets they are sawn from",
    Kind.SECTIONS: "every turned cone in half section, 1:1, with all sizes",
    Kind.GAUGES: "profile gauges, 1:1, to cut from card",
    Kind.DISCS: "bore and centre templates, 1:1, for every disc",
    Kind.LAYOUT: "shafts and belts to scale at one speed",
    Kind.PLATE: "the speed plate for the machine's door",
    Kind.CARD: "the inspection card",
}
"""What each is."""
NOTHING_TURNED = "nothing is turned"
WHY_NONE = {
    Kind.SAWING: "nothing is glued from layers of a stated thickness (making.layer)",
    Kind.SECTIONS: NOTHING_TURNED,
    Kind.GAUGES: NOTHING_TURNED,
    Kind.DISCS: NOTHING_TURNED,
}
"""Why a machine has none of some."""
DRAWN = "|".join(
    (
        r"sawing-plan(-\d+)?",
        r"stage-\d+-(driver|driven)-(section|gauge|disc(-\d+)?)",
        "belt-layout",
        "speed-plate",
        "inspection-card",
    )
)
NAME = re.compile(rf"design-sheet\.html|(cuts|buying)\.(html|csv|json)|({DRAWN})\.(svg|pdf|dxf)")


def is_paper(name: str) -> bool:
    """Tell whether a file has the name of a paper.

    Examples
    --------
    >>> is_paper("stage-1-driver-section.pdf"), is_paper("my notes.txt")
    (True, False)
    """
    return bool(NAME.fullmatch(name))
