"""What is refused before anything is estimated, and figures known of motors and tachometers."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan

import pytest

from optimizer.recheck.slip import estimate
from optimizer.recheck.slip_model import (
    MotorSpeed,
    SlipMachine,
    SlipModel,
    SlipStage,
    SpeedReading,
    resolution_uncertainty,
    synchronous_rpm,
)

STAGE = SlipStage((80.0, 160.0), (160.0, 80.0), (0.1, 0.1), (0.1, 0.1))
MACHINE = SlipMachine((STAGE,))
READING = SpeedReading((0,), (1490.0, 739.1), 0.3)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        pytest.param(
            replace(READING, speeds_rpm=(nan, 739.1)), "above 0 rpm and below 1e6; got nan", id="not a number"
        ),
        pytest.param(replace(READING, speeds_rpm=(1490.0, inf)), "above 0 rpm and below 1e6; got inf", id="infinite"),
        pytest.param(replace(READING, speeds_rpm=(1490.0, 0.0)), "above 0 rpm and below 1e6; got 0.0", id="standing"),
        pytest.param(replace(READING, speeds_rpm=(1490.0, -739.0)), "below 1e6; got -739.0", id="backwards"),
        pytest.param(replace(READING, speeds_rpm=(None, None)), "no speed was read", id="nothing read"),
        pytest.param(replace(READING, speeds_rpm=(1490.0,)), "speeds of 2 shafts; got 1", id="a shaft short"),
        pytest.param(replace(READING, positions=(2,)), "stage 1 has positions 0 to 1; got 2", id="no such position"),
        pytest.param(replace(READING, positions=(-1,)), "stage 1 has positions 0 to 1; got -1", id="from the end"),
        pytest.param(replace(READING, positions=(0, 0)), "a position of each of 1 stages; got 2", id="two positions"),
        pytest.param(
            replace(READING, uncertainty_rpm=0.0),
            "nothing is read exactly, state its uncertainty; got 0.0",
            id="read exactly",
        ),
        pytest.param(
            replace(READING, uncertainty_rpm=nan),
            "nothing is read exactly, state its uncertainty; got nan",
            id="read anyhow",
        ),
        pytest.param(
            replace(READING, uncertainty_rpm=200.0), "more than 20% of the least speed; got 200.0", id="vague"
        ),
    ],
)
def test_readings_that_cannot_be(reading: SpeedReading, words: str) -> None:
    """The error names the reading, counted from 1, and what was given."""
    with pytest.raises(ValueError, match=r"^reading 2: ") as error:
        estimate([READING, reading], MACHINE)
    assert words in str(error.value)


@pytest.mark.parametrize(
    ("machine", "words"),
    [
        pytest.param(SlipMachine(()), "the machine has no stage", id="no stage"),
        pytest.param(replace(MACHINE, gain_out=0.0), "gain_out must be above 0", id="no gain"),
        pytest.param(SlipMachine((replace(STAGE, gain=nan),)), "stage 1: gain must be above 0", id="gain"),
        pytest.param(
            SlipMachine((replace(STAGE, driver_mm=(80.0,)),)),
            "stage 1: diameters and uncertainties must be",
            id="ragged",
        ),
        pytest.param(
            SlipMachine((replace(STAGE, driver_mm=(80.0, nan)),)),
            "driver, position 2: the diameter must",
            id="diameter",
        ),
        pytest.param(
            SlipMachine((replace(STAGE, driven_uncertainty_mm=(0.0, 0.1)),)),
            "stage 1: driven, position 1: nothing is measured exactly, state its uncertainty; got 0.0",
            id="measured exactly",
        ),
        pytest.param(
            SlipMachine((replace(STAGE, driven_uncertainty_mm=(40.0, 0.1)),)), "more than 5% of the", id="guessed"
        ),
        pytest.param(
            replace(MACHINE, loaded_motor=MotorSpeed(1420, 0, 5)), "loaded_motor.uncertainty_rpm must be", id="plate"
        ),
        pytest.param(replace(MACHINE, idle_motor=MotorSpeed(1490, 5, 0)), "idle_motor.drift_rpm must be", id="drift"),
        pytest.param(replace(MACHINE, idle_motor=MotorSpeed(1490, 5, 600)), "is more than 20%", id="wild motor"),
    ],
)
def test_machines_that_cannot_be(machine: SlipMachine, words: str) -> None:
    """The error names the place, whatever the readings are."""
    with pytest.raises(ValueError, match=r".") as error:
        estimate([], machine)
    assert words in str(error.value)


def test_all_faults_are_told_at_once() -> None:
    """Each is a line of its own."""
    wrong = replace(READING, positions=(5,), speeds_rpm=(nan, -1.0), uncertainty_rpm=0.0)
    with pytest.raises(ValueError, match="reading 1") as error:
        estimate([wrong, READING, replace(READING, speeds_rpm=(None, None))], MACHINE)
    lines = str(error.value).split("\n")
    assert [line.split(":")[0] for line in lines] == ["reading 1", "reading 1", "reading 1", "reading 3"]


@pytest.mark.parametrize(
    ("plate", "expected"),
    [(1420, (1500.0,)), (2850, (3000.0,)), (940, (1000.0,)), (1725, (1800.0,)), (3450, (3600.0,)), (1140, (1200.0,))],
)
def test_synchronous_speeds(plate: float, expected: tuple[float, ...]) -> None:
    """Common plates of two, four and six poles at 50 and 60 Hz (pairs of speeds from memory)."""
    assert synchronous_rpm(plate) == expected


def test_no_synchronous_speed_where_no_pole_number_fits() -> None:
    """A motor for direct current, or one on a frequency converter, tells nothing by its plate."""
    assert synchronous_rpm(4000) == ()
    assert synchronous_rpm(1500) == ()


def test_a_resolution_as_an_uncertainty() -> None:
    """Half a unit to either side, evenly likely: variance 1/12 (integral of x² from −1/2 to 1/2)."""
    assert resolution_uncertainty(2.0) == pytest.approx((4 / 12) ** 0.5)


def test_a_shared_cone_is_one_cone() -> None:
    """The second belt's driver is the first one's driven from the other end; two belts on one step make no speed."""
    doubts = (0.1, 0.1)
    one = SlipStage((60.0, 90.0), (95.0, 65.0), doubts, doubts)
    other = SlipStage((65.0, 95.0), (100.0, 70.0), doubts, doubts, shared_driver=True)
    reading = SpeedReading((0, 0), (1450.0, 915.0, 594.0), 0.5)
    told = estimate([reading], SlipMachine((one, other)))
    assert told.next_reading is not None and told.next_reading.positions in ((0, 0), (1, 1))
    with pytest.raises(ValueError, match="reading 1: both belts would lie on one step of a cone that they share"):
        estimate([replace(reading, positions=(0, 1))], SlipMachine((one, other)))
    for wrong in ((one, replace(other, driver_mm=(95.0, 65.0))), (other, one)):
        with pytest.raises(ValueError, match="its driver is not the driven cone of the stage before"):
            estimate([], SlipMachine(wrong))
    apart = SlipMachine((one, replace(other, shared_driver=False)))
    assert SlipModel([], SlipMachine((one, other))).size == SlipModel([], apart).size - 2
