"""What papers and screens say of the room around."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.blocks import Table
from optimizer.documents.figures import Units, length
from optimizer.records.mechanics import AroundSheet, ReachSheet

__all__ = ["around_paper", "around_words", "gap_table", "reach_table"]


def around_words(around: AroundSheet, units: Units) -> str:
    """Return the nearest two things in a sentence."""
    lost = f"; not looked at, as its place is not known: {', '.join(around.unknown)}" if around.unknown else ""
    if not around.gaps:
        return f"Room around: nothing that would have to keep clear of each other{lost}"
    nearest = around.gaps[0]
    unplaced = "" if nearest.placed else ", if both lie side by side along the shafts, which is not stated"
    gap = f"{length(nearest.gap_mm, units)} {units}"
    overlap = " (they overlap)" if nearest.gap_mm < 0 else ""
    return (
        f"Room around: least gap {gap}{overlap}, {nearest.one} to {nearest.other}{unplaced}, with {nearest.state}; "
        f"{length(around.least_gap_mm, units)} {units} are to be kept{lost}"
    )


def gap_table(around: AroundSheet, units: Units) -> Table:
    """Return every two things with the gap between them, nearest first."""
    rows = (
        (
            gap.one,
            gap.other,
            length(gap.gap_mm, units),
            "by their places" if gap.placed else "as if side by side",
            gap.state,
        )
        for gap in around.gaps
    )
    return Table(("what", "from what", f"gap {units}", "along the shafts", "least with"), tuple(rows))


def reach_table(around: AroundSheet, units: Units) -> Table:
    """Return from where to where the axes of the shafts move."""
    rows = ((reach.shaft, *_from_to(reach, units)) for reach in around.shafts)
    return Table(("shaft", f"x {units}", f"y {units}"), tuple(rows))


def around_paper(around: AroundSheet, units: Units) -> Iterator[str]:
    """Yield the section of the design sheet."""
    yield "## Room around"
    yield (
        "Seen from the motor's pulley end, x to the right, y up, from the origin of the scenario. Places and gaps over "
        "every position, from belt-on to worn-out. Strands are taken as straight: a slack belt whips farther. "
        "A guard needs room too."
    )
    if around.shafts:
        yield reach_table(around, units).markdown()
    yield f"{around_words(around, units)}."
    if around.gaps:
        yield gap_table(around, units).markdown()


def _from_to(reach: ReachSheet, units: Units) -> Iterator[str]:
    for low, high in (reach.x_mm, reach.y_mm):
        one, two = length(low, units), length(high, units)
        yield one if one == two else f"{one} to {two}"
