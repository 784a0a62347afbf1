"""J. Rose, Modern Machine-Shop Practice, vol. I (1887-88, public domain), cone pulleys; read.

Open belts, effective diameters, inches. The centre distance of the two tables is not printed with them: 60 in is the
only one that fits. Figures to more digits than printed were computed with the exact length, solved twice by different
means.
"""

import numpy as np
import pytest

from optimizer.geometry.belts import belt_length_mm
from optimizer.geometry.cones import identical_cones_mm, mate_for_step_mm

PRINTED_TO = 0.02
"""The book works to a hundredth of an inch, by tables of its own."""


def test_the_mate_of_the_first_cone_is_the_printed_one() -> None:
    """Example 1: 4.5, 9, 15, 21 in at 50 in, 15 facing 15, is mated by 24.25, 20.57, 15, 8.5 in."""
    length = belt_length_mm(15.0, 15.0, 50.0)
    mate = mate_for_step_mm(np.array([4.5, 9.0, 15.0, 21.0]), length, 50.0)
    assert mate == pytest.approx([24.25, 20.57, 15.0, 8.5], abs=PRINTED_TO)
    assert mate == pytest.approx([24.2538, 20.5732, 15.0, 8.5022], abs=5e-5)


def test_the_belt_of_the_first_cone_has_the_printed_length() -> None:
    """Example 1: the belt is printed as 147 1/8 in, which is 147.1239 exactly reckoned."""
    assert belt_length_mm(15.0, 15.0, 50.0) == pytest.approx(147.125, abs=PRINTED_TO)
    assert belt_length_mm(15.0, 15.0, 50.0) == pytest.approx(147.1239, abs=5e-5)


def test_the_mate_of_the_second_cone_is_the_printed_one() -> None:
    """Example 2: 6, 12, 18, 24 in at 40 in, 6 facing 30, is mated by 30, 25.56, 20.28, 13.9 in."""
    length = belt_length_mm(6.0, 30.0, 40.0)
    mate = mate_for_step_mm(np.array([6.0, 12.0, 18.0, 24.0]), length, 40.0)
    assert mate == pytest.approx([30.0, 25.56, 20.28, 13.9], abs=PRINTED_TO)
    assert mate == pytest.approx([30.0, 25.5745, 20.2887, 13.9033], abs=5e-5)


def test_the_belt_of_the_second_cone_has_the_printed_length() -> None:
    """Example 2: the belt is printed as 140.17 in, which is 140.1764 exactly reckoned."""
    assert belt_length_mm(6.0, 30.0, 40.0) == pytest.approx(140.17, abs=PRINTED_TO)
    assert belt_length_mm(6.0, 30.0, 40.0) == pytest.approx(140.1764, abs=5e-5)


def test_two_cones_made_alike_have_the_printed_steps() -> None:
    """Tables I and II: six steps from 17.50 to 5.00 in at 60 in are 15.13, 12.70, 10.20, 7.63 in between."""
    steps = identical_cones_mm(17.5, 5.0, 6, 60.0)
    assert steps == pytest.approx([17.50, 15.13, 12.70, 10.20, 7.63, 5.00], abs=0.006)
    assert steps == pytest.approx([17.5, 15.1328, 12.6991, 10.1991, 7.6328, 5.0], abs=5e-5)


def test_every_pair_of_the_alike_cones_takes_the_same_belt() -> None:
    """Tables I and II: the printed steps, each facing its opposite, differ in belt length by less than they are printed to."""  # noqa: E501 - the source is quoted whole
    printed = np.array([17.50, 15.13, 12.70, 10.20, 7.63, 5.00])
    lengths = np.asarray(belt_length_mm(printed, printed[::-1], 60.0))
    assert float(np.ptp(lengths)) < 2 * np.pi * 0.005
