"""P. C. Sharma, A Textbook of Production Engineering, 11th ed. (2008), example 22.2, p. 778.

Data and printed answers as reworked in a public companion notebook to the numbered example.
"""

from math import pi

import numpy as np
import pytest

from optimizer.series import geometric, series_ratio, unevenness

SLOWEST_RPM, FASTEST_RPM = 30_000 / (pi * 60), 30_000 / (pi * 10)
"""30 m/min on work of 60 and of 10 mm."""


def test_six_speeds_have_the_ratio_worked_out() -> None:
    """Six speeds for work of 10 to 60 mm at 30 m/min have the ratio 1.430969, the fifth root of 6."""
    assert series_ratio(SLOWEST_RPM, FASTEST_RPM, 6) == pytest.approx(1.430969, abs=5e-7)


def test_the_six_speeds_are_the_printed_ones() -> None:
    """They are 159.15 to 954.93 rpm; the book prints 159, 227, 325, 466, 667, 954, cut to whole turns."""
    speeds = geometric(SLOWEST_RPM, FASTEST_RPM, 6)
    assert speeds == pytest.approx([159.15, 227.75, 325.90, 466.35, 667.33, 954.93], abs=0.006)
    assert [int(speed) for speed in speeds] == [159, 227, 325, 466, 667, 954]


def test_the_printed_speeds_are_even_to_their_rounding() -> None:
    """The printed whole turns are no further from a geometric series than half a turn of the slowest, doubled."""
    assert unevenness(np.log([159, 227, 325, 466, 667, 954])).delta < 1 / 159
