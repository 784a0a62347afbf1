"""Layouts side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from typing import Any

from optimizer.documents.blocks import Table, paragraph, plain
from optimizer.documents.chart_text import chart_text
from optimizer.documents.data import json_text, schema_of
from optimizer.documents.figures import Units, length
from optimizer.quantities.shop import MM_PER
from optimizer.quantities.written import percent
from optimizer.records.comparison import ComparedRow, Comparison
from optimizer.records.speed_chart import ChartBand, ChartLine, SpeedChart

__all__ = [
    "MARK",
    "belt_table",
    "comparison_chart",
    "comparison_json",
    "comparison_paper",
    "comparison_schema",
    "comparison_screen",
    "layout_table",
    "listed",
    "making_table",
    "note_words",
    "proof_table",
    "proof_word",
    "proposal_words",
    "sign_words",
    "size_table",
    "speed_figures_table",
    "volume",
    "without_words",
]


MARK = ">"
"""Sign before a row that no other beats, the same as in the speed chart on the terminal."""


def note_words(row: ComparedRow) -> str:
    """Return what a row is among the others."""
    made_for = listed([name for name in row.made_for if name != "least J"])
    notes = ["proposed"] if row.proposed else []
    notes += [f"best of {speeds_words(row)}"] if row.best_of_speeds else []
    notes += [made_for] if made_for else []
    notes += [] if row.advised else ["beyond what is advised"]
    return ", ".join(notes)


def speeds_words(row: ComparedRow) -> str:
    """Return how many speeds a row has."""
    return "1 speed" if len(row.speeds_rpm) == 1 else f"{len(row.speeds_rpm)} speeds"


def proof_word(row: ComparedRow) -> str:
    """Return what the search proved of a row, or the gap."""
    if row.proof.status == "proved":
        return "proved"
    return f"gap {percent(row.proof.gap)}" if row.proof.gap else "found"


def proposal_words(comparison: Comparison) -> str:
    """Return which row is proposed."""
    row = next(row for row in comparison.rows if row.proposed)
    beyond = "" if row.advised else "; no layout has a design with both within what is advised"
    return f"Row {row.number}, layout {row.title}, is the one that is designed unless another is asked for{beyond}"


def sign_words(comparison: Comparison) -> Iterator[str]:
    """Yield what the mark, the order of the rows, the words in the tables mean."""
    if len(comparison.rows) > 1:
        names = listed([criterion.name for criterion in comparison.criteria])
        what = "order of every layout" if comparison.rows_are == "orders" else "layout in its best order"
        yield f"Mark {MARK} says that no other row is at least as good in each of {names}, and better in one"
        yield (
            f"One row for every {what}, by number of speeds; the best of a number of speeds is the one that would be "
            "proposed were there no other: within what is advised, then fewest steps to turn, fewest belt moves, "
            "least J"
        )
    yield (
        "J is the weighted sum of end miss and unevenness; proved: of all belts and listed sizes of the layout and "
        "order none makes it less. The row is that design, refined and rounded to what can be turned; conewright "
        "design looks further among sizes on whole ticks, and may come out some hundredths of a percent better; where "
        "belts in hand are stated it prefers them, and may come out worse by their slack"
    )
    if any("least J" not in row.made_for for row in comparison.rows):
        yield "Rows of least timber or smallest largest disc keep within the slack of the least J over the listed sizes"


def without_words(comparison: Comparison) -> Iterator[str]:
    """Yield the layouts without a design, with the reason."""
    for entry in comparison.without:
        yield f"{'; '.join(entry.layouts)}: {entry.reason}"


def listed(names: list[str]) -> str:
    """Return names as a list in a sentence.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return " and ".join(part for part in (", ".join(names[:-1]), *names[-1:]) if part)


Cells = Callable[[ComparedRow], Sequence[tuple[str, ...]]]
CUBED = {"mm": "cm³", "cm": "cm³", "in": "in³"}
"""Units of volume that go with units of length."""


def volume(mm3: float, units: Units) -> str:
    """Return a volume without its unit: whole cubic centimetres, or tenths of a cubic inch.

    Examples
    --------
    >>> volume(6_633_613, "mm"), volume(6_633_613, "in")
    ('6634', '404.8')
    """
    return f"{mm3 / MM_PER['in'] ** 3:.1f}" if units == "in" else f"{mm3 / 1000:.0f}"


