"""The speed plate on its sheet."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import pi

import pytest

from optimizer.drawing import Sheet
from optimizer.drawing.sheet import Arc, Circle, Line, Polyline, Text
from optimizer.drawing.speed_axis import speed_label
from optimizer.drawing.speed_plate import speed_plate_sheet
from optimizer.quantities import shop_length
from tests.band_saw import SAWS
from tests.clear_sheets import box
from tests.jobs import JOBS, job, job_from


@cache
def plate(name: str) -> Sheet:
    """Return the plate of a machine."""
    return speed_plate_sheet(job_from(SAWS[name]) if name in SAWS else job(name))


def texts(name: str) -> list[str]:
    """Return every line of lettering."""
    return [text.text for text in plate(name).on("words") if isinstance(text, Text)]


def edges(name: str) -> tuple[float, float, float, float]:
    """Return the plate's outline: left, low, right, high."""
    boxes = [box(entity) for entity in plate(name).on("cut")]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


@pytest.mark.parametrize("name", [*JOBS, *SAWS])
def test_what_is_engraved_lies_within_the_outline(name: str) -> None:
    """What is engraved stays within the outline, 4 mm off its edges."""
    left, low, right, high = edges(name)
    for layer in ("engrave", "engrave belts", "words"):
        for entity in plate(name).on(layer):
            room = box(entity)
            assert left + 4 < room[0] and room[2] < right - 4 and low + 4 < room[1] and room[3] < high - 4


@pytest.mark.parametrize("name", JOBS)
def test_it_can_be_read_at_arms_length(name: str) -> None:
    """Speeds are 5 mm high or more, all else on the plate 3 mm: 0.3 degrees at 0.6 m (common practice, no source)."""
    speeds = {speed_label(speed.rpm) for speed in job(name).design.machine.speeds if speed.on_plate}
    for text in plate(name).on("words"):
        assert isinstance(text, Text)
        assert text.height_mm >= (5 if text.text in speeds else 3)
    assert speeds <= set(texts(name))


@pytest.mark.parametrize("name", JOBS)
def test_nothing_is_told_by_colour(name: str) -> None:
    """All pens are black and nothing is filled on the plate."""
    assert {layer.ink for layer in plate(name).layers} == {"black"}
    assert {layer.name for layer in plate(name).layers} >= {"cut", "engrave", "engrave belts", "words"}
    assert plate(name).scale == 1
    kinds = {type(entity) for layer in ("cut", "engrave", "engrave belts") for entity in plate(name).on(layer)}
    assert kinds <= {Line, Arc, Circle, Polyline}


@pytest.mark.parametrize("name", JOBS)
def test_holes_stand_where_their_distances_say(name: str) -> None:
    """Four holes of 4.5 mm stand 6 mm from two edges each; their distances are written beside the plate."""
    left, low, right, high = edges(name)
    holes = [entity for entity in plate(name).on("cut") if isinstance(entity, Circle)]
    assert {hole.radius_mm for hole in holes} == {2.25}
    places = {(round(hole.centre[0], 6), round(hole.centre[1], 6)) for hole in holes}
    assert places == {(round(x, 6), round(y, 6)) for x in (left + 6, right - 6) for y in (low + 6, high - 6)}
    notes = {text.text for text in plate(name).on("notes") if isinstance(text, Text)}
    lengths = (right - left, right - left - 12, high - low, high - low - 12)
    making = job(name).scenario.making
    assert {shop_length(size, job(name).scenario.units, making.division_mm) for size in lengths} <= notes


@pytest.mark.parametrize("name", JOBS)
def test_the_outline_is_closed(name: str) -> None:
    """Four straight edges and four quarters of a circle meet end to end."""
    outline = [entity for entity in plate(name).on("cut") if not isinstance(entity, Circle)]
    ends = [round(c, 6) for e in outline if isinstance(e, Line) for p in (e.start, e.end) for c in p]
    arcs = [entity for entity in outline if isinstance(entity, Arc)]
    assert (len(ends), len(arcs)) == (16, 4)
    touching = {(round(x, 6), round(y, 6)) for e in outline if isinstance(e, Line) for x, y in (e.start, e.end)}
    for arc in arcs:
        low_x, low_y, high_x, high_y = (round(edge, 6) for edge in box(arc))
        assert len(touching & {(x, y) for x in (low_x, high_x) for y in (low_y, high_y)}) == 2


