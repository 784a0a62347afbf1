"""Fixed ratios as a maker writes them, and as papers call them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from optimizer.errors import Fault
from optimizer.quantities import QuantityError, as_written

__all__ = ["LEAST_RATIO", "MOST_RATIO", "as_ratio", "fixed_words", "other_ratio_faults", "ratio_words"]

LEAST_RATIO, MOST_RATIO = 0.001, 1000.0
SAME = 1e-3
"""Ratios closer than this share are one."""
MOST_OTHERS = 12
"""Other ratios of one gear: every one takes a search."""
_TURNS = re.compile(r"\s*(\d{1,6}(?:\.\d{1,6})?)\s*:\s*(\d{1,6}(?:\.\d{1,6})?)\s*", re.ASCII)


def as_ratio(value: object) -> object:
    """Read turns in to turns out, as the trade writes reducers: `"20:1"` is 20 turns in for one out, ratio 0.05.

    `"1:20"` is written for the same reducer by some and for a step-up by others, so that it is refused; a bare number
    is driven speed over driving speed, whatever it is.

    Raises
    ------
    QuantityError
        The second number is the larger one, or either is 0.

    Examples
    --------
    >>> as_ratio("20:1"), as_ratio("7.5 : 2"), as_ratio("1:1"), as_ratio(0.05), as_ratio("0.05")
    (0.05, 0.26666666666666666, 1.0, 0.05, '0.05')
    """
    if not isinstance(value, str) or ":" not in value:
        return value
    found = _TURNS.fullmatch(value)
    turns = (float(found[1]), float(found[2])) if found else (0.0, 0.0)
    if not all(turns):
        raise QuantityError(
            "these are not turns in to turns out", as_written(value), 'two numbers above 0, as in "20:1"'
        )
    before, behind = turns
    if before < behind:
        raise QuantityError(
            "some read this as slower, some as faster",
            as_written(value),
            'turns in before turns out, as in "20:1", or driven speed over driving speed as a number',
            f'write "{behind:g}:{before:g}" where the driven shaft turns slower, {behind / before:.6g} where faster',
        )
    return behind / before


def ratio_words(ratio: float) -> str:
    """Return a ratio as papers show it, with the turns of a reducer beside it where they are short.

    Examples
    --------
    >>> ratio_words(0.05), ratio_words(2 / 15), ratio_words(1.9), ratio_words(0.3141)
    ('0.05 (20:1)', '0.133333 (7.5:1)', '1.9', '0.3141')
    """
    turns = 1 / ratio
    short = ratio < 1 and abs(turns - round(turns, 2)) < 1e-6 * turns
    return f"{ratio:.6g}" + (f" ({round(turns, 2):g}:1)" if short else "")


def fixed_words(ratio: float, reverses: bool) -> str:
    """Return what joins two shafts at a fixed ratio.

    Examples
    --------
    >>> fixed_words(1.0, False), fixed_words(0.05, False), fixed_words(0.5, True)
    ('direct coupling', 'fixed ratio 0.05 (20:1)', 'fixed ratio 0.5 (2:1), reversing')
    """
    if ratio == 1 and not reverses:
        return "direct coupling"
    return f"fixed ratio {ratio_words(ratio)}{', reversing' if reverses else ''}"


def other_ratio_faults(others: Sequence[float], ratio: float, *, switched: bool) -> Iterator[Fault]:
    """Yield what is wrong with the ratios that a gear can be had with, with places relative to its table."""
    if others and switched:
        what = "ratios to choose from stand beside ratios to engage"
        yield Fault(
            "other_ratios", what, as_written(list(others)), "one of other_ratios and slower", "leave other_ratios out"
        )
    if len(others) > MOST_OTHERS:
        yield Fault("other_ratios", "there are too many", str(len(others)), f"at most {MOST_OTHERS}")
    for index, value in enumerate(others):
        if any(abs(value / other - 1) < SAME for other in (ratio, *others[:index])):
            yield Fault(f"other_ratios[{index}]", "this ratio is stated already", f"{value:g}", "every ratio once")
