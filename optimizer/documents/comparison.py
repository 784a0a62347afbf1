"""Layouts side by side: tables keyed by row and layout, what the rows are, which is proposed, their chart."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import groupby
from typing import Any

from optimizer.documents.basis import cautions_of, made_from, remark_sections
from optimizer.documents.blocks import (
    MARKDOWN,
    TERMINAL,
    Column,
    Document,
    Lines,
    Picture,
    Rank,
    Rows,
    Section,
    Table,
    Text,
    Verbatim,
    table_of,
)
from optimizer.documents.chart_text import chart_text
from optimizer.documents.data import json_text, schema_of
from optimizer.documents.figures import MM_PER, Units, counted, decimals, length, percent, span
from optimizer.documents.markdown import markdown
from optimizer.documents.terminal import screen
from optimizer.records.comparison import ComparedRow, ComparedStage, Comparison
from optimizer.records.speed_chart import ChartBand, ChartLine, SpeedChart

__all__ = [
    "CHART",
    "belt_table",
    "comparison_chart",
    "comparison_json",
    "comparison_paper",
    "comparison_schema",
    "comparison_screen",
    "layout_table",
    "making_table",
    "proof_table",
    "size_table",
    "speed_figures_table",
    "volume",
]

MARK = ">"
"""Sign before a row that no other beats, the same as in the speed chart on the terminal."""
CUBED = {"mm": "cm³", "cm": "cm³", "in": "in³"}
"""Units of volume that go with units of length."""
CHART = "speeds.svg"
"""Name of the chart's file beside the page."""


def comparison_screen(comparison: Comparison) -> str:
    """Return the comparison as text of at most 80 columns: tables, words, chart."""
    return screen(Document(comparison.scenario.title, (), tuple(_sections(comparison))))


def comparison_paper(comparison: Comparison) -> str:
    """Return the whole comparison as Markdown, in the maker's units."""
    lead = [Text(comparison.scenario.note)] if comparison.scenario.note else []
    lead.append(Text(f"{_proposal_words(comparison)}."))
    title = f"{comparison.scenario.title}: layouts side by side"
    return markdown(Document(title, lead, tuple(_sections(comparison))))


def _sections(comparison: Comparison) -> Iterator[Section]:
    """Yield the tables with what is said of them."""
    signs, without = list(_sign_words(comparison)), list(_without_words(comparison))
    yield cautions_of(comparison.cautions)
    layouts = [
        Rows(layout_table(comparison, parted=True), rank=Rank.ANSWER, only=TERMINAL),
        Rows(layout_table(comparison), only=MARKDOWN),
        Lines([f"{line}." for line in signs], only=MARKDOWN),
    ]
    layouts += [Text("No design:"), Lines(without)] if without else []
    yield Section("Layouts", layouts)
    said = "Speed chart: the spindle speeds of every row on a logarithmic scale, over the bands"
    speeds = Rows(speed_figures_table(comparison), rank=Rank.ANSWER)
    yield Section("Speeds", [speeds, Picture(CHART, said)])
    making, belts = Rows(making_table(comparison), rank=Rank.ANSWER), Rows(belt_table(comparison), rank=Rank.ANSWER)
    yield Section("Making: steps to turn, largest blank, timber, belt moves", [making], only=TERMINAL)
    said = "Steps to turn, largest blank, timber of all blanks, belts moved from the slowest speed to the fastest."
    yield Section("Making", [Text(said), making], only=MARKDOWN)
    yield Section("Belts", [belts])
    yield Section("", [Lines([_proposal_words(comparison), *signs], rank=Rank.ANSWER)], only=TERMINAL)
    if without:
        lines = [f"- {line}" for line in without]
        yield Section("No design", [Lines(lines, rank=Rank.ANSWER)], only=TERMINAL)
    drawn = chart_text(comparison_chart(comparison)).rstrip("\n")
    yield Section("", [Verbatim("Speed chart", drawn, rank=Rank.ANSWER)], only=TERMINAL)
    yield Section("Diameters", [Text("Over the rim, positions slowest first."), Rows(size_table(comparison))])
    proof = (
        Text(
            "Structural: no diameters within the limits give less; listed: the design over the listed sizes that the "
            "row comes from; final: as it is to be turned. Held: the most memory that pairs and tabulated choices "
            "took at once."
        ),
        Rows(proof_table(comparison), rank=Rank.PROOF),
    )
    yield Section("What was searched", proof)
    yield from remark_sections(comparison.remarks)
    yield made_from(f"scenario sha256 {comparison.scenario.sha256}", versions=comparison.versions)


