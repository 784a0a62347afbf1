"""Values at the edge of what a key may hold, and beyond it."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from random import Random
from typing import Any

from tests.fuzz.written import Raw

__all__ = ["NAMES", "a_name", "an_edge", "deep", "near", "scaled"]

NUMBERS: tuple[Any, ...] = (
    0, -0.0, -1, 1, 2, 3, 1e-320, 5e-324, 1e-9, 1e-3, 0.1, 0.5, 0.999999999999, 1.0000000001, 7, 100, 4999.9999, 5000,
    5000.0001, 1e6, 1e15, 1e300, 1.7976931348623157e308, -1e300, 2**31, 2**63, 2**64, 10**30, float("nan"),
    float("inf"), float("-inf"), Raw("-nan"), Raw("+inf"), Raw("0x7fffffff"), Raw("0b1"), Raw("1_000"), Raw("1e400"),
    Raw("-0"), Raw("9" * 400), Raw("9" * 5000), Raw("0." + "0" * 300 + "1"),
)  # fmt: skip
"""Numbers, legal TOML all but the last few of digits."""
QUANTITIES = (
    "0", "0 mm", "-0 in", "-1 mm", "1/0 in", "0/0 in", "1/3 in", "4 1/2 in", "4 1/2", '4-1/2"', "4' 6\"", "1 1/64 in",
    "1/128 in", "99999/1 in", "1e308 in", "1e309 mm", "nan mm", "inf", "1e-320 mm", "1420 rpm", "1420rpm", "1420 1/min",
    "23.7 Hz", "149 rad/s", "1 hp", "0.75 kW", "750 W", "1e99 kW", "3 %", "100 %", "-3 %", "1000000 %", "0.03", "17.5°",
    "38 deg", "1 m", "1 km", "1 ly", "1 furlong", "12 mm mm", "mm", " ", "", "12,5 mm", "1.2.3 mm", "١٢ mm", "½ in",
    "4½ in", "４ mm", "12 ｍｍ", "12\u00a0mm", "12\u2009mm", "+12 mm", "--1 mm", "1 mm/s", "1 N", "2 kg", "3 lb", "1 s",
    "0x10 mm", "1_0 mm", "1 mm # no", "__import__('os')", "1 mm; rm", "1**99 mm", "9**9**9 mm", "1 mm**2", "10 degC",
    "stock", "any", "open", "layers", "faced", "A", "SPZ", "hinge",
)  # fmt: skip
"""Text where a number with a unit may stand."""
NAMES = (
    "", " ", "\t", "\n", "a\nb", "a\r\nb", "\x00", "\x07bell", "\x1b[2J\x1b[31mred", "\x7f", "\x85", "\u2028", "\u2029",
    "../../etc/passwd", "/", "\\", "C:\\con", "..", ".", "a/b", "a" * 80, "a" * 81, "a" * 100_000, "ж" * 80, "木工旋盤",
    "שלום", "مخرطة", "\u202egnp.exe", "\u2066x\u2069", "\ufeff", "e\u0301" * 40, "Z\u0351\u036b\u0343" * 20, "👩‍🔧",
    "🜨" * 80,
    "<b>&amp;</b>", "]]>", "<script>alert(1)</script>", "</svg>", "%s%n%d", "{0}{x!r}", "{{", "$(rm -rf x)", "`x`",
    "'; drop table", "=1+1", "@SUM(1)", "-1", "+1", '"', "'", "|", "a|b", "*bold* _it_ `c`", "# head", "\\input{x}",
    "motor", "spindle", "countershaft", "MOTOR", "Motor ", "ＭＯＴＯＲ", "nul", "con", "None", "true", "İstanbul", "ı",
)  # fmt: skip
"""Names: control characters, separators, markup, other scripts, lengths."""
DATES = (
    date(1979, 5, 27),
    datetime(1979, 5, 27, 7, 32, tzinfo=UTC),
    datetime(1, 1, 1),
    time(7, 32, 0, 999999),
)
FACTORS = (0.0, 0.01, 0.1, 0.5, 0.9, 0.999, 1.001, 1.1, 2.0, 10.0, 25.4, 1 / 25.4, 100.0, 1000.0, -1.0)


def a_name(random: Random) -> str:
    """Return a name at the edge."""
    return random.choice(NAMES)


def an_edge(random: Random) -> Any:
    """Return any value at all that a file can state."""
    kind = random.randrange(14)
    if kind < 5:
        return random.choice(NUMBERS)
    if kind < 8:
        return random.choice(QUANTITIES)
    if kind < 10:
        return a_name(random)
    return (
        random.choice((True, False)),
        random.choice(DATES),
        [an_edge(random) for _ in range(random.randrange(4))],
        {a_name(random): an_edge(random) for _ in range(random.randrange(3))},
    )[kind - 10]


def scaled(value: Any, random: Random) -> Any:
    """Return a number made larger or smaller by some factor, so that it is still a number somebody could mean."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return an_edge(random)
    factor = random.choice(FACTORS)
    try:
        return int(value * factor) if isinstance(value, int) and random.random() < 0.5 else value * factor
    except (OverflowError, ValueError):
        return an_edge(random)


def near(value: Any, random: Random) -> Any:
    """Return a value of the same kind that is a little off: a changed digit, a unit, another case."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float) and abs(value) < 1e300:
        step = random.choice((1, -1, 0.5, 1e-6, -1e-6, 1e-12))
        unit = random.choice(("mm", "in", "rpm", "kW", "%", ""))
        return f"{value} {unit}".strip() if random.random() < 0.3 else value + step
    if isinstance(value, str) and value:
        where = random.randrange(len(value))
        return random.choice(
            (value.upper(), value[::-1], value[:where], value + value, f" {value} ", value[:where] + "\x01")
        )
    return an_edge(random)


def deep(random: Random) -> Raw:
    """Return lists or tables within each other, some deeper than anybody can read."""
    depth = random.choice((3, 30, 120, 900, 20_000))
    if random.random() < 0.5:
        return Raw("[" * depth + "1" + "]" * depth)
    return Raw("{a=" * depth + "1" + "}" * depth)
