"""Slip and pitch line from tachometer readings: cases by hand, a general solver, the example of docs/method.md."""

from __future__ import annotations

from dataclasses import replace
from math import log, sqrt
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from optimizer.recheck.slip import Certainty, SlipEstimate, SlipFigure, Unknown, estimate
from optimizer.recheck.slip_model import MotorSpeed, SlipMachine, SlipStage, SpeedReading

STAGE = SlipStage((80.0, 120.0, 160.0), (160.0, 120.0, 80.0), (0.1,) * 3, (0.1,) * 3)
PLATE = MotorSpeed(1420.0, 6.0, 4.0)
ONE = SlipMachine((STAGE,), loaded_motor=PLATE)
SINGLE = SlipStage((75.0,), (150.0,), (0.1,), (0.1,))
TWO = SlipMachine((SINGLE, STAGE), loaded_motor=PLATE)
SPINDLES = (739.1, 1460.2, 2884.8)
"""1490 rpm by 82/162, 122/122, 162/82, and by 0.98: the pitch line 1 mm out, slip 2 %."""


def at(*places: int, loaded: bool = False, motor: float | None = 1490.0) -> list[SpeedReading]:
    """Return readings of the single stage's spindle at positions."""
    return [SpeedReading((p,), (motor, SPINDLES[p]), 0.3, loaded) for p in places]


def value(told: SlipEstimate, stage: int = 0, *, loaded: bool = False) -> tuple[float | None, float | None]:
    """Return slip and shift of a stage."""
    return told.slip(stage, loaded=loaded).value, told.shift(stage).value


def test_three_positions_give_slip_and_pitch_line() -> None:
    """Readings made of a shift of 1 mm and a slip of 2 % give them back, checked by the one that is not needed."""
    told = estimate(at(0, 1, 2), ONE)
    slip, shift = value(told)
    assert slip == pytest.approx(0.02, abs=2e-4)
    assert shift == pytest.approx(1.0, abs=0.02)
    assert (told.freedom, told.consistent, told.suspects) == (1, True, ())
    assert told.next_reading is None


def test_uncertainties_of_two_positions_by_hand() -> None:
    """Slip is the mean of two log ratios, the shift half their difference over 0.0123 per mm, each within 1 %.

    u(ln ratio)² = (0.1/82)² + (0.1/162)² + (0.3/1490)² + (0.3/739.1)², or 2884.8; per mm 2/82 − 2/162 = 0.01204.
    """
    told = estimate(at(0, 2), ONE)
    tilt = 2 / 82 - 2 / 162
    variances = [(0.1 / 82) ** 2 + (0.1 / 162) ** 2 + (0.3 / 1490) ** 2 + (0.3 / n) ** 2 for n in (739.1, 2884.8)]
    both = sqrt(sum(variances)) / 2
    assert told.slip(0, loaded=False).uncertainty == pytest.approx(both * 0.98, rel=0.01)
    assert told.shift(0).uncertainty == pytest.approx(both / tilt, rel=0.01)
    assert (told.freedom, told.chance, told.consistent) == (0, None, None)
    assert "no reading checks another: a wrong one would not be noticed" in told.remarks
    assert told.next_reading is not None


def test_reading_a_position_again_does_not_make_its_diameters_surer() -> None:
    """After twenty readings of each the uncertainty left is that of the diameters, which all of them share."""
    told = estimate(at(*[0] * 20, *[2] * 20), ONE)
    both = sqrt(2 * ((0.1 / 82) ** 2 + (0.1 / 162) ** 2)) / 2
    assert told.slip(0, loaded=False).uncertainty == pytest.approx(both * 0.98, rel=0.01)


def test_no_reading() -> None:
    """Nothing is known, and what to measure is told."""
    told = estimate([], ONE)
    assert {q.known for q in told.quantities} == {Certainty.NOT_READ}
    assert all(q.value is None and q.uncertainty is None and q.why and q.advice for q in told.quantities)
    assert (told.together, told.chi_square, told.freedom, told.consistent) == ((), 0, 0, None)
    assert told.remarks == ()


