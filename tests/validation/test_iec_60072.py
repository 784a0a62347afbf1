"""IEC 60072-1, dimensions of rotating machines: shafts and heights of small frames (from memory)."""

import pytest

from optimizer.catalogue.parts import frame

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