def layout_table(comparison: Comparison, *, parted: bool = False) -> Table:
    """Return every row with its order, its number of speeds, what it is among the others.

    `parted` sets an empty line between numbers of speeds, where one has several rows.
    """
    heads = ("", "row", "layout", "speeds", "order", "what it is")
    groups = [list(rows) for _, rows in groupby(comparison.rows, key=lambda row: len(row.speeds_rpm))]
    apart = parted and any(len(group) > 1 for group in groups)
    lines: list[tuple[str, ...]] = []
    for group in groups:
        lines += [("",) * len(heads)] if lines and apart else []
        lines += [_layout(row) for row in group]
    return Table(heads, tuple(lines))


def _layout(row: ComparedRow) -> tuple[str, ...]:
    mark = MARK if row.undominated else ""
    return (mark, *_key(row), str(len(row.speeds_rpm)), row.order, note_words(row))


def speed_figures_table(comparison: Comparison) -> Table:
    """Return how good the speeds of every row are, with what was proved of them."""

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        shares = (percent(share, 1) for share in (row.end_miss, row.unevenness, row.widest_gap))
        return [(*_key(row), *shares, percent(row.j), proof_word(row), "+".join(map(str, row.band_counts)))]

    heads = ("row", "layout", "end miss", "unevenness", "widest gap", "J", "search", "in bands")
    return _table(comparison, heads, cells)


def making_table(comparison: Comparison) -> Table:
    """Return what every row asks of the maker, with what it is best at."""
    units = comparison.scenario.units

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        blank = length(row.largest_disc_mm or None, units)
        best = "everything" if len(row.best_at) == len(comparison.criteria) else ", ".join(row.best_at) or "nothing"
        grip = (f"{row.grip:.2f}" if row.grip is not None else "",) if known else ()
        made = (str(row.turned_steps), blank, volume(row.timber_mm3, units), *grip, str(row.belt_moves))
        return [(*_key(row), *made, best)]

    known = any(row.grip is not None for row in comparison.rows)
    grip_head = ("grip",) if known else ()
    heads = ("row", "layout", "steps", f"blank {units}", f"timber {CUBED[units]}", *grip_head, "moves", "best at")
    return _table(comparison, heads, cells)


def belt_table(comparison: Comparison) -> Table:
    """Return the belts of every row with their centre distances and least wrap, a line a stage."""
    units = comparison.scenario.units

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        return [
            (
                *_key(row, number),
                str(number),
                stage.marking,
                _span(stage.centres_mm, units),
                f"{stage.least_wrap_deg:.0f}",
            )
            for number, stage in enumerate(row.stages, 1)
        ]

    heads = ("row", "layout", "stage", "belt", f"centre distances {units}", "least wrap °")
    return _table(comparison, heads, cells)


def proof_table(comparison: Comparison) -> Table:
    """Return what the search of every row looked at, and how good its design can be at all."""

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        proof = row.proof
        counts = (f"{proof.combinations:,}", f"{proof.examined:,}", f"{proof.held_bytes / 1e6:.1f}")
        return [(*_key(row), *(percent(j, 3) for j in (proof.structural, proof.listed, row.j)), *counts)]

    heads = ("row", "layout", "structural J", "listed J", "final J", "combinations", "looked at", "held MB")
    return _table(comparison, heads, cells)


def size_table(comparison: Comparison) -> Table:
    """Return the outside diameters of every row, a line a stage, positions slowest first."""
    units = comparison.scenario.units

    def cells(row: ComparedRow) -> Sequence[tuple[str, ...]]:
        return [
            (
                *_key(row, number),
                str(number),
                *(_sizes(side, units) for side in (s.driver_outside_mm, s.driven_outside_mm)),
            )
            for number, s in enumerate(row.stages, 1)
        ]

    return _table(comparison, ("row", "layout", "stage", f"driver {units}", f"driven {units}"), cells)


def _table(comparison: Comparison, heads: tuple[str, ...], cells: Cells) -> Table:
    return Table(heads, tuple(line for row in comparison.rows for line in cells(row)))


def _key(row: ComparedRow, line: int = 1) -> tuple[str, str]:
    """Return what a row is known by, said once where it has several lines."""
    return (str(row.number), row.name) if line == 1 else ("", "")


def _span(mm: tuple[float, float], units: Units) -> str:
    return " to ".join(dict.fromkeys(length(end, units) for end in mm))


def _sizes(mm: tuple[float, ...], units: Units) -> str:
    return ", ".join(length(size, units) for size in mm)