@pytest.mark.parametrize("times", [1, 2, 7])
def test_one_position_cannot_tell_slip_from_pitch_line(times: int) -> None:
    """However often it is read; what it tells of both together is said: 1 − 739.1/745 is 0.79 %."""
    told = estimate(at(*[0] * times), ONE)
    assert value(told) == (None, None)
    assert told.slip(0, loaded=False).known is told.shift(0).known is Certainty.TOGETHER
    assert told.slip(0, loaded=False).why == (
        "stage 1 was read at position 1 only, where the pitch line changes speeds alike"
    )
    assert told.shift(0).advice == "read positions of stage 1 with other ratios"
    (both,) = told.together
    assert [(told.quantities[t.place].name, round(t.factor, 4)) for t in both.terms] == [
        ("slip of stage 1 idle", 1.0),
        ("shift of the pitch line of stage 1", 0.0125),  # 2/80 − 2/160
    ]
    assert both.value == pytest.approx(log(739.1 / 745), abs=1e-9)
    assert told.next_reading is not None
    assert told.next_reading.positions != (0,)


def test_equal_pulleys_tell_slip_alone() -> None:
    """Where both are of one size the pitch line changes no speed: 1460.2/1490 is 2.0 % less."""
    told = estimate(at(1, 1), ONE)
    slip, shift = value(told)
    assert slip == pytest.approx(0.02, abs=1e-4)
    assert shift is None


def test_two_stages_by_the_spindle_give_the_product_of_their_slips() -> None:
    """0.98·0.97 lost together is 4.94 %; which belt loses how much is not said.

    Its uncertainty is at least that of the first stage's diameters, 0.1/75 and 0.1/150 together 0.15 %.
    """
    readings = [SpeedReading((0, p), (1490.0, None, 745 * 0.98 * 0.97 * r), 0.2) for p, r in enumerate((0.5, 1, 2))]
    told = estimate(readings, TWO)
    assert told.slip(0, loaded=False).value is told.slip(1, loaded=False).value is None
    assert told.slip(1, loaded=False).why == (
        "the speeds of the shafts between were not read, so that only the product of stages 1 and 2 is seen"
    )
    assert told.slip(1, loaded=False).advice == "read the speeds of the shafts between as well"
    assert told.shift(1).value == pytest.approx(0, abs=1e-3)
    both = next(t for t in told.together if len(t.terms) > 1)
    assert both.text.split("\n")[0].startswith(
        "slip of stages 1 and 2 together idle with pitch lines as assumed: 4.9 %, standard uncertainty 0.2 %"
    )
    assert told.next_reading is not None
    assert told.next_reading.shafts == (0, 1, 2)


def test_the_middle_shaft_separates_two_slips() -> None:
    """With its speed read, 3 % of the second stage stands alone; the first keeps its one position's doubt."""
    readings = [SpeedReading((0, p), (1490.0, 730.1, 730.1 * 0.97 * r), 0.2) for p, r in enumerate((0.5, 1, 2))]
    told = estimate(readings, TWO)
    assert told.slip(1, loaded=False).value == pytest.approx(0.03, abs=2e-4)
    first = told.slip(0, loaded=False)
    assert (first.value, first.why, first.advice) == (
        None,
        "stage 1 has one position only, where the pitch line changes speeds alike",
        "nothing: take the pitch line of stage 1 as assumed",
    )


def test_stages_moved_together_tell_only_a_mix() -> None:
    """Two positions that both belts always share leave the two shifts in one sum, which is said with its factors."""
    cones = SlipMachine((STAGE, STAGE))
    readings = [SpeedReading((p, p), (1490.0, None, 1490 * 0.96 * r), 0.2) for p, r in ((0, 0.25), (2, 4.0))]
    told = estimate(readings, cones)
    assert all(q.value is None for q in told.quantities)
    shifts = next(t for t in told.together if all(told.quantities[p].asked is Unknown.SHIFT for p, _ in t.terms))
    assert [round(factor, 6) for _, factor in shifts.terms] == [1.0, 1.0]
    assert shifts.value == pytest.approx(0, abs=1e-6)


