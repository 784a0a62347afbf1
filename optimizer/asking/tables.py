"""The scenario that the answers come to, table by table, as commented TOML."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import wrap

from optimizer.asking.about_places import LINKED
from optimizer.asking.answer import Answers, Plain, Stocked, Wanted, Written
from optimizer.asking.machine import moved, positions_of, rounded_rpm, spans_of, wants_of
from optimizer.asking.purposes import purpose_named
from optimizer.asking.question import round_down, round_up
from optimizer.catalogue.lines import shifts
from optimizer.catalogue.sections import section

__all__ = ["Line", "Table", "comment_lines", "scenario_tables", "scenario_text", "toml_key", "toml_value"]

WIDTH = 98
_ESCAPES = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"}


def toml_value(value: Written) -> str:
    r"""Write a value so that reading it gives the same one.

    Examples
    --------
    >>> toml_value('9 1/2 in'), toml_value(240), toml_value((0.5, '3/4"')), toml_value(True), toml_value('a\\b')
    ('"9 1/2 in"', '240', '[0.5, "3/4\\""]', 'true', '"a\\\\b"')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{"".join(map(_escaped, value))}"'
    if isinstance(value, tuple):
        return f"[{', '.join(map(toml_value, value))}]"
    return repr(value)


def toml_key(key: str) -> str:
    """Write a key, in quotes where it must be."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else toml_value(key)


def comment_lines(text: str) -> Iterator[str]:
    """Yield a text as lines of a comment, without characters that a comment may not hold."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    for line in wrap(plain, WIDTH, break_long_words=False, break_on_hyphens=False):
        yield f"# {line}"


def _escaped(character: str) -> str:
    if character in _ESCAPES:
        return _ESCAPES[character]
    code = ord(character)
    if code < 0x20 or code == 0x7F:
        return f"\\u{code:04X}"
    return character


@dataclass(frozen=True)
class Line:
    """A key with its value."""

    key: str
    value: Written
    means: str
    """What it is, in words."""
    question: str
    """The question whose answer it is, or follows from."""
    own: bool = True
    """Whether it is the maker's to choose, and not a name that the tables refer to each other by."""


@dataclass(frozen=True)
class Table:
    """A table of the scenario."""

    header: str
    """As it stands in the file, `[motor]`; empty at the top."""
    place: str
    """Where its keys are, `stage[0]`."""
    about: str
    """What it is, in words."""
    lines: tuple[Line, ...]


def scenario_tables(answers: Answers, *, countershaft: bool) -> tuple[Table, ...]:
    """Return the tables of the machine, one with or without a countershaft."""
    return (
        Table("", "", "", tuple(_top(answers))),
        Table("[motor]", "motor", "The motor, from its plate.", tuple(_motor(answers))),
        *_bands(answers),
        *_series(answers),
        *_work(answers),
        Table("[making]", "making", "What the shop can make.", tuple(_making(answers))),
        *_in_hand(answers),
        *_shafts(answers, countershaft=countershaft),
        *_stages(answers, countershaft=countershaft),
    )


def _top(answers: Answers) -> Iterator[Line]:
    yield Line("title", answers.word("title"), "What the machine is called, on every paper.", "title")
    yield Line("units", answers.units, "Lengths without a unit are in these.", "units")


def _motor(answers: Answers) -> Iterator[Line]:
    yield from _stated(answers, "motor_speed", "speed", "Speed at full load.")
    yield from _stated(answers, "motor_idle", "idle", "Speed without load, to which what can burst is held.")
    yield from _stated(answers, "motor_slower", "slower", "Slower speeds that it can be switched to.")
    yield from _stated(answers, "motor_power", "power", "Rated power, given off at the shaft.")
    yield from _stated(answers, "motor_frame", "frame", "Frame size, which tells the diameter of the shaft.")
    yield from _stated(answers, "motor_stand", "plate", "What it stands on reaches under its pulleys, or does not.")


def _bands(answers: Answers) -> Iterator[Table]:
    by_sizes = answers.word("speeds_by") == "sizes"
    wants = wants_of(answers)
    for number, (work, span) in enumerate(spans_of(answers)):
        question = "sizes" if by_sizes else "bands"
        low, high = work.written
        if by_sizes:
            low, high = rounded_rpm(span.slowest_rpm), rounded_rpm(span.fastest_rpm)
        lines = [
            Line("name", work.name, "What the band is for.", question),
            Line("from", low, "Slowest speed [rpm].", question),
            Line("to", high, "Fastest speed [rpm].", question),
            Line("want", wants[number], _want_means(work), question if work.want else "speeds"),
        ]
        if by_sizes:
            lines += _sized(answers, work)
        yield Table("[[band]]", f"band[{number}]", "", tuple(lines))


def _want_means(work: Wanted) -> str:
    counted = "" if work.want else ", as an even series of that many speeds has there"
    return f"At least so many speeds in it{counted}."