def comparison_chart(comparison: Comparison) -> SpeedChart:
    """Return the chart: a line for every layout shown, at its least J, marked where no other row beats it."""
    return SpeedChart(
        title=f"{comparison.scenario.title}: the speeds of its layouts",
        bands=tuple(ChartBand(name=band.name, from_rpm=band.from_rpm, to_rpm=band.to_rpm) for band in comparison.bands),
        lines=tuple(
            ChartLine(label=_label(row), speeds_rpm=row.speeds_rpm, marked=row.undominated)
            for row in comparison.rows
            if "least J" in row.made_for
        ),
        ends=comparison.ends,
    )


def _label(row: ComparedRow) -> str:
    """Return number, layout and order, short enough to stand beside the plot."""
    order = "" if row.order == "one stage" else row.order.replace(" stage first", " first")
    return f"{row.number} {row.name} {order}".rstrip()


def comparison_screen(comparison: Comparison) -> str:
    """Return the comparison as text of at most 80 columns: tables, words, chart."""
    parts = [paragraph(comparison.scenario.title)]
    parts.append("Layouts\n" + layout_table(comparison, parted=True).text())
    parts.append("Speeds\n" + speed_figures_table(comparison).text())
    parts.append("Making: steps to turn, largest blank, timber, belt moves\n" + making_table(comparison).text())
    parts.append("Belts\n" + belt_table(comparison).text())
    said = (proposal_words(comparison), *sign_words(comparison))
    parts.append("\n".join(paragraph(line, indent="  ") for line in said))
    without = [paragraph(f"- {line}", indent="  ") for line in without_words(comparison)]
    if without:
        parts.append("\n".join(("No design", *without)))
    parts.append(chart_text(comparison_chart(comparison)).rstrip("\n"))
    return "\n\n".join(parts) + "\n"


CHART = "speeds.svg"
"""Name of the chart's file beside the page."""


def comparison_paper(comparison: Comparison) -> str:
    """Return the whole comparison as Markdown, in the maker's units."""
    return "\n\n".join((*_head(comparison), *_tables(comparison), *_basis(comparison))) + "\n"


def _head(comparison: Comparison) -> Iterator[str]:
    yield f"# {plain(comparison.scenario.title)}: layouts side by side"
    if comparison.scenario.note:
        yield plain(comparison.scenario.note)
    yield f"{plain(proposal_words(comparison))}."
    yield "## Before you build"
    yield "\n".join(f"- {line}" for line in comparison.cautions)


def _tables(comparison: Comparison) -> Iterator[str]:
    yield "## Layouts"
    yield layout_table(comparison).markdown()
    yield "\n".join(f"- {plain(line)}." for line in sign_words(comparison))
    if comparison.without:
        yield "No design:"
        yield "\n".join(f"- {plain(line)}" for line in without_words(comparison))
    yield "## Speeds"
    yield speed_figures_table(comparison).markdown()
    yield f"![Speed chart: the spindle speeds of every row on a logarithmic scale, over the bands]({CHART})"
    yield "## Making"
    yield "Steps to turn, largest blank, timber of all blanks, belts moved from the slowest speed to the fastest."
    yield making_table(comparison).markdown()
    yield "## Belts"
    yield belt_table(comparison).markdown()
    yield "## Diameters"
    yield "Over the rim, positions slowest first."
    yield size_table(comparison).markdown()
    yield "## What was searched"
    yield (
        "Structural: no diameters within the limits give less; listed: the design over the listed sizes that the row "
        "comes from; final: as it is to be turned. Held: the most memory that pairs and tabulated choices took at once."
    )
    yield proof_table(comparison).markdown()


def _basis(comparison: Comparison) -> Iterator[str]:
    if comparison.remarks:
        yield "## Remarks"
        yield "\n".join(f"- {plain(line)}" for line in comparison.remarks)
    yield "## Made from"
    lines = [
        f"- scenario sha256 {comparison.scenario.sha256}",
        *(f"- {v.name} {v.version}" for v in comparison.versions),
    ]
    yield "\n".join(lines)


def comparison_json(comparison: Comparison) -> str:
    """Return a comparison as JSON, keys in the order of the record, the same bytes for the same comparison."""
    return json_text(comparison.model_dump(mode="json"))


def comparison_schema() -> dict[str, Any]:
    """Return the JSON schema of a comparison document."""
    return schema_of(Comparison)