def test_the_plate_says_nothing_of_an_idle_motor() -> None:
    """An idle reading without the motor's speed changes no figure, whatever the plate says, and that is told."""
    bare = at(2, motor=None)
    for machine in (ONE, replace(ONE, loaded_motor=MotorSpeed(1380, 1, 1))):
        told = estimate([*at(0, 1), *bare], machine)
        assert value(told) == pytest.approx(value(estimate(at(0, 1), machine)))
        assert any(r.startswith("reading 3, idle: the motor's speed was not read") for r in told.remarks)
    assert "an idle induction motor runs just below 1500 rpm" in estimate(bare, ONE).remarks[0]
    assert estimate(bare, ONE).slip(0, loaded=False).known is Certainty.NOT_READ


def test_an_idle_motor_that_was_read_once_counts() -> None:
    """Said to idle at 1490 rpm, give or take 3 rpm, it gives 2 %, give or take 0.2 % that all readings share."""
    machine = replace(ONE, idle_motor=MotorSpeed(1490, 3, 0.1))
    told = estimate(at(0, 1, 2, motor=None), machine)
    slip = told.slip(0, loaded=False)
    assert slip.value == pytest.approx(0.02, abs=2e-4)
    assert slip.uncertainty == pytest.approx(0.98 * sqrt((3 / 1490) ** 2 + 0.0014**2 / 3), rel=0.1)


def test_the_plate_of_a_loaded_motor_carries_its_own_doubt() -> None:
    """1420 rpm known to 6 rpm leaves 0.4 % on every slip, however many readings; it is said that it is taken."""
    readings = [SpeedReading((p,), (None, s * 1420 / 1490), 0.3, True) for p, s in enumerate(SPINDLES)] * 10
    told = estimate(readings, ONE)
    slip = told.slip(0, loaded=True)
    assert slip.value == pytest.approx(0.02, abs=3e-4)
    assert slip.uncertainty is not None
    assert slip.uncertainty > 0.98 * 6 / 1420
    assert told.shift(0).value == pytest.approx(1.0, abs=0.02)
    assert any(
        "taken as 1420 rpm, standard uncertainty 6 rpm; below full load it runs faster" in r for r in told.remarks
    )


def test_a_wrong_plate_shows_as_slip_below_0() -> None:
    """A motor at part load, 1480 rpm where the plate says 1420, makes a belt seem to gain speed; that is flagged."""
    readings = [SpeedReading((p,), (None, s * 1480 / 1490), 0.3, True) for p, s in enumerate(SPINDLES)]
    slip = estimate(readings, ONE).slip(0, loaded=True)
    assert slip.value == pytest.approx(1 - 0.98 * 1480 / 1420, abs=1e-3)
    assert slip.why.startswith("a belt cannot gain speed: ")


def test_an_idle_speed_off_the_plate_is_questioned() -> None:
    """1420 rpm said to be read idle on a 1420 rpm motor was most likely copied."""
    told = estimate(at(0, 2, motor=1420.0), ONE)
    assert any(r.startswith("readings 1, 2, idle: the motor's speed is not above the 1420 rpm") for r in told.remarks)
    assert told.slip(0, loaded=False).why.startswith("a belt cannot gain speed")


def test_less_slip_loaded_than_idle_is_questioned() -> None:
    """No belt slips less for pulling more."""
    loaded = [SpeedReading((p,), (1425.0, s * 1425 / 1490 * 0.99 / 0.98), 0.3, True) for p, s in enumerate(SPINDLES)]
    told = estimate([*at(0, 1, 2), *loaded], ONE)
    assert any(r.startswith("stage 1 seems to slip less loaded than idle") for r in told.remarks)
    usual = [SpeedReading((p,), (1425.0, s * 1425 / 1490 * 0.97 / 0.98), 0.3, True) for p, s in enumerate(SPINDLES)]
    assert not estimate([*at(0, 1, 2), *usual], ONE).remarks


