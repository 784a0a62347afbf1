"""What is no TOML, or more of it than any machine needs."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from typing import Any

from optimizer.errors import Fault, ScenarioError
from optimizer.quantities import as_key
from optimizer.scenario.faults import inside

__all__ = ["MOST_IN_LIST", "MOST_IN_TABLE", "MOST_NESTED", "MOST_VALUES", "faults_of_extent", "long_key", "tables_of"]

MOST_IN_LIST = 1_000
"""Values in one list; what is taken from a range is stated as a range."""
MOST_IN_TABLE = 200
"""Keys in one table."""
MOST_NESTED = 24
"""Lists and tables within each other."""
MOST_VALUES = 10_000
"""Values in the whole file."""
MOST_PARTS = 100
"""Parts of a key with dots: the reader of the standard library takes the cube of their number in time."""

_PART = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_LONG_KEY = re.compile(rf"(?<![\w-]){_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{{MOST_PARTS}}}")


def long_key(text: str) -> Fault | None:
    """Return the fault of a key of more parts than can be read in reasonable time; nothing where there is none.

    Examples
    --------
    >>> long_key("motor.speed = 1420") is None
    True
    >>> print(long_key("units = 'mm'\\n" + "a." * 200 + "b = 1"))
    line 2: a key has more parts than can be read; allowed: at most 100 parts; try: look for dots that run on
    """
    found = _LONG_KEY.search(text)
    if found is None:
        return None
    line = text.count("\n", 0, found.start()) + 1
    what = "a key has more parts than can be read"
    return Fault(f"line {line}", what, "", f"at most {MOST_PARTS} parts", "look for dots that run on")


def faults_of_extent(tables: dict[str, Any]) -> list[Fault]:
    """Return what makes a file too large to be one that a maker wrote.

    Examples
    --------
    >>> faults_of_extent({"band": [{"name": "roughing", "from": 180}]})
    []
    >>> print(*faults_of_extent({"stage": [{"driver": {"ready": [80] * 1001}}]}))  # doctest: +ELLIPSIS
    stage[0].driver.ready: this list is too long; got 1,001 values; allowed: at most 1,000; try: ...
    """
    faults: list[Fault] = []
    values = 0
    for place, value, depth in _walked(tables):
        values += len(value)
        if depth > MOST_NESTED:
            allowed = f"at most {MOST_NESTED} within each other"
            return [Fault(place, "lists or tables are nested too deep", "", allowed, "check the brackets")]
        faults += _extent_fault(place, value)
    if values > MOST_VALUES and not faults:
        what, advice = "it holds more than any machine needs", "look for parts that stand in it many times"
        faults.append(Fault("file", what, f"{values:,} values", f"at most {MOST_VALUES:,}", advice))
    return faults


def _extent_fault(place: str, value: dict[str, Any] | list[Any]) -> Iterator[Fault]:
    if isinstance(value, list) and len(value) > MOST_IN_LIST:
        advice = "leave out what cannot be meant; a range is written free = [least, most], any length any"
        yield Fault(place, "this list is too long", f"{len(value):,} values", f"at most {MOST_IN_LIST:,}", advice)
    if isinstance(value, dict) and len(value) > MOST_IN_TABLE:
        advice = "look for keys that belong elsewhere"
        yield Fault(
            place or "file", "this table is too long", f"{len(value):,} keys", f"at most {MOST_IN_TABLE}", advice
        )


def _walked(tables: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any] | list[Any], int]]:
    """Yield every table and list with its place and depth, those too long or too deep not entered.

    It keeps its own list of what is left to do, so that no depth of nesting ends it.
    """
    left: list[tuple[str, Any, int]] = [("", tables, 0)]
    while left:
        place, value, depth = left.pop()
        if not isinstance(value, dict | list):
            continue
        yield place, value, depth
        if depth > MOST_NESTED or len(value) > (MOST_IN_TABLE if isinstance(value, dict) else MOST_IN_LIST):
            continue
        entries = [(as_key(key), inner) for key, inner in value.items()] if isinstance(value, dict) else None
        entries = entries or [(f"[{number}]", inner) for number, inner in enumerate(value)]
        left += [(inside(place, key), inner, depth + 1) for key, inner in reversed(entries)]


_PLACE = re.compile(r"^(?P<what>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)$", re.DOTALL)
_PLAIN = (
    ("Expected newline or end of document", "something stands after the end of the value"),
    ("Expected '=' after a key", "a key needs = and a value after it"),
    ("Invalid initial character for a key", "a key cannot start like this"),
    ("Invalid value", "this value cannot be read"),
    ("Cannot overwrite", "this key stands in the file twice"),
    ("Cannot declare", "this table stands in the file twice"),
    ("Cannot mutate", "this table stands in the file twice"),
    ("Duplicate inline table key", "this key stands in the table twice"),
    ("Unterminated string", "text is not closed"),
    (r"Illegal character '\n'", "text is not closed on its line"),
    ("Invalid statement", "a line cannot start like this"),
    ("Illegal character", "text or a comment holds a character that is not allowed there"),
    ("Unclosed array", "a list is not closed"),
    ("Unclosed inline table", "a table in braces is not closed"),
    ("Expected ']", "the name of a table is not closed"),
)
"""What the standard library says, in the words of the trade."""
_HINTS = (
    (r"=\s*[-+]?\d+,\d+\s*($|#|[a-z\"])", "write a decimal point, as in 114.5"),
    (r"=\s*[-+]?[\d.]+[\d./ -]*\s*[a-zA-Z%\"']", 'put a value with a unit in quotes, as in "1420 rpm"'),
    (r"=\s*\d+\s*[-/ ]\s*\d", 'put a fraction in quotes, as in "4 1/2 in"'),
    (r"=\s*(True|False|yes|no|on|off)\b", "write true or false"),
    (r"=\s*[^\W\d]", "put text in quotes"),
    (r"=\s*($|#)", "write a value after ="),
    (r"^\s*[\w.-]+\s*:", "write key = value"),
)
"""What a line looks like, with what to try."""
_ANY_HINT = "look here for a sign that is missing or does not belong; lines read [table] or key = value"


def tables_of(text: str) -> dict[str, Any]:
    """Read TOML that is no larger than a maker's file can be.

    Raises
    ------
    ScenarioError
        With the line and the column where the text stops being TOML, or with what is too large.

    Examples
    --------
    >>> tables_of("speed = 1420")
    {'speed': 1420}
    >>> tables_of("[motor]\\nspeed = 1420 rpm")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    optimizer.errors.ScenarioError: line 2, column 14: something stands after the end of the value; ...
    """
    text = text.removeprefix("\ufeff")
    if endless := long_key(text):
        raise ScenarioError([endless])
    tables = _parsed(text)
    if faults := faults_of_extent(tables):
        raise ScenarioError(faults)
    return tables


def _parsed(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ScenarioError([_fault(str(error), text.split("\n"))]) from None
    except RecursionError:
        fault = Fault("file", "lists or tables are nested too deep to be read", advice="check the brackets")
        raise ScenarioError([fault]) from None
    except ValueError:  # a whole number of more digits than Python reads
        fault = Fault("file", "a number has too many digits to be read", advice="look for a number that runs on")
        raise ScenarioError([fault]) from None


def _fault(said: str, lines: list[str]) -> Fault:
    place = _PLACE.match(said)
    what = place["what"] if place else said
    plain = next((words for start, words in _PLAIN if what.startswith(start)), f"this is not TOML: {what}")
    if not place or place["line"] is None:
        return Fault("end of file", plain, advice="look for a quote or a bracket that is not closed")
    number = int(place["line"])
    line = lines[number - 1].strip() if number <= len(lines) else ""
    if "\r" in line:
        plain = "lines end with a carriage return alone"
    return Fault(f"line {number}, column {place['column']}", plain, _visible(line), advice=_hint(line, plain))


def _hint(line: str, plain: str) -> str:
    if "closed" in plain:
        return "look here and on the lines above for a quote or a bracket that is not closed"
    if "twice" in plain:
        return "write every key once; more than one band, shaft or stage each start with [[band]], [[shaft]], [[stage]]"
    if "carriage return" in plain:
        return "save the file again with line ends of your system"
    return next((advice for pattern, advice in _HINTS if re.search(pattern, line)), _ANY_HINT)


def _visible(line: str) -> str:
    shown = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in line)
    return shown if len(shown) <= 100 else shown[:99] + "…"
