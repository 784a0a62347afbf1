"""Numbers with units as a maker writes them, read into one unit for each kind."""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from math import inf, isfinite

from optimizer.quantities.kinds import (
    ANGLE,
    LENGTH,
    NUMBER,
    POWER,
    RIM_SPEED,
    SHARE,
    SPEED,
    Kind,
    QuantityError,
)
from optimizer.quantities.units import unit_size, unit_word
from optimizer.quantities.written import LONGEST, as_written

__all__ = [
    "angle_deg",
    "length_mm",
    "number",
    "power_kw",
    "quantity",
    "rim_speed_m_s",
    "share",
    "speed_rpm",
    "written_unit",
]

_DECIMAL = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?"
_WRITTEN = re.compile(
    rf"(?P<sign>[+-])?(?P<whole>\d+)(?:\s+|\s*-\s*)(?P<over>\d+)\s*/\s*(?P<under>\d+)(?P<unit1>\D.*)?"
    rf"|(?P<top>[+-]?\d+)\s*/\s*(?P<bottom>\d+)(?P<unit2>\D.*)?"
    rf"|(?P<decimal>{_DECIMAL})(?P<unit3>\s.*|[^\d\s.eE,].*)?",
    re.DOTALL | re.ASCII,
)
_COMMA = re.compile(r"(?P<before>[+-]?\d+),(?P<after>\d+)(?P<rest>[^,]*)", re.ASCII)
_LOOKALIKE = str.maketrans(
    {
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\N{MINUS SIGN}": "-",
        "\N{FRACTION SLASH}": "/",
        "\N{SUPERSCRIPT MINUS}": "-",
        "\N{SUPERSCRIPT ONE}": "1",
        "\N{DOUBLE PRIME}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{PRIME}": "'",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    }
)


def quantity(value: object, kind: Kind, bare: str = "") -> float:
    r"""Read a value of any kind, in the unit of its kind.

    The number is read here and only the unit's name goes to pint, since pint takes `4 1/2 in` for two inches. Decimals
    and fractions are converted exactly and rounded once, so that `4.5` in an inch file, `"4 1/2 in"`, and 114.3 mm are
    the same float.

    Parameters
    ----------
    value
        A bare number, or a string: decimal point, or a shop fraction such as `4 1/2` or `4-1/2`, then a unit or none.
    kind
        What is read.
    bare
        Unit word of a number without one; by default the unit of the kind.

    Returns
    -------
    float
        The value [unit of the kind], finite, not negative unless the kind is signed.

    Raises
    ------
    QuantityError
        Where it cannot be read, is not finite, or is negative and must not be.

    Examples
    --------
    >>> quantity("4-1/2\"", LENGTH), quantity(4.5, LENGTH, "in"), quantity("1 hp", POWER)
    (114.3, 114.3, 0.7456998715822702)
    """
    got = as_written(value)
    factor = kind.words.get(bare, Fraction(1))
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise QuantityError(f"{kind.name} is a number", got, kind.example)
    if isinstance(value, str):
        amount, unit = _parted(value, kind)
        if unit:
            factor = unit_size(unit, kind, got)
    else:
        amount = _exact(value, kind, got)
    try:
        result = float(amount * factor) if isinstance(factor, Fraction) else float(amount) * factor
    except OverflowError:
        result = inf
    if not isfinite(result):
        raise QuantityError(f"{kind.name} must be finite", got, kind.example)
    if result < 0 and not kind.signed:
        raise QuantityError(f"{kind.name} cannot be negative", got, "0 or more")
    return result


def length_mm(value: object, units: str = "mm") -> float:
    r"""Read a length [mm]; a bare number is in `units`, one of `mm`, `cm`, `in`.

    Examples
    --------
    >>> length_mm("4 1/2 in"), length_mm("3/8", "in"), length_mm(12.5, "cm"), length_mm("17.7 mm", "in")
    (114.3, 9.525, 125.0, 17.7)
    >>> length_mm("114,5 mm")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    optimizer.quantities.kinds.QuantityError: value: a comma is not read in numbers; got "114,5 mm"; ...
    """
    return quantity(value, LENGTH, units)


def speed_rpm(value: object) -> float:
    """Read a shaft speed [rpm].

    Examples
    --------
    >>> speed_rpm(1420), speed_rpm("1420 rpm"), speed_rpm("24 rev/s")
    (1420.0, 1420.0, 1440.0)
    """
    return quantity(value, SPEED)