def comparison_json(comparison: Comparison) -> str:
    """Return a comparison as JSON, keys in the order of the record, the same bytes for the same comparison."""
    return json_text(comparison.model_dump(mode="json"))


def comparison_schema() -> dict[str, Any]:
    """Return the JSON schema of a comparison document."""
    return schema_of(Comparison)


def layout_table(comparison: Comparison, *, parted: bool = False) -> Table:
    """Return every row with its order, its number of speeds, what it is among the others.

    `parted` sets an empty line between numbers of speeds, where one has several rows.
    """
    groups = [list(rows) for _, rows in groupby(comparison.rows, key=lambda row: len(row.speeds_rpm))]
    apart = parted and any(len(group) > 1 for group in groups)
    lines: list[ComparedRow | None] = []
    for group in groups:
        lines += [*([None] if lines and apart else []), *group]

    def of(cell: Callable[[ComparedRow], str]) -> Callable[[ComparedRow | None], str]:
        return lambda row: "" if row is None else cell(row)

    return table_of(
        lines,
        ("", of(lambda row: MARK if row.undominated else "")),
        ("row", of(lambda row: str(row.number))),
        ("layout", of(lambda row: row.name)),
        ("speeds", of(lambda row: str(len(row.speeds_rpm)))),
        ("order", of(lambda row: row.order)),
        ("what it is", of(_note_words)),
    )


def speed_figures_table(comparison: Comparison) -> Table:
    """Return how good the speeds of every row are, with what was proved of them."""
    return table_of(
        comparison.rows,
        ("row", lambda row: str(row.number)),
        ("layout", lambda row: row.name),
        ("end miss", lambda row: percent(row.end_miss, 1)),
        ("unevenness", lambda row: percent(row.unevenness, 1)),
        ("widest gap", lambda row: percent(row.widest_gap, 1)),
        ("J", lambda row: percent(row.j)),
        ("search", _proof_word),
        ("in bands", lambda row: "+".join(map(str, row.band_counts))),
    )


def making_table(comparison: Comparison) -> Table:
    """Return what every row asks of the maker, with what it is best at."""
    units, known = comparison.scenario.units, any(row.grip is not None for row in comparison.rows)

    def best(row: ComparedRow) -> str:
        return "everything" if len(row.best_at) == len(comparison.criteria) else ", ".join(row.best_at) or "nothing"

    return table_of(
        comparison.rows,
        ("row", lambda row: str(row.number)),
        ("layout", lambda row: row.name),
        ("steps", lambda row: str(row.turned_steps)),
        (f"blank {units}", lambda row: length(row.largest_disc_mm or None, units)),
        (f"timber {CUBED[units]}", lambda row: volume(row.timber_mm3, units)),
        ("grip", lambda row: decimals(row.grip)) if known else None,
        ("moves", lambda row: str(row.belt_moves)),
        ("best at", best),
    )


def belt_table(comparison: Comparison) -> Table:
    """Return the belts of every row with their centre distances and least wrap, a line a stage."""
    units = comparison.scenario.units
    return table_of(
        _stages(comparison),
        *_STAGE_KEY,
        ("belt", lambda at: at[2].marking),
        (f"centre distances {units}", lambda at: span(at[2].centres_mm, units)),
        ("least wrap °", lambda at: f"{at[2].least_wrap_deg:.0f}"),
    )