def _sized(answers: Answers, work: Wanted) -> Iterator[Line]:
    """Yield what the speeds of a band were worked out from, so that the papers tell it too."""
    yield Line("work", work.written, "Diameters that turn, from which the speeds above were worked out.", "sizes")
    surface = work.surface_written or answers.written("surface_speed")
    if surface is not None:
        own = "sizes" if work.surface_written else "surface_speed"
        yield Line("surface_speed", surface, "Speed wanted along their surface.", own)


def _series(answers: Answers) -> Iterator[Table]:
    lines = tuple(_stated(answers, "never_above", "never_above", "The spindle never runs faster."))
    if lines:
        yield Table("[series]", "series", "What all speeds must keep.", lines)


def _work(answers: Answers) -> Iterator[Table]:
    purpose = purpose_named(answers.word("purpose"))
    lines = []
    if purpose.duty != 1.0:
        means = "Raises what belts must carry for rough work: GOST 1284.3-96, read."
        lines.append(Line("duty", purpose.duty, means, "purpose"))
    if purpose.name == "faceplate" and answers.word("speeds_by") != "sizes":
        means = "The papers tell which diameters of wood suit every speed."
        lines.append(Line("wood_turning", True, means, "purpose"))
    if lines:
        yield Table("[work]", "work", "The work, whatever the speed.", tuple(lines))


def _making(answers: Answers) -> Iterator[Line]:
    yield from _stated(answers, "largest_blank", "largest_blank", "The largest disc that can be glued up and swung.")
    yield from _stated(answers, "truing", "truing", "Diameter lost in turning a blank true.")
    yield from _stated(answers, "turn_to", "turn_to", "Finest difference of diameters that is turned.")
    if answers.units == "in":
        means = "Sizes that are tried at first are this far apart; they are refined afterwards."
        yield Line("grid", "3/16", means, "turn_to")
    yield from _stated(answers, "layer", "layer", "Thickness of one glued layer; steps are whole layers wide.")


def _in_hand(answers: Answers) -> Iterator[Table]:
    belt = Line("section", answers.word("section"), "Section of belt that it takes.", "section")
    for number, sheave in enumerate(one for one in answers.stock("sheaves") if one.count is not None):
        lines = (belt, Line("steps", sheave.written, "Diameters of its grooves.", "sheaves"), _count(sheave, "sheaves"))
        yield Table("[[in_hand.sheave]]", f"in_hand.sheave[{number}]", "A sheave in the drawer.", lines)
    for number, disc in enumerate(one for one in answers.stock("discs") if one.count is not None):
        size = Line("diameter", disc.written[0], "Before it is trued.", "discs")
        yield Table(
            "[[in_hand.disc]]", f"in_hand.disc[{number}]", "A disc on the shelf.", (size, _count(disc, "discs"))
        )
    for number, there in enumerate(answers.stock("belts_in_hand")):
        own = [
            Line("section", answers.word("section"), "Its section.", "section"),
            Line("length", there.written[0], "Its length.", "belts_in_hand"),
            *_stated(answers, "belt_measured", "measured", "Where the length was measured."),
            _count(there, "belts_in_hand"),
        ]
        yield Table("[[in_hand.belt]]", f"in_hand.belt[{number}]", "A belt on the nail.", tuple(own))


def _count(thing: Stocked, question: str) -> Line:
    return Line("count", thing.count or 1, "How many there are of it.", question)


def _shafts(answers: Answers, *, countershaft: bool) -> Iterator[Table]:
    names = ("motor", "countershaft", "spindle") if countershaft else ("motor", "spindle")
    for number, name in enumerate(names):
        lines = [Line("name", name, "Its name, by which the stages refer to it.", "shafts", own=False)]
        diameter = "motor_shaft" if name == "motor" else f"{name}_diameter"
        lines += _stated(answers, diameter, "diameter", "Diameter of the shaft where its cone sits.")
        lines += _stated(answers, f"{name}_room", "room", "Length of shaft for all that sits on it.")
        if f"{name}_mount" in answers:
            means = "How it is moved to tighten a belt: fixed, slide, hinge."
            lines += _stated(answers, f"{name}_mount", "mount", means)
        if name == "motor" and countershaft and answers.flag("motor_rides"):
            lines.append(Line("on", "countershaft", "It rides on what carries this shaft.", "motor_rides"))
        yield Table("[[shaft]]", f"shaft[{number}]", "", tuple(lines))