def power_kw(value: object) -> float:
    """Read a power [kW].

    Examples
    --------
    >>> power_kw(0.75), power_kw("750 W"), round(power_kw("3/4 hp"), 4)
    (0.75, 0.75, 0.5593)
    """
    return quantity(value, POWER)


def rim_speed_m_s(value: object) -> float:
    """Read a speed along a belt or rim [m/s].

    Examples
    --------
    >>> rim_speed_m_s("20 m/s"), rim_speed_m_s("6500 ft/min")
    (20.0, 33.02)
    """
    return quantity(value, RIM_SPEED)


def written_unit(value: object, kind: Kind) -> str:
    """Return the unit that a value is written in, as the kind's own table spells it first; nothing where it has none.

    Nothing also where the value cannot be read, or its unit is not among the commonest.

    Examples
    --------
    >>> written_unit("25 m/min", RIM_SPEED), written_unit("80 sfm", RIM_SPEED), written_unit(25, RIM_SPEED)
    ('m/min', 'ft/min', '')
    """
    if not isinstance(value, str):
        return ""
    try:
        _, unit = _parted(value, kind)
    except QuantityError:
        return ""
    size = kind.words.get(unit_word(unit))
    return next((word for word, known in kind.words.items() if known == size), "")


def angle_deg(value: object) -> float:
    """Read an angle [degrees].

    Examples
    --------
    >>> angle_deg(120), angle_deg("120 deg"), round(angle_deg("2 rad"), 3)
    (120.0, 120.0, 114.592)
    """
    return quantity(value, ANGLE)


def share(value: object) -> float:
    """Read a share [of 1].

    Examples
    --------
    >>> share(0.03), share("3 %"), share("1/2 percent")
    (0.03, 0.03, 0.005)
    """
    return quantity(value, SHARE)


def number(value: object) -> float:
    """Read a plain number without unit.

    Examples
    --------
    >>> number(2), number("1/3")
    (2.0, 0.3333333333333333)
    """
    return quantity(value, NUMBER)


def _exact(value: int | float, kind: Kind, got: str) -> Fraction:
    """Return the decimal number that the maker wrote, without the error of its float."""
    try:
        decimal = repr(float(value))
    except OverflowError:
        decimal = "inf"
    if decimal in ("inf", "-inf", "nan"):
        raise QuantityError(f"{kind.name} must be finite", got, kind.example)
    return Fraction(decimal)


def _parted(value: str, kind: Kind) -> tuple[Fraction, str]:
    """Part a string into its number and its unit."""
    got = as_written(value)
    text = value.translate(_LOOKALIKE).strip()
    text = re.sub("[¼½¾⅐-⅞]", lambda found: " " + unicodedata.normalize("NFKC", found[0]), text)
    text = text.replace("\N{FRACTION SLASH}", "/").strip()
    if len(text) > LONGEST:
        raise QuantityError(f"{kind.name} is not written that long", got, kind.example)
    if text.lower().lstrip("+-").split(" ")[0] in ("nan", "inf", "infinity"):
        raise QuantityError(f"{kind.name} must be finite", got, kind.example)
    match = _WRITTEN.fullmatch(text)
    if match is None:
        raise _unreadable(text, kind, got)
    part = match.groupdict()
    if part["under"] == "0" * len(part["under"] or "-") or part["bottom"] == "0" * len(part["bottom"] or "-"):
        raise QuantityError("nothing can be divided by 0", got, kind.example)
    if part["whole"]:
        amount = int(part["whole"]) + Fraction(int(part["over"]), int(part["under"]))
        amount = -amount if part["sign"] == "-" else amount
    elif part["top"]:
        amount = Fraction(int(part["top"]), int(part["bottom"]))
    else:
        amount = Fraction(part["decimal"])
    return amount, (part["unit1"] or part["unit2"] or part["unit3"] or "").strip()


def _unreadable(text: str, kind: Kind, got: str) -> QuantityError:
    """Return the error for a text that has no plain number at its start."""
    comma = _COMMA.fullmatch(text)
    if comma:
        before, after, rest = comma["before"], comma["after"], comma["rest"]
        advice = f'write "{before}.{after}{rest}"'
        if len(after) == 3 and before.lstrip("+-0"):
            advice += f', or "{before}{after}{rest}" if the comma parts thousands'
        return QuantityError("a comma is not read in numbers", got, "a decimal point", advice)
    if re.match(r"[+-]?[0-9]", text):
        return QuantityError("more than one number, or a number broken in two", got, kind.example)
    return QuantityError(f"{kind.name} starts with a number", got, kind.example)
