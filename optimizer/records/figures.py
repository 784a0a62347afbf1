"""Figures as they are stored and shown: with the digits that mean something, the same on every processor."""

from __future__ import annotations

from typing import Annotated, Any, Final

from pydantic import AfterValidator

from optimizer.quantities.digits import meaningful
from optimizer.scenario.base import Model

__all__ = ["Document", "Iterated", "settled"]

ITERATED_DIGITS: Final = 4
ITERATED_PLACES: Final = 6
"""Digits and decimal places kept of a share at which a solver stopped: it agrees with itself to a billionth or so."""


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
            self.__dict__[name] = settled(self.__dict__[name])


def settled(value: Any) -> Any:
    """Return a part of a document with all its figures rounded.

    Examples
    --------
    >>> settled((0.1 + 0.2, "mm", 3))
    (0.3, 'mm', 3)
    """
    if isinstance(value, float):
        return meaningful(value)
    if isinstance(value, tuple):
        return tuple(settled(part) for part in value)
    if isinstance(value, Model):
        return value.model_copy(update={name: settled(part) for name, part in value})
    return value
