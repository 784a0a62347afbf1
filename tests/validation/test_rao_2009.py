"""S. S. Rao, Engineering Optimization, 4th ed. (2009), example 1.3, pp. 19-21; read.

The published step-cone pulley: 350 rpm in, 750, 450, 250, 150 rpm out, 3 m between the shafts, one belt for all four
steps by the two-term length. The lightest sizes whose four belts are exactly equal were computed with the numbers of
problem RC23 of Kumar, Wu, Ali, Mallipeddi, Suganthan, Das, Swarm and Evolutionary Computation 56 (2020) 100693, twice
by different means (computed). The whole problem, weight and power included, is fed to the solver that refines designs.
"""

import numpy as np
import pytest

from optimizer.geometry.belts import belt_length_mm, belt_length_two_term_mm
from optimizer.geometry.cones import mate_for_ratio_mm
from tests.bench.published import published_problem
from tests.bench.step_cone import Length, lightest, powers_w

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


EQUAL_BELTS_KG = 16.0902734933
"""Least mass with belts exactly equal by the two-term length; computed."""
EQUAL_BELTS_EXACT_KG = 16.0902735902
"""The same by the exact length; computed."""
QUOTED_KG = 16.069868725
"""The best known value as quoted with RC23, whose equal belts may each miss the first by 1e-4 m; read."""


@pytest.mark.parametrize(("length", "least_kg"), [("two-term", EQUAL_BELTS_KG), ("exact", EQUAL_BELTS_EXACT_KG)])
def test_the_lightest_cones_with_equal_belts(length: Length, least_kg: float) -> None:
    """Refinement finds the least mass with equal belts from every seeded start, belts equal to 1e-8 of their length.

    How near depends on the processor: belts equal to a billionth of a millimetre leave the mass open by less than 1e-9.
    """
    answer = lightest(length)
    assert answer.best.mass_kg == pytest.approx(least_kg, abs=1e-9)
    assert answer.best.apart_mm < 1e-8 * answer.best.belts_mm[0]
    assert answer.found == answer.starts == 10
    assert answer.best.sizes_mm == pytest.approx([*DRIVEN_MM, 90.0], abs=1e-6)


@pytest.mark.parametrize("seed", range(2, 7))
def test_every_start_arrives(seed: int) -> None:
    """From 100 further starts of each length none is lost, though scipy stalls on some, others on every processor."""
    cases: tuple[tuple[Length, float], ...] = (("two-term", EQUAL_BELTS_KG), ("exact", EQUAL_BELTS_EXACT_KG))
    for length, least_kg in cases:
        answer = lightest(length, starts=20, seed=seed)
        assert answer.found == answer.starts
        assert answer.best.mass_kg == pytest.approx(least_kg, abs=1e-9)


def test_the_power_is_met_with_nothing_to_spare_on_one_step() -> None:
    """Every step carries 0.75 horsepower, the slowest just so."""
    powers = powers_w(np.array(lightest("two-term", starts=1).best.sizes_mm))
    assert powers.min() == pytest.approx(559.27485, rel=1e-9)
    assert int(powers.argmin()) == 3


def test_the_value_usually_quoted_needs_unequal_belts() -> None:
    """With each belt within 0.1 mm of the first the quoted value comes out, and the belts differ by 0.2 mm."""
    answer = lightest("two-term", slack_mm=0.1)
    assert answer.best.mass_kg == pytest.approx(QUOTED_KG, abs=1e-9)
    assert answer.best.apart_mm == pytest.approx(0.2, abs=1e-6)


def test_no_equal_belts_are_as_light_as_the_value_quoted() -> None:
    """Equal belts cost 0.13 % of mass over the value quoted."""
    assert lightest("two-term").best.mass_kg / QUOTED_KG - 1 == pytest.approx(0.00127, abs=1e-5)


def test_the_table_says_both() -> None:
    """The benchmark's table shows the honest value, and with what belts the quoted one is had."""
    table = published_problem()
    assert "| 16.0902734933 | 0 |" in table
    assert "16.069868725" in table
    assert "differ by 0.2 mm" in table