@pytest.mark.parametrize("name", JOBS)
def test_pictures_show_the_cones_with_the_belt_on_its_steps(name: str) -> None:
    """Bars stand to each other as the outside diameters; the thick line runs through the column of the position.

    A belt whose driver is the cone of the belt before has its slowest position at the right, as on the machine.
    """
    machine = job(name).design.machine
    bars = [box(entity) for entity in plate(name).on("engrave") if isinstance(entity, Polyline)]
    lines = [entity for entity in plate(name).on("engrave belts") if isinstance(entity, Line)]
    place, count = 0, 0
    for speed in (speed for speed in machine.speeds if speed.on_plate):
        for stage, number in zip(machine.stages, speed.positions, strict=True):
            own = bars[place : place + 2 * len(stage.positions)]
            place += len(own)
            heights = [high - low for _, low, _, high in own]
            ordered = stage.positions[::-1] if stage.shared_driver else stage.positions
            sizes = [size for p in ordered for size in (p.driver.outside_mm, p.driven.outside_mm)]
            assert [height / heights[0] for height in heights] == pytest.approx([size / sizes[0] for size in sizes])
            belt = lines[count]
            count += 1
            columns = [k for k, bar in enumerate(own[::2], 1) if bar[0] < belt.start[0] < bar[2]]
            assert [ordered[column - 1].number for column in columns] == [number]
            assert {belt.start[1], belt.end[1]} == {own[0][1], own[1][3]}
    assert (place, count) == (len(bars), len(lines))


def test_rows_rise_with_the_speed() -> None:
    """The slowest speed stands at the top."""
    speeds = [f"{speed.rpm:.0f}" for speed in job("pattern-mill").design.machine.speeds]
    heights = [
        text.at[1] for text in plate("pattern-mill").on("words") if isinstance(text, Text) and text.text in speeds
    ]
    assert len(heights) == 6
    assert all(a > b for a, b in pairwise(heights))


def test_eighteen_speeds_fit() -> None:
    """The most speeds that a machine may have stand on a plate that A4 paper holds, 297 mm high."""
    assert len(job("eighteen").design.machine.speeds) == 18
    assert plate("eighteen").height_mm < 297
    assert plate("eighteen").width_mm < 210


def test_work_is_told_where_it_is_asked_for() -> None:
    """The greatest work is 22 m/s, or 30 m/s, over pi times the speed, rounded down; no column where nobody asks."""
    rows = zip(job("polishing-head").design.machine.speeds, (22, 30, 30), strict=True)
    for speed, most_m_s in rows:
        assert f"to {int(most_m_s / (pi * speed.rpm / 60) * 1000)} mm" in texts("polishing-head")
    assert "work" in texts("polishing-head")
    assert "work" not in texts("pattern-mill")


def test_work_is_never_larger_than_the_machine_takes() -> None:
    """Where slow speeds would suit more, the plate stops at the stated 300 mm."""
    assert texts("eighteen").count("to 300 mm") == 12


@pytest.mark.parametrize("name", JOBS)
def test_it_says_what_to_do_first(name: str) -> None:
    """Stop, plug, guards, and the speed marked on tools stand on every plate, with every belt's name."""
    words = " ".join(texts(name))
    for said in ("STOP AND PULL THE PLUG", "guards shut", "speed marked on it", "slowest speed first"):
        assert said in words
        assert said in plate(name).said
    for stage in job(name).design.machine.stages:
        assert stage.marking in words


@pytest.mark.parametrize(
    ("name", "slowest", "fastest", "wheel"),
    [
        ("metric saw", "25 m/min", "100 m/min", "300 mm"),
        ("inch saw", "80 ft/min", "320 ft/min", "12 in"),
    ],
)
def test_every_speed_has_the_speed_of_the_blade(name: str, slowest: str, fastest: str, wheel: str) -> None:
    """The column is headed by what runs so fast, in the unit that was written; the wheel is named below."""
    column = [text for text in texts(name) if text.endswith(slowest.partition(" ")[2])]
    assert (len(column), column[0], column[-1]) == (4, slowest, fastest)
    assert "blade" in texts(name) and "work" not in texts(name)
    assert f"on a wheel of {wheel}." in " ".join(texts(name))
    assert f"blade {fastest}" in plate(name).said and "\x02" not in plate(name).said


def test_blades_on_two_wheels_are_told_apart() -> None:
    """Where not all is told of one diameter, each speed says of which."""
    assert len([text for text in texts("saw of two wheels") if text.startswith("blade 300 mm: ")]) == 2
    assert len([text for text in texts("saw of two wheels") if text.startswith("blade 280 mm: ")]) == 2