@pytest.mark.parametrize(
    ("slip", "words"),
    [
        (-0.0005, "below 0 within its uncertainty: as good as none"),
        (-0.03, "a belt cannot gain speed: a diameter, a speed or the motor's speed is not what was stated"),
        (0.02, ""),
        (0.09, "more than 5%: the belt slips in earnest, gets hot and can burn; stop the machine, pull its plug"),
    ],
)
def test_odd_slips_are_flagged(slip: float, words: str) -> None:
    """Below none, and far above what a sound belt loses, with what to do."""
    readings = [SpeedReading((p,), (1490.0, 1490 * (1 - slip) * r), 0.3) for p, r in enumerate((0.5, 1.0, 2.0))]
    found = estimate(readings, ONE).slip(0, loaded=False)
    assert found.value == pytest.approx(slip, abs=1e-6)
    assert found.why.startswith(words)
    assert bool(found.why) == bool(words)


def test_a_wrong_reading_is_named() -> None:
    """Of six readings the one that is 30 rpm too high, with what it should be."""
    readings = at(0, 1, 2, 0, 1, 2)
    readings[4] = replace(readings[4], speeds_rpm=(1490.0, 1490.2))
    told = estimate(readings, ONE)
    assert told.consistent is False
    (suspect,) = told.suspects
    assert suspect.reading == 4
    assert "spindle read as 1490.2 rpm, 1460 rpm by the others" in suspect.text
    assert suspect.text.startswith("reading 5: ")
    assert any(r.startswith("the readings do not agree") for r in told.remarks)


def test_a_wrong_position_is_named() -> None:
    """A reading noted at position 3 that was taken at position 2 shows 1460 rpm where 2885 rpm are due."""
    readings = at(0, 1, 2, 0, 1, 2)
    readings[4] = replace(readings[4], positions=(2,))
    (suspect,) = estimate(readings, ONE).suspects
    assert "spindle read as 1460.2 rpm, 2885 rpm by the others" in suspect.text


def test_readings_that_no_belt_can_give_give_no_figure() -> None:
    """Positions noted the wrong way round ask for a shift of tens of millimetres: that is said, and nothing else."""
    swapped = [replace(r, positions=(2 - r.positions[0],)) for r in at(0, 2)]
    told = estimate(swapped, ONE)
    assert value(told) == (None, None)
    assert told.consistent is False
    assert told.together == ()
    assert any(r.endswith("look for a wrong position, diameter, speed or fixed ratio") for r in told.remarks)


def test_a_pitch_line_far_off_is_flagged() -> None:
    """Readings as of a belt 14 mm farther out, 108:188 where 80:160 was measured, are taken and questioned."""
    readings = [SpeedReading((p,), (1490.0, 1490 * r), 0.3) for p, r in ((0, 108 / 188), (1, 1.0), (2, 188 / 108))]
    shift = estimate(readings, ONE).shift(0)
    assert shift.value == pytest.approx(14, abs=0.05)
    assert shift.why.startswith("no belt's pitch line runs so far off")
    assert not estimate(at(0, 1, 2), ONE).shift(0).why


def test_a_wrong_diameter_is_named() -> None:
    """All readings at one position off by 3 % point to its diameters: a driver of 120 mm that is 3.6 mm larger."""
    readings = at(0, 0, 1, 1, 2, 2) + [SpeedReading((p,), (1490.0, SPINDLES[p]), 0.3) for p in (0, 1, 2)]
    readings = [replace(r, speeds_rpm=(1490.0, SPINDLES[1] * 1.03)) if r.positions == (1,) else r for r in readings]
    told = estimate(readings, ONE)
    assert told.consistent is False
    named = [s for s in told.suspects if s.position == 1]
    assert len(named) == 1
    assert all(s.reading is None for s in told.suspects)
    assert "the driver is 3.6 mm larger" in named[0].text


