"""The speed chart on a terminal."""

from __future__ import annotations

import pytest

from optimizer.documents.chart_text import chart_text
from optimizer.documents.terminal import columns
from optimizer.drawing.speed_axis import axis_of, band_span, line_span, speed_label
from optimizer.records.speed_chart import SpeedChart
from tests.charts import CHARTS, band, line

THREE = SpeedChart(
    title="Glass grinder",
    bands=(band("coarse", 120, 300), band("fine", 300, 750)),
    lines=(
        line("1x3", [125, 290, 720], marked=True),
        line("2x2", [110, 130, 240, 131]),
    ),
    ends=0.03,
)

EXPECTED = """
Glass grinder

  band                                                             rpm
  coarse      |=======================|                               120 to 300
  fine                                |=======================|       300 to 750

  layout                                                           speeds: rpm
> 1x3         :*---------------------*:----------------------*:    3: 125 to 720
  2x2       o : *               *     :                       :    4: 110 to 240
              : *                     :                       :
          -----+------+----+-----+-----+------+-----+-----+------
              125    160  200   250   315    400   500   630

  spindle speed, rpm, on a logarithmic scale
* in a band
o outside every band
> no other layout is as good in everything and better in something
"""


def test_the_whole_chart() -> None:
    """Bands and lines stand on one scale, marked and hollow signs are explained, close speeds stand below each other.

    Of 80 columns, 10 are before the plot, 15 behind it, 55 its own. Its axis spans ln(750/110)/0.94 = 2.0421 from
    103.46 rpm on, so that a speed n falls on column 54·ln(n/103.46)/2.0421: 110 on 1.6, 120 on 3.9, 130 and 131 on
    6.0 and 6.2, 300 on 28.2, 750 on 52.4. The band from 120 is widened by 3 % to 116.5, so 110 is outside.
    """
    assert chart_text(THREE).splitlines() == EXPECTED.strip("\n").splitlines()


@pytest.mark.parametrize("width", [40, 41, 60, 80, 132])
@pytest.mark.parametrize("name", CHARTS)
def test_no_line_is_too_long(name: str, width: int) -> None:
    """At every width all lines fit, none ends in a blank, and only names hold signs beyond ASCII."""
    chart = CHARTS[name]
    lines = chart_text(chart, width).splitlines()
    assert all(columns(one) <= width and one == one.rstrip() and one.isprintable() for one in lines)
    if name not in ("long names", "odd names"):
        assert all(map(str.isascii, lines))


@pytest.mark.parametrize("width", [40, 80])
@pytest.mark.parametrize("name", CHARTS)
def test_nothing_is_left_out(name: str, width: int) -> None:
    """Every span is there, with every number of speeds."""
    chart = CHARTS[name]
    text = chart_text(chart, width)
    spans = [band_span(owner) for owner in chart.bands]
    spans += [f"{len(owner.speeds_rpm)}: {line_span(owner)}" for owner in chart.lines]
    assert [span for span in spans if span not in text] == []


@pytest.mark.parametrize("width", [40, 80])
@pytest.mark.parametrize("name", sorted(set(CHARTS) - {"long names"}))
def test_every_speed_has_a_sign(name: str, width: int) -> None:
    """There are as many signs of speeds as there are speeds that read differently, line by line."""
    chart = CHARTS[name]
    for owner in chart.lines:
        alone = chart.model_copy(update={"lines": (owner.model_copy(update={"label": "", "marked": False}),)})
        rows = chart_text(alone, width).splitlines()
        start = next(index for index, row in enumerate(rows) if row.lstrip().startswith("layout")) + 1
        end = next(index for index, row in enumerate(rows) if set(row.strip()) == {"+", "-"})
        signs = "".join(rows[start:end])
        assert signs.count("*") + signs.count("o") - signs.count("to") == len({*map(speed_label, owner.speeds_rpm)})


def test_a_speed_at_the_geometric_mean_sits_half_way() -> None:
    """The sign of the geometric mean of two speeds stands midway between theirs, to half a column."""
    chart = SpeedChart(title="t", lines=(line("x", [100, 200, 400]),))
    (row,) = [row for row in chart_text(chart, 120).splitlines() if "*" in row]
    first, middle, last = [place for place, sign in enumerate(row) if sign == "*"]
    assert abs((first + last) / 2 - middle) <= 0.5
    assert axis_of(chart).place(200) == pytest.approx(0.5)


def test_a_narrow_terminal_is_refused() -> None:
    """Below 40 columns there is no chart, and the error says so."""
    with pytest.raises(ValueError, match="a chart needs at least 40 columns, not 39"):
        chart_text(THREE, 39)


def test_edges_that_would_hide_the_speeds_are_left_out() -> None:
    """Edges of the bands run through the lines where they are few, and not where they take every other column."""
    few, many = CHARTS["3 bands, 7 lines, reach 1.1"], CHARTS["12 bands, 30 lines, reach 1.3"]
    assert ":  " in chart_text(few).split("layout")[1].replace("speeds:", "")
    rows = chart_text(many.model_copy(update={"lines": many.lines[:1]}), 50).split("speeds: rpm")[1].splitlines()
    assert [row.count(":") for row in rows if "*" in row and "in a band" not in row] == [0]
