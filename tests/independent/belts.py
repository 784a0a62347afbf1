"""One belt on two pulleys, in fifty digits."""

from __future__ import annotations

from tests.independent.numbers import Number, high

__all__ = ["belt_length", "least_wrap_deg", "own_centre"]


def belt_length(driver: Number, driven: Number, centre: Number, crossed: bool) -> Number:
    """Return the length of a belt round two pulleys: two common tangents and two arcs.

    The tangents are the legs beside the hypotenuse `centre`; each arc is half a turn, more or less the angle by which
    the tangents lean.

    Examples
    --------
    T. H. Wentzell, Machine Design (2007), example 14.2, p. 310 (companion notebook): 4 in and 6 in, belt 54 in.

    >>> from tests.independent.numbers import num
    >>> print(high.nstr(belt_length(num(4), num(6), num("19.119862"), False), 7))
    54.0
    """
    lean = (driver + driven if crossed else abs(driver - driven)) / 2
    tangent = high.sqrt(centre * centre - lean * lean)
    angle = high.atan2(lean, tangent)
    if crossed:
        return 2 * tangent + (driver + driven) / 2 * (high.pi + 2 * angle)
    large, small = max(driver, driven) / 2, min(driver, driven) / 2
    return 2 * tangent + large * (high.pi + 2 * angle) + small * (high.pi - 2 * angle)


def own_centre(driver: Number, driven: Number, length: Number, crossed: bool) -> Number | None:
    """Return the centre distance at which a belt is just taut, or nothing where it does not go round.

    The length grows with the centre distance, by twice the cosine of the lean; the root is bracketed, halved a few
    times, then found by Newton's steps, which converge from any point at which the length is too great.

    Examples
    --------
    >>> from tests.independent.numbers import num
    >>> print(high.nstr(own_centre(num(4), num(6), num(54), False), 8))
    19.119862
    >>> own_centre(num(100), num(300), num(900), False) is None
    True
    """
    least = (driver + driven if crossed else abs(driver - driven)) / 2
    if belt_length(driver, driven, least, crossed) >= length:
        return None
    low, at = least, length / 2
    for _ in range(12):
        middle = (low + at) / 2
        if belt_length(driver, driven, middle, crossed) < length:
            low = middle
        else:
            at = middle
    for _ in range(60):
        over = belt_length(driver, driven, at, crossed) - length
        step = over / (2 * high.sqrt(1 - (least / at) ** 2))
        at -= step
        if abs(step) < high.mpf(10) ** -40:
            return at
    raise ArithmeticError("no centre distance was found")


def least_wrap_deg(driver: Number, driven: Number, centre: Number, crossed: bool) -> Number:
    """Return the smaller arc of contact [degrees].

    Examples
    --------
    Wentzell's example again, 174.004 degrees:

    >>> from tests.independent.numbers import num
    >>> print(high.nstr(least_wrap_deg(num(4), num(6), num("19.119862"), False), 6))
    174.004
    """
    if crossed:
        return 180 + 2 * high.degrees(high.asin((driver + driven) / 2 / centre))
    return 180 - 2 * high.degrees(high.asin(abs(driver - driven) / 2 / centre))
