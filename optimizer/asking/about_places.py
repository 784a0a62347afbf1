"""Questions about belts and where the shafts are."""

from __future__ import annotations

import re
from collections.abc import Iterator

from optimizer.asking.answer import (
    NONE,
    Amount,
    Amounts,
    Answer,
    Answers,
    OrNone,
    Span,
    Suggestion,
    Text,
    Word,
    Written,
    with_unit,
)
from optimizer.asking.machine import has_countershaft, locked, moved, span_mm, travel_mm, variants
from optimizer.asking.question import Named, Question, Stock, round_up
from optimizer.catalogue.entry import CatalogueError, Section
from optimizer.catalogue.lengths import series_of
from optimizer.catalogue.sections import section, section_names
from optimizer.quantities import LENGTH, QuantityError, show_length

__all__ = ["BELTS", "LINKED", "PLACES", "InHand", "section_of_width"]

BELTS_PART = "The belts"
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
        BELTS_PART,
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
        BELTS_PART,
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


PART = "Belts and places"
CENTRES_WHY = (
    "Between the middles of the two shafts, the least and the greatest that the frame allows. The wider the span, "
    "the more belts of a series can be used. Short centres give little wrap, long ones take room."
)
TRAVEL_WHY = (
    "How far the mount lets this distance change. It pays for the belt's tolerance, for its stretch over life, for "
    "climbing from step to step, and for the positions' own centre distances; too little leaves no design."
)


class Lengths:
    """Reads belt lengths: stock, link, or a list."""

    many = False

    def read(self, value: Written, units: str) -> Answer:
        """Return a word, or the lengths."""
        if isinstance(value, str) and value.strip()[:1].isalpha():
            return Word(("stock", "link")).read(value, units)
        found = Amounts(LENGTH).read(value, units)
        if not isinstance(found.value, tuple) or not found.value:
            raise QuantityError("no length is stated", str(value), "stock, link, or lengths parted by commas")
        return found

    def shown(self, written: Written, units: str) -> str:
        """Return them as a person reads them."""
        return str(written) if written in ("stock", "link") else Amounts(LENGTH).shown(written, units)


def _lengths(answers: Answers) -> Suggestion:
    name = section(answers.word("section") or "A").name
    if locked(answers):
        return Suggestion("link", "a belt that nothing slackens must be joined on the spot")
    if not series_of(section(name)):
        return Suggestion("link", "belts of this section are joined from any length")
    return Suggestion("stock", "belts that shops keep cost the least")


def _measured(answers: Answers) -> Suggestion:
    name = answers.word("section")
    if name in ("3L", "4L", "5L"):
        return Suggestion("outside", "light-duty belts are numbered by their outside length")
    return Suggestion("datum", "metric belts are marked with their datum length")


def _slackened_asked(answers: Answers) -> bool:
    return locked(answers) and (answers.word("belt_lengths") != "link" or bool(answers.stock("belts_in_hand")))


def _centres(answers: Answers) -> Suggestion:
    low, high = span_mm(answers)
    units = answers.units
    return Suggestion(
        (round_up(low, units), round_up(high, units)),
        "three quarters of the largest and smallest diameter together, and room for several belts; GOST 1284.3-96, "
        "read, asks for 0.7 to 2 times the two diameters"
        if not answers.reals("belt_lengths")
        else "what the listed belts span around these cones",
    )


def _centres_second(answers: Answers) -> Suggestion:
    first = answers.written("centres")
    return Suggestion(first, "as the first belt") if first is not None else _centres(answers)


def _travel(answers: Answers, centres: str) -> Suggestion:
    greatest = max(answers.reals(centres), default=span_mm(answers)[1])
    size = round_up(travel_mm(answers, greatest), answers.units)
    return Suggestion(size, "what tolerance, stretch and fitting of the longest belt take, and some for the positions")


def _first_moves(answers: Answers) -> bool:
    return any(moved(answers, countershaft=middle)[0] for middle in variants(answers))


def _second_moves(answers: Answers) -> bool:
    return has_countershaft(answers) and moved(answers, countershaft=True)[1]


PLACES = (
    Question(
        "belt_lengths",
        PART,
        "Belt lengths: stock, link (joined to any length), or those that can be had",
        "Stock means the series that shops keep of the section. Link belt is made up to any length, in sections "
        f"{', '.join(LINKED)}; round and flat belts are joined as well. A list names the belts on the nail.",
        Lengths(),
        "stock",
        suggests=_lengths,
    ),
    Question(
        "belts_in_hand",
        PART,
        "Lengths of belts of this section on the nail, or none",
        "They are preferred to bought ones where that gives up little, and the result tells how much. 2 x 1120 are "
        "two alike.",
        OrNone(Stock(LENGTH, open_ended=False)),
        "1000, 2 x 1120 mm",
        suggests=lambda _: Suggestion(NONE, "then belts are bought"),
    ),
    Question(
        "belt_measured",
        PART,
        "Where these lengths were measured: datum, inside, outside",
        "A tape around the outside of a belt reads outside; classical inch numbers such as A46 are inside inches; "
        "metric belts are marked with their datum length.",
        Word(("datum", "inside", "outside")),
        "outside",
        suggests=_measured,
        asked=lambda answers: bool(answers.reals("belt_lengths") or answers.stock("belts_in_hand")),
    ),
    Question(
        "slackened",
        PART,
        "How is the belt of shafts that do not move slackened",
        "A belt of a set length between shafts that stay where they are can neither be put on nor changed. An "
        "idler, shims under the motor, whatever is done; it is printed in the result.",
        Text(),
        "shims under the motor's feet",
        asked=_slackened_asked,
    ),
    Question(
        "centres",
        PART,
        "Centre distance from the motor to the next shaft, least to greatest",
        CENTRES_WHY,
        Span(LENGTH),
        "240 to 340 mm",
        suggests=_centres,
    ),
    Question(
        "travel",
        PART,
        "Travel of the mount that tightens this belt",
        TRAVEL_WHY,
        Amount(LENGTH),
        "80 mm",
        suggests=lambda answers: _travel(answers, "centres"),
        asked=_first_moves,
    ),
    Question(
        "centres_second",
        PART,
        "Centre distance from the countershaft to the spindle, least to greatest",
        CENTRES_WHY,
        Span(LENGTH),
        "240 to 340 mm",
        suggests=_centres_second,
        asked=has_countershaft,
    ),
    Question(
        "travel_second",
        PART,
        "Travel of the mount that tightens the belt to the spindle",
        TRAVEL_WHY,
        Amount(LENGTH),
        "80 mm",
        suggests=lambda answers: _travel(answers, "centres_second"),
        asked=_second_moves,
    ),
)
"""Questions about places, in their order."""
