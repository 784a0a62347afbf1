"""The speed plate of machines whose bands are stated by the speed of a blade or wheel."""

from __future__ import annotations

from functools import cache

import pytest

from optimizer.drawing import Sheet
from optimizer.drawing.sheet import Text
from optimizer.drawing.speed_plate import speed_plate_sheet
from tests.band_saw import BAND_SAW, INCH_SAW
from tests.clear_sheets import box, covered, outside
from tests.jobs import HOSTILE, job_from

TWO_WHEELS = BAND_SAW.replace("work = 300\n", "work = 280\n").replace('50 m/min", "100', '50 m/min", "95')
HOSTILE_SAW = TWO_WHEELS.replace("mild steel and brass", HOSTILE).replace("Metal band saw, tool room", HOSTILE)
TEXTS = {"metric": BAND_SAW, "inch": INCH_SAW, "two wheels": TWO_WHEELS, "hostile": HOSTILE_SAW}


@cache
def plate(name: str) -> Sheet:
    """Return the plate of a saw."""
    return speed_plate_sheet(job_from(TEXTS[name]))


def texts(name: str) -> list[str]:
    """Return every line of lettering."""
    return [text.text for text in plate(name).on("words") if isinstance(text, Text)]


@pytest.mark.parametrize("name", TEXTS)
def test_lettering_is_clear_and_on_the_plate(name: str) -> None:
    """No lettering lies on a line or on other lettering, and all that is engraved stays within the outline."""
    assert not outside(plate(name), 2.0)
    assert not covered(plate(name))
    edges = [box(entity) for entity in plate(name).on("cut")]
    right = max(edge[2] for edge in edges)
    assert all(box(entity)[2] < right - 4 for layer in ("engrave", "words") for entity in plate(name).on(layer))


@pytest.mark.parametrize(
    ("name", "slowest", "fastest", "wheel"),
    [
        ("metric", "25 m/min", "100 m/min", "300 mm"),
        ("inch", "80 ft/min", "320 ft/min", "12 in"),
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
    assert len([text for text in texts("two wheels") if text.startswith("blade 300 mm: ")]) == 2
    assert len([text for text in texts("two wheels") if text.startswith("blade 280 mm: ")]) == 2
