"""Figures as they are stored and shown: with the digits that mean something, the same on every processor."""

from __future__ import annotations

from math import isfinite
from typing import Annotated, Any, Final

from pydantic import AfterValidator

from optimizer.scenario.base import Model

__all__ = ["Document", "Iterated", "meaningful"]

DIGITS: Final = 10
"""Leading digits kept of a figure that follows from the sizes: processors agree on it to fourteen or so."""
PLACES: Final = 9
"""And no more decimal places than these: what is less, in whatever unit, is left over from rounding."""
ITERATED_DIGITS: Final = 4
ITERATED_PLACES: Final = 6
"""The same of a share at which a solver stopped, which agrees with itself to a billionth or so."""


def meaningful(value: float, digits: int = DIGITS, places: int = PLACES) -> float:
    """Return a figure rounded to some leading digits, and to no more than some decimal places.

    Examples
    --------
    >>> meaningful(0.1 + 0.2), meaningful(1107.4585499999998), meaningful(-4.4e-16), meaningful(208.24375)
    (0.3, 1107.45855, 0.0, 208.24375)
    """
    return round(float(f"{value:.{digits - 1}e}"), places) + 0.0 if isfinite(value) else value


def _iterated(value: float) -> float:
    return meaningful(value, ITERATED_DIGITS, ITERATED_PLACES)


Iterated = Annotated[float, AfterValidator(_iterated)]
"""A share at which a solver stopped, to four leading digits and six places."""


class Document(Model):
    """A result as a whole, that is shown, written and read: all its figures have the digits that mean something.

    The last bits of a figure hang on the processor, as libraries sum and take logarithms in other ways on each. They
    are rounded off here, once, before anything is made of the figures, so that the same machine gives the same bytes
    everywhere, and a document read from a file the papers it gave when it was made.
    """

    def model_post_init(self, _context: Any, /) -> None:
        """Round every figure of the document."""
        for name in type(self).model_fields:
            self.__dict__[name] = _settled(self.__dict__[name])


def _settled(value: Any) -> Any:
    """Return a part of a document with all its figures rounded; what has none is returned itself."""
    if isinstance(value, float):
        return meaningful(value)
    if isinstance(value, tuple):
        parts = [_settled(part) for part in value]
        return value if all(new is old for new, old in zip(parts, value, strict=True)) else type(value)(parts)
    if isinstance(value, Model):
        changed = {name: _settled(part) for name, part in value}
        kept = all(new is old for new, (_, old) in zip(changed.values(), value, strict=True))
        return value if kept else value.model_copy(update=changed)
    return value
