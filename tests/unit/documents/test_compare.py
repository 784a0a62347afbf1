"""Screen, page, document, chart of a comparison."""

from __future__ import annotations

import re

import pytest

from optimizer.documents.comparison import (
    CHART,
    belt_table,
    comparison_chart,
    comparison_paper,
    comparison_screen,
    layout_table,
    making_table,
    proof_table,
    size_table,
    speed_figures_table,
)
from optimizer.documents.data import schema_of
from optimizer.documents.figures import length
from optimizer.records.comparison import ComparedBand, ComparedRow, Comparison, WithoutDesign

TABLES = (layout_table, speed_figures_table, making_table, belt_table, proof_table, size_table)


def stretched(comparison: Comparison) -> Comparison:
    """Return a comparison as wide as one can be: twelve bands, three stages, the longest order, long markings."""
    row = comparison.rows[0]
    stage = row.stages[0].model_copy(update={"marking": "flat 1/8x2 in 12345 mm", "centres_mm": (25.4e3, 25.4e4)})
    wide: dict[str, object] = {
        "name": "2x3x4",
        "order": "interleaved 2·2·2·3 of stages 3·1·3·2",
        "title": "2x3x4, interleaved 2·2·2·3 of stages 3·1·3·2",
        "stages": (stage, stage, stage),
        "speeds_rpm": tuple(100.0 * 1.12**k for k in range(24)),
        "band_counts": (2,) * 12,
        "end_miss": 0.1,
        "unevenness": 0.1,
        "advised": False,
        "widest_gap": 12.345,
        "timber_mm3": 1e9,
        "belt_moves": 123,
        "made_for": ("least timber", "smallest largest disc"),
        "proof": row.proof.model_copy(update={"status": "found", "gap": 0.1234}),
    }
    bands = tuple(ComparedBand(name=f"band {n}", from_rpm=100 + n, to_rpm=2000 - n, want=1) for n in range(12))
    rows = (row, row.model_copy(update={**wide, "number": 28}))
    return comparison.model_copy(update={"rows": rows, "bands": bands})


def row_of(comparison: Comparison, number: int) -> ComparedRow:
    """Return a row by its number."""
    return comparison.rows[number - 1]


def test_every_field_of_the_schema_of_a_row_says_what_it_is_or_is_named_for_it() -> None:
    """Figures that need a word have one in the schema."""
    fields = schema_of(Comparison)["$defs"]["ComparedRow"]["properties"]
    for name in ("made_for", "band_counts", "largest_disc_mm", "timber_mm3", "undominated", "proposed", "widest_gap"):
        assert fields[name]["description"]


def test_screens_stay_within_eighty_columns(grinder_rows: Comparison, mixer_rows: Comparison) -> None:
    """No line is longer than 80 characters, none ends in a blank, whatever the rows hold."""
    for comparison in (grinder_rows, mixer_rows, stretched(mixer_rows)):
        for line in comparison_screen(comparison).splitlines():
            assert len(line) <= 80, line
            assert line == line.rstrip()


def test_screen_sets_rows_side_by_side(mixer_rows: Comparison) -> None:
    """Every row stands in each table with its number, layout, figures as they are in the document."""
    text = comparison_screen(mixer_rows)
    for row in mixer_rows.rows:
        key = rf"{row.number}  {re.escape(row.name)}"
        mark = ">" if row.undominated else " "
        assert re.search(rf"^{mark} +{key} +{len(row.speeds_rpm)}  {row.order}", text, re.MULTILINE)
        shares = rf"{100 * row.end_miss:.1f} % +{100 * row.unevenness:.1f} % +{100 * row.widest_gap:.1f} %"
        counts = re.escape("+".join(map(str, row.band_counts)))
        assert re.search(rf"^ *{key} +{shares} +{100 * row.j:.2f} %  proved  {counts}$", text, re.MULTILINE)
        made = (
            rf"{row.turned_steps} +{row.largest_disc_mm / 25.4:.3f} +{row.timber_mm3 / 16387.064:.1f} +{row.belt_moves}"
        )
        assert re.search(rf"^ *{key} +{made}  ", text, re.MULTILINE)
        assert re.search(rf"^ *{key} +1  {row.stages[0].marking} ", text, re.MULTILINE)


