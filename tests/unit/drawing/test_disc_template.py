"""Templates of discs: circles at their sizes, every disc counted once, no more paper than is needed."""

from __future__ import annotations

from functools import cache

import pytest

from optimizer.drawing.disc_template import disc_template_sheet, disc_template_sheets, discs_of
from optimizer.drawing.pages import PAPERS, paged
from optimizer.drawing.placing import room_of
from optimizer.drawing.sheet import Circle, Line, Sheet
from tests.cones import TURNED, cone_of, loops, texts_of


@cache
def _drawn(which: tuple[str, int, str]) -> tuple[Sheet, ...]:
    return disc_template_sheets(*cone_of(*which))


@pytest.mark.parametrize("which", TURNED)
def test_every_disc_is_on_one_template(which: tuple[str, int, str]) -> None:
    """The discs of all templates together are the layers of the cone, or its turned steps; no two have one size."""
    _, cone = cone_of(*which)
    discs = discs_of(cone)
    assert sum(disc.make for disc in discs) == len(cone.layers or cone.turned)
    assert sorted(number for disc in discs for number in disc.layers) == [layer.number for layer in cone.layers]
    assert len({(disc.round_mm, disc.square_mm) for disc in discs}) == len(discs)


@pytest.mark.parametrize("which", TURNED)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_template_fits_on_one_page(which: tuple[str, int, str], paper: str) -> None:
    """However large the disc, its template needs one page, as of a large one the middle alone is drawn."""
    if "hostile" not in which[0]:
        for sheet in _drawn(which):
            assert len(paged(sheet, PAPERS[paper])) == 1


def test_circles_have_their_sizes() -> None:
    """Whole: blank 97.1, finished 93.1, bore of 35 for the hub, dashed square, all about the centre of the cross."""
    job, cone = cone_of("pattern-mill", 2, "driver")
    sheet = disc_template_sheet(job, cone, discs_of(cone)[0])
    circles = {e.note: e for e in sheet.entities if isinstance(e, Circle)}
    assert {note: round(2 * circle.radius_mm, 6) for note, circle in circles.items()} == {
        "blank": 97.1,
        "finished": 93.1,
        "bore": 35.0,
    }
    level, upright = (line for line in sheet.on("axis") if isinstance(line, Line))
    assert {circle.centre for circle in circles.values()} == {(upright.start[0], level.start[1])}
    (square,) = loops(sheet, "square")
    room = room_of([square])
    assert (room.right - room.left, room.high - room.low) == pytest.approx((97.1, 97.1))


def test_of_a_large_disc_the_middle_is_drawn() -> None:
    """Of a disc of 202.1 mm the middle 150 mm are drawn with the bore; the radii of the rest are said."""
    job, cone = cone_of("pattern-mill", 2, "driver")
    sheet = disc_template_sheet(job, cone, discs_of(cone)[2])
    (square,) = loops(sheet, "cut")
    room = room_of([square])
    assert (room.right - room.left, room.high - room.low) == pytest.approx((150.0, 150.0))
    assert [e.note for e in sheet.entities if isinstance(e, Circle)] == ["bore"]
    assert "edge of the square 103.05, disc 103.05, finished 101.05." in " ".join(texts_of(sheet))


def test_the_whole_disc_is_drawn_when_it_is_asked_for() -> None:
    """The same disc is drawn whole on demand, tiled onto several pages."""
    job, cone = cone_of("pattern-mill", 2, "driver")
    sheet = disc_template_sheet(job, cone, discs_of(cone)[2], centre_only=False)
    assert {e.note for e in sheet.entities if isinstance(e, Circle)} == {"blank", "finished", "bore"}
    assert len(paged(sheet, PAPERS["A4"])) == 2


def test_the_grain_of_neighbours_crosses() -> None:
    """Layers 1 and 2 are of one disc: a level arrow for the one, an upright one for the other, each named."""
    job, cone = cone_of("pattern-mill", 2, "driver")
    sheet = disc_template_sheet(job, cone, discs_of(cone)[0])
    level, upright = (line for line in sheet.on("thin") if isinstance(line, Line))
    assert level.start[1] == level.end[1]
    assert upright.start[0] == upright.end[0]
    assert {"grain of layer 1", "grain of layer 2"} <= set(texts_of(sheet))
    assert "step 1, layers 1, 2: make 2" in " ".join(texts_of(sheet))


def test_discs_of_one_size_share_a_template() -> None:
    """Blanks of a set size serve steps of different diameters: one template, with both finished circles."""
    job, cone = cone_of("bench-drill")
    step = cone.turned[0].model_copy(update={"blank_mm": cone.turned[1].blank_mm})
    (first, *_) = discs_of(cone.model_copy(update={"steps": (step, *cone.steps[1:])}))
    assert (first.positions, first.finished_mm) == ((1, 2), (62.0, 85.5))
    notes = [e.note for e in disc_template_sheet(job, cone, first).entities if isinstance(e, Circle)]
    assert notes.count("finished") == 2


def test_bought_pulleys_need_no_template() -> None:
    """A cone of bought pulleys has none."""
    assert disc_template_sheets(*cone_of("pattern-mill", 1, "driver")) == ()
