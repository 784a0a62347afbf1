"""S. S. Rao, Engineering Optimization, 4th ed. (2009), example 1.3, pp. 19-21; read.

The published step-cone pulley: 350 rpm in, 750, 450, 250, 150 rpm out, 3 m between the shafts, one belt for all four
steps by the two-term length. The lightest sizes whose four belts are exactly equal were computed with the numbers of
problem RC23 of Kumar, Wu, Ali, Mallipeddi, Suganthan, Das, Swarm and Evolutionary Computation 56 (2020) 100693. The
weight and the power of the problem are not what is designed here; belts and ratios are.
"""

import numpy as np
import pytest

from optimizer.geometry.belts import belt_length_mm, belt_length_two_term_mm
from optimizer.geometry.cones import mate_for_ratio_mm

CENTRE_MM = 3000.0
RATIOS = np.array([750, 450, 250, 150]) / 350
DRIVEN_MM = np.array([38.413961817, 52.858637767, 70.472695711, 84.495716069])
"""Steps of the cone on the fast shaft, to which the input step is N_i/N times as large."""


def test_the_four_belts_are_equal_by_the_two_term_length() -> None:
    """The sizes worked out for equal belts have equal belts, to the digits they are given to."""
    lengths = np.asarray(belt_length_two_term_mm(DRIVEN_MM * RATIOS, DRIVEN_MM, CENTRE_MM))
    assert float(np.ptp(lengths)) < 1e-8


def test_the_exact_length_hardly_differs_so_far_apart() -> None:
    """At 3 m the two-term length is exact to a ten-thousandth of a millimetre, so the exact belts are equal too."""
    lengths = np.asarray(belt_length_mm(DRIVEN_MM * RATIOS, DRIVEN_MM, CENTRE_MM))
    assert float(np.ptp(lengths)) < 1e-4
    assert lengths == pytest.approx(belt_length_two_term_mm(DRIVEN_MM * RATIOS, DRIVEN_MM, CENTRE_MM), abs=1e-4)


def test_three_steps_follow_from_the_first() -> None:
    """The belt of the first pair with the other three ratios gives the other three steps."""
    length = belt_length_mm(float(DRIVEN_MM[0] * RATIOS[0]), float(DRIVEN_MM[0]), CENTRE_MM)
    _, driven = mate_for_ratio_mm(RATIOS, length, CENTRE_MM)
    assert driven == pytest.approx(DRIVEN_MM, abs=1e-4)