def test_where_nothing_tells_which_is_wrong_all_are_named() -> None:
    """Three readings with one too many: any of them may be the wrong one."""
    readings = at(0, 1, 2)
    readings[1] = replace(readings[1], speeds_rpm=(1490.0, 1400.0))
    told = estimate(readings, ONE)
    assert {s.reading for s in told.suspects} == {None, 0, 1, 2}
    assert "which one is wrong they do not tell: read again those that are listed" in told.remarks


def test_fixed_ratios_count() -> None:
    """Gears of 1:2 before the stage and 3:1 behind it change no slip."""
    geared = SlipMachine((replace(STAGE, gain=0.5),), gain_out=3.0)
    readings = [SpeedReading((p,), (1490.0, 1.5 * s), 0.3) for p, s in enumerate(SPINDLES)]
    assert value(estimate(readings, geared)) == pytest.approx((0.02, 1.0), abs=0.02)


def test_vague_diameters_give_no_figure() -> None:
    """Diameters known to 4 mm only tell neither, and the doubt they would leave is told.

    (4/80)² + (4/160)² at the ends and 2·(4/120)² between leave 1/sqrt(2/0.003125 + 1/0.00222) = 3.0 % on slip.
    """
    rough = SlipMachine((replace(STAGE, driver_uncertainty_mm=(4.0,) * 3, driven_uncertainty_mm=(4.0,) * 3),))
    told = estimate(at(0, 1, 2), rough)
    assert {told.slip(0, loaded=False).known, told.shift(0).known} == {Certainty.VAGUE}
    assert "given as a number it would have a standard uncertainty of 3.0%" in told.slip(0, loaded=False).why
    assert told.slip(0, loaded=False).advice.startswith("measure diameters and speeds to a finer resolution")


def test_a_vague_motor_asks_for_its_speed() -> None:
    """A plate known to 30 rpm tells no slip; the motor's speed would."""
    vague = replace(ONE, loaded_motor=MotorSpeed(1420, 30, 30))
    told = estimate([SpeedReading((p,), (None, s), 0.3, True) for p, s in enumerate(SPINDLES)], vague)
    slip = told.slip(0, loaded=True)
    assert (slip.known, slip.advice) == (Certainty.VAGUE, "read the motor's speed together with the others")


def test_what_was_only_half_read_is_not_called_read() -> None:
    """Readings that start at the shaft between tell nothing of the belt before it."""
    told = estimate([SpeedReading((0, p), (None, 730.1, 730.1 * 0.97 * r), 0.2) for p, r in ((0, 0.5), (2, 2))], TWO)
    assert told.slip(0, loaded=False).known is told.shift(0).known is Certainty.NOT_READ
    assert told.slip(1, loaded=False).value == pytest.approx(0.03, abs=1e-3)


