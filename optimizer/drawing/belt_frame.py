"""Page, scale, places of the lettering of a layout of belts and shafts: one frame for all speeds of a machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimizer.drawing.belt_stands import DrawnStands, drawn_stands
from optimizer.drawing.belt_view import View, view_of
from optimizer.drawing.belt_words import Label, Words, label_words, layout_words
from optimizer.drawing.leaders import Named, Slot, below, below_mm, beside, beside_mm, broken
from optimizer.drawing.sheet import Point
from optimizer.pipeline.job import Job
from optimizer.pipeline.rebuilt import machine_of

__all__ = [
    "EDGE_MM",
    "LEAD_MM",
    "NOTE_GAP_MM",
    "TEXT_MM",
    "TITLE_LEAD_MM",
    "TITLE_MM",
    "LayoutFrame",
    "belt_layout_frame",
]

EDGE_MM, TITLE_MM, TEXT_MM = 6.0, 3.4, 2.3
"""Free edge of the page, heights of capitals."""
TITLE_LEAD_MM, LEAD_MM, NOTE_GAP_MM, GAP_MM = 6.0, 4.1, 1.2, 4.0
"""Distances of lines of the title, of other lines, of notes; between the parts of the page."""
COLUMN_MM = 58.0
"""View for labels right of the drawing."""
PAD_MM = 5.0
"""View on the page around what is drawn."""
HIGHEST_MM, LEAST_TALL_MM = 258.0, 90.0
"""Height of the page within which the drawing is kept, so that it has room on A4 and on Letter paper; the height that
the drawing has even where much lettering leaves less."""
WORST_RATIO = "1:2.5"
"""The longest that a ratio reads."""
FLAT = 0.4
"""Shafts stand side by side, or above each other, where the other spread is no larger a share of this one."""
RATIOS = (1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0)
"""Sizes on the bench over sizes on the page."""


@dataclass(frozen=True)
class LayoutFrame:
    """Everything of a layout that is the same at every speed."""

    stands: DrawnStands
    ratio: float
    """Size on the bench over size on the page."""
    width_mm: float
    height_mm: float
    view: View
    """What of the bench is drawn."""
    corner_mm: Point
    """Where the lower left corner of that lies on the page."""
    notes_mm: float
    """Upper edge of the notes on the page."""
    slots: tuple[Slot, ...] = ()
    """Where every label stands."""

    @property
    def ratio_words(self) -> str:
        """The scale as a drawing says it."""
        return f"1:{self.ratio:g}"

    def on_page(self, point: Point) -> Point:
        """Return where a place on the bench lies on the page."""
        return (
            self.corner_mm[0] + (point[0] - self.view.left) / self.ratio,
            self.corner_mm[1] + (point[1] - self.view.low) / self.ratio,
        )


def belt_layout_frame(job: Job, width_mm: float = 180.0) -> LayoutFrame:
    """Return the frame for all speeds of a design, on a page of a width [mm].

    The scale is the largest round one at which everything has room at every speed and at both ends of every travel.
    Labels stand right of shafts that are stacked up, below shafts that stand side by side.

    Raises
    ------
    ValueError
        The page is too narrow, or a belt does not go round.
    """
    if width_mm < 2 * EDGE_MM + 2 * COLUMN_MM:
        raise ValueError(f"a layout needs a page {2 * EDGE_MM + 2 * COLUMN_MM:g} mm wide, not {width_mm:g}")
    stands = drawn_stands(machine_of(job))
    view = view_of(stands)
    inside = width_mm - 2 * EDGE_MM
    span, column = (EDGE_MM, width_mm - EDGE_MM), (COLUMN_MM - GAP_MM, TEXT_MM)
    speeds = job.design.machine.speeds
    words = [layout_words(job, stands, speed, WORST_RATIO) for speed in speeds]
    labels = [label_words(job, stands, speed, view) for speed in speeds]
    head = max(_head_mm(said, inside) for said in words)
    notes = EDGE_MM + max(_notes_mm(said, inside) for said in words)
    bare = LayoutFrame(stands, 1.0, width_mm, 0.0, view, (0.0, 0.0), notes)
    rows = below_mm(_named(bare, labels), span, TEXT_MM)
    tall = HIGHEST_MM - EDGE_MM - head - notes - 2 * GAP_MM - 2 * PAD_MM
    ratio, aside = _arranged(stands, view, inside - 2 * PAD_MM, (tall, tall - rows))
    wide, high = (view.right - view.left) / ratio, (view.high - view.low) / ratio
    floor = notes + GAP_MM + (0.0 if aside else rows)
    """Lower edge of the drawing's part of the page."""
    body = max(high + 2 * PAD_MM, beside_mm(_named(bare, labels), column) if aside else 0.0)
    placed = replace(
        bare,
        ratio=ratio,
        height_mm=floor + body + GAP_MM + head + EDGE_MM,
        corner_mm=(EDGE_MM + (PAD_MM if aside else (inside - wide) / 2), floor + (body - high) / 2),
    )
    named = _named(placed, labels)
    slots = (
        beside(named, span[1] - COLUMN_MM, (floor, floor + body), column)
        if aside
        else below(named, floor, span, TEXT_MM)
    )
    return replace(placed, slots=tuple(slots))


def _arranged(stands: DrawnStands, view: View, wide_mm: float, tall_mm: tuple[float, float]) -> tuple[float, bool]:
    """Return the ratio, and whether labels stand right of the drawing: where shafts rather stand above each other.

    Where they do neither clearly, the larger drawing is taken. Heights are those left with labels on the right, below.
    """
    xs, ys = zip(*next(iter(stands.stood.values())).shafts.values(), strict=True)
    across, up = max(xs) - min(xs), max(ys) - min(ys)
    aside, under = _ratio(view, wide_mm - COLUMN_MM, tall_mm[0]), _ratio(view, wide_mm, tall_mm[1])
    if up <= FLAT * across or (across > FLAT * up and under < aside):
        return under, False
    return aside, True


def _ratio(view: View, wide_mm: float, tall_mm: float) -> float:
    """Return the ratio at which all has room, as small as it may be."""
    across, up = view.right - view.left, view.high - view.low
    tall = max(tall_mm, LEAST_TALL_MM)
    fitting = (ratio for ratio in RATIOS if across / ratio <= wide_mm and up / ratio <= tall)
    return next(fitting, max(across / wide_mm, up / tall))


def _head_mm(words: Words, inside_mm: float) -> float:
    """Return the height of the title and of what stands below it."""
    title, under = broken(words.title, inside_mm, TITLE_MM), broken(words.below, inside_mm, TEXT_MM)
    return TITLE_LEAD_MM * len(title) + LEAD_MM * len(under)


def _notes_mm(words: Words, inside_mm: float) -> float:
    lines = sum(len(broken(note, inside_mm, TEXT_MM)) for note in words.notes)
    return LEAD_MM * lines + NOTE_GAP_MM * (len(words.notes) - 1)


def _named(frame: LayoutFrame, labels: Sequence[Sequence[Label]]) -> list[Named]:
    """Return every label with what it says at all speeds, at the middle of what it names at all of them."""
    found = []
    for same in zip(*labels, strict=True):
        xs, ys = zip(*(frame.on_page(label.at_mm) for label in same), strict=True)
        found.append(Named(tuple(label.text for label in same), (sum(xs) / len(xs), sum(ys) / len(ys))))
    return found
