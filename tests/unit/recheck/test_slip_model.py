"""The residuals' own derivatives, on which all uncertainties rest, and the records that they are made from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf, nan

import numpy as np
import pytest

from optimizer.recheck.slip import estimate
from optimizer.recheck.slip_fit import MOST_PLACES, NULL, Outlook, doubts, fit
from optimizer.recheck.slip_model import MotorSpeed, SlipMachine, SlipModel, SlipStage, SpeedReading

STAGES = (
    SlipStage((80.0, 125.0), (160.0, 110.0), (0.1, 0.2), (0.3, 0.1), gain=0.7),
    SlipStage((63.0, 90.0, 140.0), (200.0, 170.0, 90.0), (0.1, 0.2, 0.3), (0.3, 0.1, 0.1)),
)
MACHINE = SlipMachine(STAGES, MotorSpeed(1420, 6, 4), MotorSpeed(1490, 3, 2), 1.3)
READINGS = [
    SpeedReading((0, 2), (1422.0, None, 640.0), 0.4, True),
    SpeedReading((1, 0), (None, 1180.0, 470.0), 0.4, True),
    SpeedReading((1, 1), (None, None, 800.0), 0.2),
    SpeedReading((0, 1), (1493.0, 510.0, 330.0), 0.2),
]


def test_the_jacobian_is_that_of_central_differences() -> None:
    """Every derivative, with readings of all kinds and unknowns away from their start."""
    model = SlipModel(READINGS, MACHINE)
    rng = np.random.default_rng(3)
    vector = model.start() + rng.normal(0, 0.3, model.size) * np.r_[np.full(4, 0.02), np.ones(model.size - 4)]
    _, jacobian = model.residuals(vector)
    for place in range(model.size):
        step = np.zeros(model.size)
        step[place] = 1e-6
        slope = (model.residuals(vector + step)[0] - model.residuals(vector - step)[0]) / 2e-6
        np.testing.assert_allclose(jacobian[:, place], slope, rtol=1e-6, atol=1e-5)


def test_rows_are_told_apart() -> None:
    """Seven speeds, two motors taken as said, two said speeds, ten diameters; one row of the Jacobian each."""
    model = SlipModel(READINGS, MACHINE)
    values, jacobian = model.residuals(model.start())
    speeds = [row for row in model.rows if row.shaft is not None]
    assert [(row.reading, row.shaft) for row in speeds] == [
        (0, 0),
        (0, 2),
        (1, 1),
        (1, 2),
        (2, 2),
        (3, 0),
        (3, 1),
        (3, 2),
    ]
    assert len(model.rows) == len(values) == len(jacobian) == 8 + 2 + 2 + 10


def test_the_least_sum_of_squares_is_reached() -> None:
    """At the end no direction that is fitted has a slope."""
    found = fit(SlipModel(READINGS, MACHINE))
    values, _ = found.model.residuals(found.vector)
    assert found.settled
    np.testing.assert_allclose(found.checked.T @ values, 0, atol=1e-6)


def test_nothing_fitted_without_readings() -> None:
    """No slip, no shift, diameters as measured."""
    found = fit(SlipModel([], MACHINE))
    assert found.settled
    np.testing.assert_array_equal(found.asked, 0)
    assert (found.chi_square, found.freedom) == (0, 0)


def test_absurd_speeds_end_too() -> None:
    """Speeds ten times off neither run away nor hang: no shift passes three tenths of the least diameter."""
    readings = [SpeedReading((0, p), (1490.0, None, 3000.0 * 10**-p), 0.4) for p in range(3)]
    found = fit(SlipModel(readings, MACHINE))
    assert np.all(np.isfinite(found.vector))
    assert np.all(np.abs(found.vector[4:6]) <= 0.3 * np.array([80.0, 63.0]) + 1e-9)


def test_spreads_of_an_information_matrix() -> None:
    """For [[4, 0], [0, 0]]: half a limit of use, and as good as unseen."""
    assert doubts(np.diag([4.0, 0.0])) == pytest.approx([0.5, 1 / NULL])


def test_prospects_count_what_readings_would_add() -> None:
    """Adding a reading to the information gives the doubts of a fit to it as well."""
    model = SlipModel(READINGS, MACHINE)
    prospect = Outlook(fit(model), [False, True])
    further, information = prospect.best(prospect.now)
    assert further.shafts in ((0, 2), (0, 1, 2))
    own = prospect.known(information)
    logs, _ = model.chain(fit(model).vector, further.positions, further.loaded)
    motor = prospect.motor_rpm[further.loaded]
    read = tuple(float(motor * np.exp(x)) if s in further.shafts else None for s, x in enumerate(logs))
    more = fit(
        SlipModel([*READINGS, SpeedReading(further.positions, read, prospect.doubt_rpm, further.loaded)], MACHINE)
    )
    for place in range(6):
        doubt = more.doubt(np.eye(6)[place])
        assert bool(own[place]) == (doubt <= 1) or abs(doubt - 1) < 0.1


def test_many_positions_are_thinned() -> None:
    """Twenty by twenty by twenty positions are not looked at one by one; the outermost always are."""
    many = SlipStage(tuple(range(60, 80)), tuple(range(180, 160, -1)), (0.1,) * 20, (0.1,) * 20)
    prospect = Outlook(fit(SlipModel([], SlipMachine((many,) * 3))), [False])
    places = {f.positions for f in prospect.candidates}
    assert len(places) <= MOST_PLACES
    assert {(0, 0, 0), (19, 19, 19), (0, 19, 0)} <= places


CONE = SlipStage((80.0, 160.0), (160.0, 80.0), (0.1, 0.1), (0.1, 0.1))
SINGLE = SlipMachine((CONE,))
READING = SpeedReading((0,), (1490.0, 739.1), 0.3)


@pytest.mark.parametrize(
    "made",
    [
        pytest.param(lambda: replace(READING, speeds_rpm=(nan, 739.1)), id="not a number"),
        pytest.param(lambda: replace(READING, speeds_rpm=(1490.0, inf)), id="infinite"),
        pytest.param(lambda: replace(READING, speeds_rpm=(1490.0, 0.0)), id="standing"),
        pytest.param(lambda: replace(READING, uncertainty_rpm=0.0), id="read exactly"),
        pytest.param(lambda: replace(READING, motor_share=0.0), id="no motor"),
        pytest.param(lambda: SlipMachine(()), id="no stage"),
        pytest.param(lambda: replace(SINGLE, gain_out=0.0), id="no gain"),
        pytest.param(lambda: replace(CONE, driver_mm=(80.0, nan)), id="no diameter"),
        pytest.param(lambda: replace(CONE, driven_uncertainty_mm=(0.0, 0.1)), id="measured exactly"),
        pytest.param(lambda: MotorSpeed(1420, 0, 5), id="motor known exactly"),
    ],
)
def test_figures_that_cannot_be_make_no_record(made: Callable[[], object]) -> None:
    """Nothing stands still, nothing is without a size, and nothing is read or measured exactly."""
    with pytest.raises(ValueError, match="validation error"):
        made()


def test_a_shared_cone_is_one_cone() -> None:
    """The second belt's driver is the first one's driven from the other end; two belts on one step make no speed."""
    doubts = (0.1, 0.1)
    one = SlipStage((60.0, 90.0), (95.0, 65.0), doubts, doubts)
    other = SlipStage((65.0, 95.0), (100.0, 70.0), doubts, doubts, shared_driver=True)
    reading = SpeedReading((0, 0), (1450.0, 915.0, 594.0), 0.5)
    told = estimate([reading], SlipMachine((one, other)))
    assert told.next_reading is not None and told.next_reading.positions in ((0, 0), (1, 1))
    apart = SlipMachine((one, replace(other, shared_driver=False)))
    assert SlipModel([], SlipMachine((one, other))).size == SlipModel([], apart).size - 2
