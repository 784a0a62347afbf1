"""Questions about the belts, and the sections that are suggested."""

from __future__ import annotations

import re
from collections.abc import Iterator

from optimizer.asking.answer import Answer, Answers, Suggestion, Written
from optimizer.asking.named import Named
from optimizer.asking.question import Question
from optimizer.asking.reading import NONE, Amount, OrNone, with_unit
from optimizer.catalogue.entry import CatalogueError, Section
from optimizer.catalogue.sections import section, section_names
from optimizer.quantities import LENGTH, QuantityError, show_length

__all__ = ["BELTS", "LINKED", "InHand", "section_of_width"]

PART = "The belts"
LINKED = ("Z", "A", "B", "3L", "4L", "5L")
WIDTH_MISS_MM = 1.2
"""How far a worn or badly measured belt may differ from its section's width; judgement."""
METRIC = ((0.37, "Z"), (3.0, "A"), (float("inf"), "B"))
INCH = ((0.25, "3L"), (1.15, "4L"), (3.0, "A"), (float("inf"), "B"))
"""Sections up to a motor's power [kW]; judgement."""


class InHand:
    """Reads a belt in hand: the section printed on it, a marking such as A46, or the width of its top."""

    many = False

    def read(self, value: Written, units: str) -> Answer:
        """Return the name of the section."""
        text = str(value).strip() if not isinstance(value, tuple) else ""
        named = re.fullmatch(r"(SPZ|[345]L|AX|BX|[ZAB])[\s-]*[\d.]*", text.upper())
        if named:
            return Answer(text, named[1])
        try:
            return Answer(text, section(text).name)
        except CatalogueError:
            pass
        written, width_mm = _width(value, units)
        found = section_of_width(width_mm, units)
        if found is None:
            raise QuantityError(
                "no section is as wide as this",
                with_unit(written, LENGTH, units),
                "8.5 to 18 mm over the top, or a section's name",
                "measure across the widest part, the outside of the belt",
            )
        return Answer(written, found.name)

    def shown(self, written: Written, units: str) -> str:
        """Return it as a person reads it."""
        return with_unit(written, LENGTH, units) if not isinstance(written, str) else written


def _width(value: Written, units: str) -> tuple[Written, float]:
    answer = Amount(LENGTH).read(value, units)
    return answer.written, answer.value if isinstance(answer.value, float) else 0.0


def section_of_width(width_mm: float, units: str) -> Section | None:
    """Return the V-belt section that is as wide over its top, light-duty ones where inches are used.

    Examples
    --------
    >>> [section_of_width(width, "mm").name for width in (10.2, 12.8, 16.6)]
    ['Z', 'A', 'B']
    >>> section_of_width(12.7, "in").name, section_of_width(25, "mm") is None
    ('4L', True)
    """
    names = ("3L", "4L", "5L") if units == "in" else ("Z", "A", "B")
    near = min(map(section, names), key=lambda one: abs(one.top_mm - width_mm))
    return near if abs(near.top_mm - width_mm) <= WIDTH_MISS_MM else None


def _section(answers: Answers) -> Suggestion:
    belt = answers.word("belt_in_hand")
    if belt:
        return Suggestion(belt, "as the belt in hand")
    power = answers.real("motor_power") or 0.55
    rows = INCH if answers.units == "in" else METRIC
    name = next(name for most, name in rows if power <= most)
    return Suggestion(name, f"usual for {power:.2g} kW on small machines; judgement")


def _on_belt(answers: Answers) -> Iterator[str]:
    if answers.word("belt_in_hand"):
        belt = section(answers.word("belt_in_hand"))
        size = f"{show_length(belt.top_mm, answers.units)} over the top"
        yield f"That is section {belt.name}, {size}: {belt.title}."


def _on_section(answers: Answers) -> Iterator[str]:
    belt = section(answers.word("section"))
    yield (
        f"Section {belt.name} bends around no less than {show_length(belt.smallest_datum_mm, answers.units)} on its "
        f"datum line ({belt.smallest_source})."
    )


BELTS = (
    Question(
        "belt_in_hand",
        PART,
        "A belt in hand: its marking, or its width over the top; or none",
        "From the width of a V-belt follows its section: about 10 mm is Z, 13 mm is A, 17 mm is B; 3/8 in is 3L, "
        "1/2 in is 4L, 5/8 in is 5L. A marking such as A46 or 4L460 tells it as well. A worn belt is narrower.",
        OrNone(InHand()),
        "13 mm",
        suggests=lambda _: Suggestion(NONE, "then a section is suggested by the motor's power"),
        remarks=lambda answers: tuple(_on_belt(answers)),
    ),
    Question(
        "section",
        PART,
        "Section of the belts",
        "The section sets how small the smallest step may be, how wide the grooves are, what a belt carries. A "
        "larger section carries more, and needs larger steps. Known are " + ", ".join(section_names()) + "; the "
        "last ones with a size of your own.",
        Named(lambda name: section(name).name),
        "A",
        suggests=_section,
        remarks=lambda answers: tuple(_on_section(answers)),
    ),
)
"""Questions about the belts' section, which bears on all that follows."""