def test_numbers_of_speeds_are_set_apart_where_one_has_several_rows(mixer_rows: Comparison) -> None:
    """An empty line stands between six and eight speeds in the layouts' table, and none within the eight."""
    lines = layout_table(mixer_rows, parted=True).rows
    counts = [line[3] for line in lines]
    assert counts.count("") == len({len(row.speeds_rpm) for row in mixer_rows.rows}) - 1
    assert [count for count in counts if count] == [str(len(row.speeds_rpm)) for row in mixer_rows.rows]
    assert all(line[3] for line in layout_table(mixer_rows).rows)


def test_the_proposal_is_marked_in_words(mixer_rows: Comparison) -> None:
    """One row is called proposed in the table, and a sentence says which."""
    (row,) = (row for row in mixer_rows.rows if row.proposed)
    notes = [line[-1] for line in layout_table(mixer_rows).rows]
    assert [note.startswith("proposed, best of 6 speeds") for note in notes].count(True) == 1
    for text in (comparison_screen(mixer_rows), comparison_paper(mixer_rows)):
        assert f"Row {row.number}, layout {row.title}, is the one that is designed" in text


def test_layouts_without_a_design_are_listed_with_their_reason(mixer_rows: Comparison) -> None:
    """The reasons stand below the tables, one entry for all layouts that share one; nothing where all have rows."""
    none = WithoutDesign(layouts=("1x3", "1x4"), outcome="no design", reason="nothing fits")
    told = mixer_rows.model_copy(update={"without": (none,)})
    assert "\nNo design\n- 1x3; 1x4: nothing fits\n" in comparison_screen(told)
    assert "\n- 1x3; 1x4: nothing fits\n" in comparison_paper(told)
    assert "No design" not in comparison_screen(mixer_rows.model_copy(update={"without": ()}))


def test_page_is_sound_markdown(grinder_rows: Comparison, mixer_rows: Comparison) -> None:
    """All lines of a table have as many cells as its head, no line starts a quotation, the title does no harm."""
    for comparison in (grinder_rows, mixer_rows, stretched(grinder_rows)):
        text = comparison_paper(comparison)
        for table in re.findall(r"(?:^\|.*\n)+", text, re.MULTILINE):
            assert len({len(re.findall(r"(?<!\\)\|", line)) for line in table.splitlines()}) == 1
        assert not re.search(r"^(- )?>", text, re.MULTILINE)
        assert f"]({CHART})" in text
        assert comparison.scenario.sha256 in text


def test_page_gives_every_diameter(mixer_rows: Comparison) -> None:
    """The sizes stand there as they are to be turned, over the rim, in the maker's units."""
    text = comparison_paper(mixer_rows)
    for row in mixer_rows.rows:
        for stage in row.stages:
            sides = (stage.driver_outside_mm, stage.driven_outside_mm)
            sizes = (", ".join(length(mm, "in") for mm in side) for side in sides)
            assert f"| {' | '.join(sizes)} |" in text


def test_chart_has_a_line_a_layout_with_its_speeds(grinder_rows: Comparison) -> None:
    """Extremes, whose speeds differ by next to nothing, have no line of their own."""
    chart = comparison_chart(grinder_rows)
    (line,) = chart.lines
    assert line.speeds_rpm == row_of(grinder_rows, 1).speeds_rpm
    assert line.marked is row_of(grinder_rows, 1).undominated
    assert [(band.name, band.from_rpm, band.to_rpm) for band in chart.bands] == [
        ("stropping", 500, 900),
        ("grinding", 900, 1700),
    ]
    assert all(chart.in_band(speed) for speed in line.speeds_rpm)


@pytest.mark.parametrize("table", TABLES, ids=lambda t: str(t.__name__))
def test_every_row_is_in_every_table(mixer_rows: Comparison, table: object) -> None:
    """No table leaves out a row."""
    assert callable(table)
    column = 1 if table is layout_table else 0
    keys = [line[column] for line in table(mixer_rows).rows if line[column]]
    assert keys == [str(row.number) for row in mixer_rows.rows]


def test_one_row_alone_is_told_without_what_others_are_needed_for(mixer_rows: Comparison) -> None:
    """A single row is best at everything, and no sentence speaks of other rows."""
    row = mixer_rows.rows[0].model_copy(update={"best_at": tuple(c.name for c in mixer_rows.criteria)})
    text = comparison_screen(mixer_rows.model_copy(update={"rows": (row,)}))
    assert re.search(r"^ *1  2x3 .*  everything$", text, re.MULTILINE)
    assert "no other row" not in text
    assert "no other row" in comparison_screen(mixer_rows)