def size_table(comparison: Comparison) -> Table:
    """Return the outside diameters of every row, a line a stage, positions slowest first."""
    units = comparison.scenario.units

    def sizes(mm: Iterable[float]) -> str:
        return ", ".join(length(size, units) for size in mm)

    return table_of(
        _stages(comparison),
        *_STAGE_KEY,
        (f"driver {units}", lambda at: sizes(at[2].driver_outside_mm)),
        (f"driven {units}", lambda at: sizes(at[2].driven_outside_mm)),
    )


def proof_table(comparison: Comparison) -> Table:
    """Return what the search of every row looked at, and how good its design can be at all."""
    return table_of(
        comparison.rows,
        ("row", lambda row: str(row.number)),
        ("layout", lambda row: row.name),
        ("structural J", lambda row: percent(row.proof.structural, 3)),
        ("listed J", lambda row: percent(row.proof.listed, 3)),
        ("final J", lambda row: percent(row.j, 3)),
        ("combinations", lambda row: f"{row.proof.combinations:,}"),
        ("looked at", lambda row: f"{row.proof.examined:,}"),
        ("held MB", lambda row: f"{row.proof.held_bytes / 1e6:.1f}"),
    )


_Stage = tuple[ComparedRow, int, ComparedStage]
_STAGE_KEY: tuple[Column[_Stage], ...] = (
    ("row", lambda at: str(at[0].number) if at[1] == 1 else ""),
    ("layout", lambda at: at[0].name if at[1] == 1 else ""),
    ("stage", lambda at: str(at[1])),
)
"""What a stage of a row is known by, the row said once where it has several."""


def _stages(comparison: Comparison) -> Iterator[_Stage]:
    return ((row, number, stage) for row in comparison.rows for number, stage in enumerate(row.stages, 1))


def volume(mm3: float, units: Units) -> str:
    """Return a volume without its unit: whole cubic centimetres, or tenths of a cubic inch.

    Examples
    --------
    >>> volume(6_633_613, "mm"), volume(6_633_613, "in")
    ('6634', '404.8')
    """
    return f"{mm3 / MM_PER['in'] ** 3:.1f}" if units == "in" else f"{mm3 / 1000:.0f}"


def _note_words(row: ComparedRow) -> str:
    """Return what a row is among the others."""
    made_for = _listed([name for name in row.made_for if name != "least J"])
    notes = ["proposed"] if row.proposed else []
    notes += [f"best of {counted(len(row.speeds_rpm), 'speed')}"] if row.best_of_speeds else []
    notes += [made_for] if made_for else []
    notes += [] if row.advised else ["beyond what is advised"]
    return ", ".join(notes)


def _proof_word(row: ComparedRow) -> str:
    """Return what the search proved of a row, or the gap."""
    if row.proof.status == "proved":
        return "proved"
    return f"gap {percent(row.proof.gap)}" if row.proof.gap else "found"


def _proposal_words(comparison: Comparison) -> str:
    """Return which row is proposed."""
    row = next(row for row in comparison.rows if row.proposed)
    beyond = "" if row.advised else "; no layout has a design with both within what is advised"
    return f"Row {row.number}, layout {row.title}, is the one that is designed unless another is asked for{beyond}"


def _sign_words(comparison: Comparison) -> Iterator[str]:
    """Yield what the mark, the order of the rows, the words in the tables mean."""
    if len(comparison.rows) > 1:
        names = _listed([criterion.name for criterion in comparison.criteria])
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


def _without_words(comparison: Comparison) -> Iterator[str]:
    """Yield the layouts without a design, with the reason."""
    for entry in comparison.without:
        yield f"{'; '.join(entry.layouts)}: {entry.reason}"


def _listed(names: list[str]) -> str:
    """Return names as a list in a sentence.

    Examples
    --------
    >>> _listed(["a"]), _listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return " and ".join(part for part in (", ".join(names[:-1]), *names[-1:]) if part)


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
