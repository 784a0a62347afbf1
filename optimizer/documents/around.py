"""What papers and screens say of the room around."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.blocks import MARKDOWN, PAGE, TERMINAL, Block, Rank, Rows, Section, Text, table_of
from optimizer.documents.figures import Units, length, span
from optimizer.records.around import AroundSheet

__all__ = ["around_sections", "around_words"]


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


def around_sections(around: AroundSheet, units: Units) -> Iterator[Section]:
    """Yield the nearest two things, then where the shafts move, with every gap."""
    said = around_words(around, units)
    yield Section("", [Text(said, rank=Rank.ANSWER)], only=TERMINAL)
    blocks: list[Block] = [
        Text(
            "Seen from the motor's pulley end, x to the right, y up, from the origin of the scenario. Places and gaps "
            "over every position, from belt-on to worn-out. Strands are taken as straight: a slack belt whips "
            "farther. A guard needs room too.",
            only=MARKDOWN,
        ),
        Text(
            "Seen from the motor's pulley end, over every position, from belt-on to worn-out. Strands are taken as "
            "straight: a slack belt whips farther. A guard needs room too.",
            look="caution",
            only=PAGE,
        ),
    ]
    if around.shafts:
        reaches = table_of(
            around.shafts,
            ("shaft", lambda reach: reach.shaft),
            (f"x {units}", lambda reach: span(reach.x_mm, units)),
            (f"y {units}", lambda reach: span(reach.y_mm, units)),
        )
        moved = Rows(reaches, "From where to where the shafts move")
        blocks += [Text(f"{said}.", only=PAGE), moved, Text(f"{said}.", only=MARKDOWN)]
    else:
        blocks.append(Text(f"{said}."))
    if around.gaps:
        gaps = table_of(
            around.gaps,
            ("what", lambda gap: gap.one),
            ("from what", lambda gap: gap.other),
            (f"gap {units}", lambda gap: length(gap.gap_mm, units)),
            ("along the shafts", lambda gap: "by their places" if gap.placed else "as if side by side"),
            ("least with", lambda gap: gap.state),
        )
        blocks.append(Rows(gaps, "Gaps, nearest first"))
    yield Section("Room around", blocks)
