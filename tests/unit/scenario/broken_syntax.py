"""Files that are not TOML, or lack what every file has."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, Broken, broken

__all__ = ["SYNTAX"]

SYNTAX: tuple[Broken, ...] = (
    broken(
        "unquoted unit",
        ONE,
        [('"1420 rpm"', "1420 rpm")],
        "line 5, column 14: something stands after the end of the value; got speed = 1420 rpm; try: put a "
        'value with a unit in quotes, as in "1420 rpm"',
    ),
    broken(
        "decimal comma outside quotes",
        ONE,
        [("travel = 60", "travel = 60,5")],
        "line 22, column 12: something stands after the end of the value; got travel = 60,5; try: write a "
        "decimal point, as in 114.5",
    ),
    broken(
        "unquoted text",
        ONE,
        [('mount = "slide"', "mount = slide")],
        "line 15, column 9: this value cannot be read; got mount = slide; try: put text in quotes",
    ),
    broken(
        "key written twice",
        ONE,
        [('units = "mm"', 'units = "mm"\nunits = "in"')],
        'line 3, column 13: this key stands in the file twice; got units = "in"; try: write every key once; '
        "more than one band, shaft or stage each start with [[band]], [[shaft]], [[stage]]",
    ),
    broken(
        "table written twice",
        ONE,
        [("[[band]]", "[motor]\npower = 1\n\n[[band]]")],
        "line 7, column 7: this table stands in the file twice; got [motor]; try: write every key once; more "
        "than one band, shaft or stage each start with [[band]], [[shaft]], [[stage]]",
    ),
    broken(
        "bracket not closed",
        ONE,
        [("centres = [250, 350]", "centres = [250, 350")],
        "line 22, column 1: a list is not closed; got travel = 60; try: look here and on the lines above for a "
        "quote or a bracket that is not closed",
    ),
    broken(
        "quote not closed",
        ONE,
        [('title = "Buffing head"', 'title = "Buffing head')],
        'line 1, column 22: text is not closed on its line; got title = "Buffing head; try: look here and on '
        "the lines above for a quote or a bracket that is not closed",
    ),
    broken(
        "key without value",
        ONE,
        [("travel = 60", "travel =")],
        "line 22, column 9: this value cannot be read; got travel =; try: write a value after =",
    ),
    broken(
        "colon for equals sign",
        ONE,
        [("travel = 60", "travel: 60")],
        "line 22, column 7: a key needs = and a value after it; got travel: 60; try: write key = value",
    ),
    broken(
        "fraction outside quotes",
        ONE,
        [("travel = 60", "travel = 2 1/2")],
        "line 22, column 12: something stands after the end of the value; got travel = 2 1/2; try: put a "
        'fraction in quotes, as in "4 1/2 in"',
    ),
    broken(
        "empty file",
        "",
        [],
        'title: this is missing; try: add title = "…"',
        'units: this is missing; try: add units = "mm", "cm" or "in"',
        "motor: this is missing; try: add [motor] with its speed",
        'stage: this is missing; try: add [[stage]] from = "motor", to = "spindle"',
    ),
    broken(
        "no motor and no stage",
        'title = "Nothing yet"\nunits = "mm"\n',
        [],
        "motor: this is missing; try: add [motor] with its speed",
        'stage: this is missing; try: add [[stage]] from = "motor", to = "spindle"',
    ),
    broken(
        "units that are not read",
        ONE,
        [('units = "mm"', 'units = "metre"')],
        'units: this is none of the words allowed here; got "metre"; allowed: "mm", "cm" or "in"',
    ),
    broken(
        "misspelt table",
        ONE,
        [("[motor]", "[moter]")],
        "motor: this is missing; try: add [motor] with its speed",
        'moter: there is no such key; got { speed = "1420 rpm" }; allowed: around, band, in_hand, making, '
        "motor, note, obstacle, series, shaft, sheet, stage, title, units, work; try: did you mean motor?",
    ),
    broken(
        "single band as a table",
        ONE,
        [("[[band]]", "[band]")],
        'band: this must be a list; got { name = "all", from = 700, to = 2800, want = 3 }; allowed: a list in '
        "square brackets; try: write [[band]]",
    ),
    broken(
        "motor as a list",
        ONE,
        [("[motor]", "[[motor]]")],
        'motor: this must be a table; got [{ speed = "1420 rpm" }]; allowed: a table of keys; try: write [motor]',
    ),
    broken(
        "title that is no text",
        ONE,
        [('"Buffing head"', "7")],
        "title: this must be text; got 7; allowed: text in quotes",
    ),
    broken(
        "empty title",
        ONE,
        [('"Buffing head"', '"  "')],
        'title: this must not be empty; got "  "; allowed: some text',
    ),
    broken(
        "control character in a title",
        ONE,
        [('"Buffing head"', '"Buffing\\u0007 head"')],
        'title: control characters cannot be shown; got "Buffing\\u0007 head"; allowed: letters, digits, '
        "signs; try: leave them out",
    ),
    broken(
        "text turned round in a name",
        ONE,
        [('name = "all"', 'name = "al\\u202El"')],
        'band[0].name: control characters cannot be shown; got "al\\u202El"; allowed: letters, digits, signs; '
        "try: leave them out",
    ),
    broken(
        "title too long",
        ONE,
        [
            (
                '"Buffing head"',
                '"xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx"',
            ),
        ],
        "title: this is too long; got "
        '"xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx"; allowed: at most '
        "80 characters",
    ),
)
