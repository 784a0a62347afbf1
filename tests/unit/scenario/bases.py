"""Two good machines, with the way to break them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

__all__ = ["ONE", "TWO", "Broken", "broken"]

ONE = """\
title = "Buffing head"
units = "mm"

[motor]
speed = "1420 rpm"

[[band]]
name = "all"
from = 700
to = 2800
want = 3

[[shaft]]
name = "motor"
mount = "slide"

[[stage]]
from = "motor"
to = "spindle"
positions = 4
centres = [250, 350]
travel = 60
belt = "A"
driver = { free = [75, 200] }
driven = { free = [75, 200] }
"""
"""A single cone in 25 lines."""

TWO = """\
title = "Engraving mill"
units = "mm"

[motor]
speed = "1420 rpm"

[[band]]
name = "low"
from = 200
to = 600

[[band]]
name = "high"
from = 600
to = 2400

[making]
largest_blank = 240

[[shaft]]
name = "motor"
mount = "slide"

[[shaft]]
name = "countershaft"
diameter = 20
mount = "hinge"

[[stage]]
from = "motor"
to = "countershaft"
positions = 2
centres = [220, 340]
travel = 60
belt = "A"
driver = { ready = [75, 90, 112, 140] }
driven = { blanks = [150, 200, 240], measured = "outside" }

[[stage]]
from = "countershaft"
to = "spindle"
positions = [3, 4]
centres = [240, 320]
travel = 50
belt = { section = "A", lengths = [1120, 1180] }
driver = { free = [75, 220] }
driven = { kept = [100, 125, 150, 180], reversible = true, pitch = 22 }
"""
"""Two stages with ready pulleys, blanks, a free side, a kept cone."""


class Broken(NamedTuple):
    """A file with something wrong in it."""

    name: str
    text: str
    faults: tuple[str, ...]
    """Every line that is told of it, whole, in the order of the file."""


def broken(name: str, good: str, changes: Sequence[tuple[str, str]], *faults: str) -> Broken:
    """Return a good file broken by replacing the first of every old text by its new one."""
    text = good
    for old, new in changes:
        assert old in text, f"{name}: the good file does not hold {old!r}"
        text = text.replace(old, new, 1)
    return Broken(name, text, faults)