def _stages(answers: Answers, *, countershaft: bool) -> Iterator[Table]:
    moves = moved(answers, countershaft=countershaft)
    numbers = positions_of(answers, countershaft=countershaft)
    ends = (("motor", "countershaft"), ("countershaft", "spindle")) if countershaft else (("motor", "spindle"),)
    for number, (start, end) in enumerate(ends):
        suffix = "_second" if number else ""
        lines = [
            Line("from", start, "The shaft that pulls.", "shafts", own=False),
            Line("to", end, "The shaft that is pulled.", "shafts", own=False),
            Line("positions", _one_or_all(numbers[number]), "Numbers of steps that may be tried.", "speeds"),
            *_stated(answers, f"centres{suffix}", "centres", "Least and greatest centre distance."),
        ]
        if moves[number]:
            lines += _stated(answers, f"travel{suffix}", "travel", "Travel of the mount, for all that belts ask of it.")
        elif "slackened" in answers:
            lines += _stated(answers, "slackened", "slackened", "How the belt is slackened.")
        yield Table("[[stage]]", f"stage[{number}]", f"The belt from {start} to {end}.", tuple(lines))
        yield Table("[stage.belt]", f"stage[{number}].belt", "", tuple(_belt(answers)))
        for side in ("driver", "driven"):
            drawer = side == "driver" and number == 0
            lines_of_side = tuple(_side(answers, drawer=drawer))
            yield Table(f"[stage.{side}]", f"stage[{number}].{side}", _about_side(side), lines_of_side)


def _about_side(side: str) -> str:
    return "The pulley that pulls." if side == "driver" else "The pulley that is pulled."


def _belt(answers: Answers) -> Iterator[Line]:
    yield from _stated(answers, "section", "section", "Section of the belt.")
    lengths = answers.written("belt_lengths")
    if lengths == "link":
        yield Line("lengths", "any", "Joined to any length.", "belt_lengths")
        if answers.word("section") in LINKED:
            yield Line("link", True, "It is link belt.", "belt_lengths")
    elif lengths is not None:
        yield Line("lengths", lengths, "Lengths to choose from.", "belt_lengths")
        if answers.reals("belt_lengths"):
            yield from _stated(answers, "belt_measured", "measured", "Where these lengths were measured.")


def _side(answers: Answers, *, drawer: bool) -> Iterator[Line]:
    sheaves, discs = answers.stock("sheaves"), answers.stock("discs")
    sale = tuple(one.written[0] for one in sheaves if one.count is None)
    if drawer and sale:
        yield Line("ready", sale, "Sheaves that may be used as they are.", "sheaves")
    if any(one.count is not None for one in sheaves):
        yield Line("sheaves_in_hand", True, "Sheaves in the drawer may be used.", "sheaves")
    if discs:
        sizes = tuple(one.written[0] for one in discs if one.count is None)
        if sizes:
            yield Line("blanks", sizes, "Discs that steps are turned from, as many as it takes.", "discs")
        if len(sizes) < len(discs):
            yield Line("discs_in_hand", True, "Steps are turned from the discs on the shelf.", "discs")
    else:
        means = "Any diameter between these is turned: the least for the belt, the most from the largest disc."
        yield Line("free", _free(answers), means, "largest_blank")
    if answers.word("steps") not in ("", "timber"):
        yield Line("material", answers.word("steps"), "What turned steps are made of.", "steps")


def _free(answers: Answers) -> tuple[Plain, Plain]:
    """Return the smallest and the largest step that can be turned, on the line that the section is measured on."""
    belt = section(answers.word("section"))
    over = shifts(belt).outside_less_datum
    line = 0.0 if belt.default_measured == "datum" else over
    most = (answers.real("largest_blank") or 0.0) - (answers.real("truing") or 0.0) - over + line
    return round_up(belt.smallest_datum_mm + line, answers.units), round_down(most, answers.units)


def _stated(answers: Answers, name: str, key: str, means: str) -> Iterator[Line]:
    """Yield the line of an answer, nothing where the maker has none."""
    written = answers.written(name)
    if written is not None:
        yield Line(key, written, means, name)


def _one_or_all(numbers: tuple[int, ...]) -> Written:
    return numbers[0] if len(numbers) == 1 else numbers


OPENING = (
    "Written by conewright new from a maker's answers; edit it as you like, conewright check says what is wrong "
    "with it. What is marked as suggested was not stated by the maker: look at it before anything is turned."
)
CAUTION = (
    "This does not replace guards over belts and pulleys, a competent electrician, local codes, or the limits that the "
    "makers of belts, motor and tools state."
)


def scenario_text(answers: Answers, *, countershaft: bool) -> str:
    """Return the scenario of a machine, each of its values with a comment in words."""
    lines = [*comment_lines(OPENING), *comment_lines(CAUTION)]
    caution = purpose_named(answers.word("purpose")).caution
    lines += comment_lines(caution)
    told: set[str] = set()
    for table in scenario_tables(answers, countershaft=countershaft):
        lines += ["", *_table_lines(table, answers, told)]
    return "\n".join(lines) + "\n"


def _table_lines(table: Table, answers: Answers, told: set[str]) -> Iterator[str]:
    yield from comment_lines(table.about)
    if table.header:
        yield table.header
    for line in table.lines:
        yield from comment_lines(f"{line.means}{_suggested(line, answers, told)}")
        yield f"{line.key} = {toml_value(line.value)}"


def _suggested(line: Line, answers: Answers, told: set[str]) -> str:
    """Return that a value was suggested, the reason only where it was not told before."""
    known = answers.by_name.get(line.question)
    if known is None or not known.reason or not line.own:
        return ""
    if line.question in told:
        return " Suggested."
    told.add(line.question)
    return f" Suggested: {known.reason}."
