"""Records of readings and machines: what they refuse, and cones that two belts share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf, nan

import pytest

from optimizer.recheck.slip import estimate
from optimizer.recheck.slip_model import MotorSpeed, SlipMachine, SlipModel, SlipStage, SpeedReading

STAGE = SlipStage((80.0, 160.0), (160.0, 80.0), (0.1, 0.1), (0.1, 0.1))
MACHINE = SlipMachine((STAGE,))
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
        pytest.param(lambda: replace(MACHINE, gain_out=0.0), id="no gain"),
        pytest.param(lambda: replace(STAGE, driver_mm=(80.0, nan)), id="no diameter"),
        pytest.param(lambda: replace(STAGE, driven_uncertainty_mm=(0.0, 0.1)), id="measured exactly"),
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
