"""Reading names that the catalogue knows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from optimizer.asking.answer import Answer, Written
from optimizer.asking.reading import Text
from optimizer.catalogue.entry import CatalogueError
from optimizer.quantities import QuantityError

__all__ = ["Named"]


@dataclass(frozen=True)
class Named(Text):
    """Reads the name of something in the catalogue, and keeps it as the catalogue writes it."""

    known_as: Callable[[str], str]
    """Returns the catalogue's name; `CatalogueError` where there is no such thing."""

    def read(self, value: Written, units: str) -> Answer:
        """Return the name."""
        text = str(super().read(value, units).value)
        try:
            name = self.known_as(text)
        except CatalogueError as error:
            raise QuantityError(error.what, error.got, error.allowed, error.advice) from None
        return Answer(name, name)
