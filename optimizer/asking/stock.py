"""What lies in a drawer, on a shelf, on a nail, as a maker writes it: `2 x 63, 90`, a double sheave `71+80`."""

from __future__ import annotations

import re
from dataclasses import dataclass

from optimizer.asking.answer import Answer, Plain, Stocked, Written
from optimizer.asking.reading import Amounts, amount, parted, with_unit
from optimizer.quantities import LENGTH, QuantityError, as_written

__all__ = ["Stock"]

MOST_ALIKE = 100
"""As many of one kind as a scenario takes."""
_ITEM = re.compile(r"(?:(?P<count>\d{1,4})\s*[x×]\s*)?(?P<sizes>.+)", re.ASCII)
_UNIT = re.compile(r"[A-Za-z\"'][^+]*$")


@dataclass(frozen=True)
class Stock(Amounts):
    """Reads sizes with how many there are of each."""

    pieces: bool = False
    """Whether one may have several sizes, joined by +."""
    open_ended: bool = True
    """Whether there may be any number of one without a count; one, otherwise."""

    def read(self, value: Written, units: str) -> Answer:
        """Return the sizes."""
        parts = parted(value)
        if not parts:
            raise QuantityError("nothing is stated", as_written(str(value)), self._form())
        last = parts[-1]
        unit = _UNIT.search(_sizes(last)) if isinstance(last, str) else None
        bare = not any(isinstance(part, str) and _UNIT.search(_sizes(part)) for part in parts[:-1])
        items = [self._item(part, units, unit[0] if unit and bare else "") for part in parts]
        return Answer(tuple(written for written, _ in items), tuple(stocked for _, stocked in items))

    def shown(self, written: Written, units: str) -> str:
        """Return the sizes with their units and counts, as they are understood."""
        read = self.read(written, units).value
        assert isinstance(read, tuple)
        return ", ".join(self._told(one, units) for one in read if isinstance(one, Stocked))

    def _told(self, one: Stocked, units: str) -> str:
        sizes = " with ".join(with_unit(size, LENGTH, units) for size in one.written)
        return f"any number of {sizes}" if one.count is None else f"{one.count} of {sizes}"

    def _item(self, part: Plain, units: str, unit: str) -> tuple[Plain, Stocked]:
        if not isinstance(part, str):
            written, real = amount(part, LENGTH, units)
            return part, Stocked((real,), (written,), None if self.open_ended else 1)
        found = _ITEM.fullmatch(part.strip())
        if found is None:
            raise QuantityError("a length starts with a number", as_written(part), self._form())
        texts = [text.strip() for text in found["sizes"].split("+")] if self.pieces else [found["sizes"].strip()]
        own = _UNIT.search(texts[-1])
        common = own[0] if own else unit
        pairs = [amount(text if _UNIT.search(text) else f"{text} {common}".strip(), LENGTH, units) for text in texts]
        count = self._count(found["count"], len(texts), part)
        stocked = Stocked(tuple(real for _, real in pairs), tuple(written for written, _ in pairs), count)
        sizes = "+".join(str(written) for written in stocked.written)
        plain = stocked.written[0] if len(pairs) == 1 else sizes
        return (f"{found['count']} x {sizes}" if found["count"] else plain), stocked

    def _count(self, written: str | None, grooves: int, part: str) -> int | None:
        if written is None:
            return None if self.open_ended and grooves == 1 else 1
        count = int(written)
        if not 1 <= count <= MOST_ALIKE:
            raise QuantityError("this is no number of pieces", as_written(part), f"1 to {MOST_ALIKE}")
        return count

    def _form(self) -> str:
        return "2 x 63, 90, 71+80" if self.pieces else "2 x 150, 200"


def _sizes(part: str) -> str:
    """Return an item without its count, whose x is no unit."""
    found = _ITEM.fullmatch(part.strip())
    return found["sizes"] if found else part
