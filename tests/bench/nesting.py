"""Waste of nested squares beside the bound by area, for mixes of discs: ``python -m tests.bench.nesting``."""

from __future__ import annotations

import sys
from typing import NamedTuple

from optimizer.cuts.nesting import Nesting, Square, Stock, nest

__all__ = ["MIXES", "Mix", "nested", "nesting_table"]

KERF_MM, EDGE_MM = 3.2, 5.0
BEFORE = f"""Squares for discs, nested on sheets without end of one size, kerf {KERF_MM:g} mm, edges {EDGE_MM:g} mm.
The bound by area is the least number of sheets whose area within the edges is that of the squares with a kerf each;
waste is the share of the sheets that is no square, the rectangle left over on the last sheet included. The mixes are
invented."""
HEAD = (
    "| mix | sheet, mm | squares | sheets | bound by area | waste, % | waste at the bound, % | left over, mm |",
    "| :--- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
)
SQUARE, LONG, METRIC, SMALL = (1525.0, 1525.0), (1220.0, 2440.0), (1250.0, 2500.0), (609.6, 1219.2)


class Mix(NamedTuple):
    """Discs that are sawn together."""

    name: str
    sheet_mm: tuple[float, float]
    discs: tuple[tuple[int, float], ...]
    """How many of which side [mm]."""


MIXES = (
    Mix("two cones of four steps, two layers each", SQUARE, ((4, 108), (4, 142), (4, 176), (4, 210))),
    Mix("the same from small sheets", SMALL, ((4, 108), (4, 142), (4, 176), (4, 210))),
    Mix("four cones of four steps, three layers each", SMALL, ((12, 96), (12, 131), (12, 167), (12, 203))),
    Mix("eight cones of four steps, three layers each", SQUARE, ((24, 96), (24, 131), (24, 167), (24, 203))),
    Mix("72 equal discs", SQUARE, ((72, 180),)),
    Mix("72 equal discs, long sheets", LONG, ((72, 180),)),
    Mix("72 equal discs, small sheets", SMALL, ((72, 180),)),
    Mix("240 small discs", LONG, ((240, 118),)),
    Mix("large driven cones", SQUARE, ((3, 480), (3, 410), (3, 340), (3, 270))),
    Mix("large driven cones, twice", LONG, ((6, 480), (6, 410), (6, 340), (6, 270))),
    Mix("five steps, small to large", METRIC, ((12, 90), (12, 150), (12, 230), (12, 310), (12, 400))),
    Mix("every size once", SQUARE, tuple((1, 80.0 + 8 * step) for step in range(36))),
    Mix("every size twice", LONG, tuple((2, 80.0 + 8 * step) for step in range(36))),
    Mix("a few large among many small", METRIC, ((4, 520), (150, 95))),
    Mix("inch blanks", SMALL, ((8, 152.4), (8, 203.2), (4, 254))),
    Mix("two just over half the width", SQUARE, ((2, 765),)),
)
"""Area does not see shape: of the last only one fits on a sheet, and of many such the bound would be far off."""


def nested(mix: Mix) -> Nesting:
    """Return a mix on its sheets."""
    squares = [Square(name=f"{side:g}", side_mm=side) for count, side in mix.discs for _ in range(count)]
    width_mm, length_mm = mix.sheet_mm
    return nest(squares, [Stock(width_mm=width_mm, length_mm=length_mm)], KERF_MM, EDGE_MM)


def nesting_table() -> str:
    """Return all mixes as markdown, the same text at every call."""
    return "\n".join((BEFORE, "", *HEAD, *map(_row, MIXES)))


def _row(mix: Mix) -> str:
    nesting = nested(mix)
    left = nesting.leftover
    cells = (
        mix.name,
        "{:g} × {:g}".format(*mix.sheet_mm),
        str(sum(count for count, _ in mix.discs)),
        str(len(nesting.sheets)),
        str(nesting.bound.sheets),
        f"{100 * nesting.waste:.1f}",
        f"{100 * nesting.bound.waste:.1f}",
        f"{left.width_mm:.0f} × {left.length_mm:.0f}" if left else "none",
    )
    return f"| {' | '.join(cells)} |"


if __name__ == "__main__":
    sys.stdout.write(nesting_table() + "\n")
