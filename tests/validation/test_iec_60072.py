"""IEC 60072-1, dimensions of rotating machines: shafts and heights of small frames (from memory)."""

import pytest

from optimizer.catalogue.parts import frame, frame_of_shaft

FRAMES = {
    56: (9, 20),
    63: (11, 23),
    71: (14, 30),
    80: (19, 40),
    90: (24, 50),
    100: (28, 60),
    112: (28, 60),
    132: (38, 80),
}
"""Height of the axis: diameter and length of the shaft [mm], from memory."""


@pytest.mark.parametrize("height", FRAMES)
def test_the_number_of_a_frame_is_the_height_of_its_axis(height: int) -> None:
    """The frame's number is the height of the axis above the feet; its shaft is that of the table."""
    known = frame(f"IEC {height}")
    assert known.height_mm == height
    assert (known.shaft_mm, known.length_mm) == FRAMES[height]


@pytest.mark.parametrize(
    ("shaft_mm", "power_kw", "height"), [(19, 0.55, 80), (19, 1.1, 80), (28, 2.2, 100), (28, 4.0, 112), (28, None, 100)]
)
def test_a_shaft_and_a_power_tell_the_frame(shaft_mm: float, power_kw: float | None, height: int) -> None:
    """19 mm is IEC 80; of the two with 28 mm the 100 has up to 3 kW with 4 poles, the 112 has 4 (from memory)."""
    known = frame_of_shaft(shaft_mm, power_kw)
    assert known is not None
    assert known.height_mm == height