def test_a_general_solver_agrees() -> None:
    """Values and uncertainties are those of scipy's least squares on residuals written anew, by differences."""
    rng = np.random.default_rng(7)
    machine = SlipMachine((STAGE, STAGE), loaded_motor=PLATE)
    readings = []
    for n in range(14):
        first, second = n % 3, (n // 3) % 3
        motor, loaded = 1420.0 + 70 * (n % 2), n % 2 == 0
        middle = motor * (0.5, 1, 2)[first] * (1 + 0.01 * first) * 0.985
        speeds = np.array([motor, middle, middle * (0.5, 1, 2)[second] * 0.97]) + rng.normal(0, 0.4, 3)
        read: list[float | None] = [float(s) for s in speeds]
        if loaded and n % 4 == 0:
            read[0] = None
        readings.append(SpeedReading((first, second), tuple(read), 0.4, loaded))
    told = estimate(readings, machine)
    size = 6 + 12 + 1 + len(readings)

    def residuals(x: NDArray[np.float64]) -> NDArray[np.float64]:
        slips, shifts, sizes, plate, motors = x[:4].reshape(2, 2), x[4:6], x[6:18].reshape(2, 2, 3), x[18], x[19:]
        out = [(plate - log(1420)) * 1420 / 6]
        for reading, motor in zip(readings, motors, strict=True):
            speed, read = np.exp(motor), reading.speeds_rpm
            if read[0] is None:
                out.append((motor - plate) * 1420 / 4)
            for stage in range(3):
                if stage:
                    driver, driven = sizes[stage - 1, :, reading.positions[stage - 1]]
                    turn = (driver + 2 * shifts[stage - 1]) / (driven + 2 * shifts[stage - 1])
                    speed *= turn * np.exp(slips[stage - 1, int(reading.loaded)])
                rpm = read[stage]
                if rpm is not None:
                    out.append(np.log(speed / rpm) * rpm / 0.4)
        measured = np.array([STAGE.driver_mm, STAGE.driven_mm] * 2).reshape(2, 2, 3)
        return np.concatenate([out, ((sizes - measured) / 0.1).ravel()])

    start = np.zeros(size)
    start[6:18] = [*STAGE.driver_mm, *STAGE.driven_mm] * 2
    start[18:] = log(1450)
    solved = least_squares(residuals, start, jac="3-point", x_scale="jac", xtol=1e-14, ftol=1e-14, gtol=1e-14)
    slopes = np.asarray(solved.jac)
    covariance = np.linalg.inv(slopes.T @ slopes)
    for place, quantity in enumerate(told.quantities):
        x, doubt = solved.x[place], sqrt(covariance[place, place])
        slip = quantity.asked is Unknown.SLIP
        assert quantity.value == pytest.approx(1 - np.exp(x) if slip else x, abs=1e-3 * doubt)
        assert quantity.uncertainty == pytest.approx(doubt * (np.exp(x) if slip else 1), rel=1e-3)
    assert told.chi_square == pytest.approx(2 * solved.cost, rel=1e-6)
    assert told.freedom == len(solved.fun) - size


METHOD = Path(__file__).parents[3] / "docs" / "method.md"
EXAMPLE = SlipMachine((SlipStage((80.0, 120.0, 160.0), (160.0, 120.0, 80.0), (0.1,) * 3, (0.1,) * 3),))
POSITIONS = {"739.1": 0, "1460.2": 1, "1400": 1, "2884.8": 2}


def example_lines() -> list[list[str]]:
    """Return the rows of the example's table."""
    after = METHOD.read_text(encoding="utf-8").partition("| spindle read, rpm |")[2].split("\n\n")[0].split("\n")[2:]
    return [cells(line) for line in after]


def cells(line: str) -> list[str]:
    """Return the cells of a row."""
    return [cell.strip() for cell in line.split("|")[1:-1]]


def shown(quantity: SlipFigure, digits: int) -> str:
    """Return a figure as the table shows it."""
    if quantity.value is None:
        return ""
    return f"{quantity.value:.{digits}f} ± {quantity.uncertainty:.{digits}f}"


@pytest.mark.parametrize("line", example_lines(), ids=lambda line: line[0])
def test_the_example_is_what_comes_out(line: list[str]) -> None:
    """Figures to the digits printed, and the words among all that is said."""
    read, slip, shift, said = line
    readings = [SpeedReading((POSITIONS[rpm],), (1490.0, float(rpm)), 0.3) for rpm in read.split(", ")]
    told = estimate(readings, EXAMPLE)
    assert (shown(told.slip(0, loaded=False), 4), shown(told.shift(0), 2)) == (slip, shift)
    words = [*told.remarks, *(both.text.split("\n")[0] for both in told.together), *(q.why for q in told.quantities)]
    assert said in words if said else not told.remarks


def test_the_example_is_there() -> None:
    """Five rows."""
    assert len(example_lines()) == 5
