"""The command that tells what a fully known machine gives."""

from __future__ import annotations

from pathlib import Path

from cli.codes import CHECK_FAILED, DONE
from cli.scenario_file import read_scenario
from cli.streams import say
from optimizer.documents.data import record_json
from optimizer.documents.design import speeds_screen
from optimizer.errors import Fault, ScenarioError
from optimizer.pipeline.known import tell_known
from optimizer.quantities import SPEED, QuantityError, quantity
from optimizer.scenario import Scenario

__all__ = ["speeds_of_file"]


def speeds_of_file(file: Path, motor: str | None, *, as_json: bool) -> int:
    """Print what the machine of a scenario file gives, or would give with another motor."""
    scenario = read_scenario(file)
    if motor is not None:
        scenario = _with_motor(scenario, motor)
    known = tell_known(scenario)
    print(record_json(known) if as_json else speeds_screen(known), end="")
    say(*known.remarks)
    return CHECK_FAILED if known.failed else DONE


def _with_motor(scenario: Scenario, speed: str) -> Scenario:
    """Return the scenario with the speed of another motor, which has no other."""
    try:
        speed_rpm = quantity(float(speed) if _is_number(speed) else speed, SPEED, "")
    except QuantityError as error:
        raise ScenarioError([Fault("--motor", error.what, error.got, error.allowed, error.advice)]) from None
    if not 0 < speed_rpm <= 60_000:
        raise ScenarioError([Fault("--motor", "no motor runs at this speed", speed, "above 0 up to 60000 rpm")])
    motor = scenario.motor.model_copy(update={"speed_rpm": speed_rpm, "slower_rpm": ()})
    return scenario.model_copy(update={"motor": motor})


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
