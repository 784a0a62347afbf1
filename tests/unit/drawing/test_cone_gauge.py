"""Gauges of cones: the card fits the outline that is drawn in section, to be held by its straight edge."""

from __future__ import annotations

from itertools import pairwise
from math import atan2, degrees

import pytest

from optimizer.cuts.bench_words import BenchWords
from optimizer.drawing.cone_gauge import card_of, cone_gauge_sheet
from optimizer.drawing.cone_section import cone_section_sheet
from optimizer.drawing.sheet import Polyline
from tests.cones import TURNED, axis_of, cone_of, loops, placed, texts_of

PARTLY = {("polishing-head", 1, "driven"), ("slot-cutter", 1, "driven")}
WHOLE = [which for which in TURNED if which not in PARTLY]


@pytest.mark.parametrize("which", WHOLE)
def test_the_card_fits_the_section(which: tuple[str, int, str]) -> None:
    """The edge that is cut is the outline of the section, point by point, and closes at the stated edge."""
    job, cone = cone_of(*which)
    section = cone_section_sheet(job, cone)
    bodies = [placed(loop.points, axis_of(section)) for loop in loops(section, "outline")]
    body = max(bodies, key=len)[1:-1]
    card = loops(cone_gauge_sheet(job, cone), "cut")[0]
    edge = card_of(cone, BenchWords.of(job.scenario)).edge_mm
    top = max(y for _, y in card.points)
    right = max(x for x, _ in card.points)
    about = placed(card.points, (right - cone.width_mm, top - edge))
    for x, y in body:
        assert min(abs(x - a) + abs(y - b) for a, b in about) < 1e-5


@pytest.mark.parametrize("which", TURNED)
def test_what_is_cut_is_closed_lines(which: tuple[str, int, str]) -> None:
    """The layer that is cut along has closed outlines and nothing else: the card, one more for every kind of groove."""
    job, cone = cone_of(*which)
    sheet = cone_gauge_sheet(job, cone)
    kinds = {(s.rim, s.groove_deg, round(s.top_width_mm, 4)) for s in cone.turned if s.rim not in ("flat", "crowned")}
    assert all(isinstance(entity, Polyline) and entity.closed for entity in sheet.on("cut"))
    assert len(sheet.on("cut")) == 1 + len(kinds)


@pytest.mark.parametrize("which", TURNED)
def test_the_card_is_held_by_a_round_distance(which: tuple[str, int, str]) -> None:
    """The straight edge stands a multiple of 5 mm, or of a quarter of an inch, off the axis; its length is said."""
    job, cone = cone_of(*which)
    sizes = BenchWords.of(job.scenario)
    edge = card_of(cone, sizes).edge_mm
    unit = 6.35 if sizes.units == "in" else 5.0
    assert edge / unit == pytest.approx(round(edge / unit))
    said = f"this edge parallel to the axis, {sizes.bare(edge)} from it"
    assert said in texts_of(cone_gauge_sheet(job, cone))


def test_depths_from_the_edge_are_told() -> None:
    """From an edge 145 mm off the axis a rim of 93.1 mm is 98.45 mm down, its floor 12 mm more (by hand)."""
    job, cone = cone_of("pattern-mill", 2, "driver")
    assert card_of(cone, BenchWords.of(job.scenario)).edge_mm == 145.0
    said = texts_of(cone_gauge_sheet(job, cone))
    assert {"98.45", "110.45", "over pins 103.50", "rim ⌀93.10"} <= set(said)


def test_the_leg_lies_on_the_face() -> None:
    """Next to step 1 the card reaches 10 mm down the face, not as far as the bore."""
    job, cone = cone_of("pattern-mill", 2, "driver")
    card = card_of(cone, BenchWords.of(job.scenario))
    assert card.leg_mm == 10.0
    assert [y for x, y in card.outline if x == 0.0] == pytest.approx([93.1 / 2 - 10.0, 93.1 / 2])


def test_a_card_keeps_off_bought_steps() -> None:
    """Of three steps of which the first is turned, the card spans that alone."""
    job, cone = cone_of("polishing-head", 1, "driven")
    card = card_of(cone, BenchWords.of(job.scenario))
    assert (card.profile[0][0], card.profile[-1][0]) == (0.0, cone.steps[0].to_mm)


def test_a_tongue_has_the_angle_of_its_groove() -> None:
    """The tongues for 34, 36 and 38 degrees have flanks at these angles (GOST 20889-88, read)."""
    sheet = cone_gauge_sheet(*cone_of("pattern-mill", 2, "driver"))
    angles = []
    for tongue in loops(sheet, "cut")[1:]:
        steep = [(a, b) for a, b in pairwise(tongue.points) if 1 < abs(b[0] - a[0]) < 8 and abs(b[1] - a[1]) > 5]
        angles.append(round(sum(degrees(atan2(abs(b[0] - a[0]), abs(b[1] - a[1]))) for a, b in steep), 4))
    assert angles == [34.0, 36.0, 38.0]


def test_a_gauge_of_nothing_is_refused() -> None:
    """A cone of bought pulleys alone has no gauge."""
    job, cone = cone_of("pattern-mill", 1, "driver")
    with pytest.raises(ValueError, match=r"nothing of stage\[0\].driver is turned"):
        cone_gauge_sheet(job, cone)
