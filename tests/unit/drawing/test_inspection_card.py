"""The inspection card on its sheet."""

from __future__ import annotations

from functools import cache

import pytest

from optimizer.catalogue.grooves import groove
from optimizer.catalogue.sections import section
from optimizer.drawing import Sheet
from optimizer.drawing.inspection_card import belt_checks, belt_top, cone_checks, inspection_card_sheet
from optimizer.drawing.sheet import Line, Text
from optimizer.records.sheet import StepSheet
from tests.jobs import JOBS, job


@cache
def card(name: str) -> Sheet:
    """Return the card of a machine."""
    return inspection_card_sheet(job(name))


def words(name: str) -> str:
    """Return all lettering, in the order it is written."""
    return " ".join(text.text for text in card(name).on("words") if isinstance(text, Text))


def step(name: str, datum_mm: float) -> StepSheet:
    """Return a pulley with the metric groove of a section."""
    cut = groove(section(name), datum_mm)
    return StepSheet(
        outside_mm=datum_mm + cut.outside_less_datum_mm,
        datum_mm=datum_mm,
        pitch_mm=datum_mm,
        source="ready",
        rim="v",
        groove_deg=cut.angle_deg or None,
        top_width_mm=cut.top_width_mm,
        groove_depth_mm=cut.depth_mm,
        rim_speed_m_s=5,
    )


@pytest.mark.parametrize("name", JOBS)
def test_it_is_as_wide_as_a5_and_not_much_higher(name: str) -> None:
    """A5 is 148 x 210 mm (ISO 216, from memory); many belts and long names may make it a little higher."""
    assert card(name).width_mm == 148
    assert 210 <= card(name).height_mm < 260
    assert card(name).scale == 1


@pytest.mark.parametrize(
    ("name", "new", "worn"),
    [
        # GOST 20889-88 and GOST 1284.3-96 (read): height of belt, h + b of groove.
        ("A", 0.0, -2.0),  # 8 high; floor 8.7 + 3.3 - 8 = 4.0 below it: a quarter of 8 is half of 4
        ("B", 0.0, -2.0),  # 11 high; 10.8 + 4.2 - 11 = 4.0: half of 4, less than a quarter of 11
        ("Z", 0.0, -1.5),  # 6 high; 7.0 + 2.5 - 6 = 3.5: a quarter of 6, less than half of 3.5
    ],
)
def test_the_top_of_a_belt_may_sink_so_far(name: str, new: float, worn: float) -> None:
    """A new top is flush in a metric groove, and sinks by a quarter of its height or half of the room below it."""
    top = belt_top(name, step(name, 150.0))
    assert top is not None
    assert (top.new_mm, top.worn_mm) == pytest.approx((new, worn), abs=1e-9)


@pytest.mark.parametrize("name", ["PJ 4", "round 8", "flat 3x40"])
def test_belts_that_do_not_wedge_have_no_such_limit(name: str) -> None:
    """Ribbed, round and flat belts are not judged by where their top stands."""
    assert belt_top(name, step(name, 150.0)) is None


@pytest.mark.parametrize("name", JOBS)
def test_every_belt_is_renewed_at_its_worn_out_centres(name: str) -> None:
    """Belts of moving shafts name the worn-out centre distance, in words and in the row of limits."""
    made = job(name)
    said = list(belt_checks(made))
    assert len(said) == len(made.design.machine.stages)
    for line, stage in zip(said, made.design.machine.stages, strict=True):
        if not stage.centres.travel_mm:
            assert "shafts do not move" in line
            continue
        worn = stage.centres.worn_out_mm
        assert worn is not None
        figure = {"mm": f"{worn:.2f}", "cm": f"{worn / 10:.3f}", "in": f"{worn / 25.4:.3f}"}[made.scenario.units]
        assert figure in line
        assert figure in words(name)


def test_run_out_is_that_of_the_standard() -> None:
    """G20 (read): 0.15 mm per 100 mm of diameter to 16 revolutions a second, 0.10 above; the mill idles at 13.2, 28.7.

    What cones of 1.54, 1.21, 1.40 kg (the cut list) may keep stands in grams at the rim, by G16: m·16/ω/r.
    """
    driven, driver, spindle = (line.replace("\x02", " ") for line in cone_checks(job("pattern-mill")))
    assert "at 222.60 at most 0.33;" in driven  # 2.226 x 0.15 = 0.3339
    assert "at 202.10 at most 0.30;" in driver  # 2.021 x 0.15 = 0.3032
    assert "at 215.60 at most 0.22;" in spindle  # 2.156 x 0.10 = 0.2156
    assert "unbalance at most 2.7 g at its rim, 111.30 from the axis;" in driven  # 1.54·16/82.68/0.1113 = 2.68
    assert "unbalance at most 2.3 g at its rim, 101.05 from the axis;" in driver  # 1.21·16/82.68/0.10105 = 2.32
    assert "unbalance at most 1.2 g at its rim, 107.80 from the axis;" in spindle  # 1.40·16/180.6/0.1078 = 1.15


def test_bought_pulleys_are_not_told_how_true_to_run() -> None:
    """Cones that are not turned have no line of their own."""
    assert len(list(cone_checks(job("bench-drill")))) == sum(
        any(getattr(p, side).source == "turned" for p in stage.positions)
        for stage in job("bench-drill").design.machine.stages
        for side in ("driver", "driven")
    )
    assert not list(cone_checks(job("tool-grinder")))


@pytest.mark.parametrize("name", JOBS)
def test_there_are_rows_to_fill_in(name: str) -> None:
    """Below headings and limits stand ten rows or more, with a column for every belt's centres and top."""
    levels = {
        line.start[1] for line in card(name).on("table") if isinstance(line, Line) and line.start[1] == line.end[1]
    }
    assert len(levels) >= 10 + 3
    stages = len(job(name).design.machine.stages)
    for head in ("date", "cracks", "initials", *(f"centres {k + 1}" for k in range(stages)), f"top {stages}"):
        assert head in words(name)


@pytest.mark.parametrize("name", JOBS)
def test_it_tells_the_direction_of_run_with_cautions(name: str) -> None:
    """Every shaft's turning is said and drawn; guards, plug, electrician, codes and cracks are named."""
    made = job(name)
    assert f"{made.design.machine.spindle} turns {made.design.machine.turns}." in words(name)
    shafts = len(made.design.machine.speeds[0].shafts)
    assert len(card(name).on("turning")) == 2 * shafts
    for said in (
        "STOP AND PULL THE PLUG",
        "Guards go back",
        "licensed electrician",
        "local codes",
        "Cracks: plug pulled",
    ):
        assert said in words(name)
        assert said in card(name).said


@pytest.mark.parametrize(("name", "timber"), [("grindstone", True), ("polishing-head", False), ("old-drill", False)])
def test_only_cones_of_timber_are_tapped(name: str, timber: bool) -> None:
    """Cracks are heard in timber, and seen in metal, which has no glue lines."""
    assert ("tap every cone of timber" in card(name).said) is timber
    assert ("glue lines" in card(name).said) is timber
