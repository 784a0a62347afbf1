"""What must hold of every problem that a scenario leads to."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.errors import NoDesignError
from optimizer.layouts import layouts_of, problem_for
from optimizer.records import Problem
from optimizer.scenario import load_scenario
from tests.sampled import examples

MM_PER_64TH = Fraction("25.4") / 64


def in_mm(count: int) -> str:
    """Write a length of so many 64ths of an inch as a bare number of millimetres."""
    return repr(float(count * MM_PER_64TH))


def in_inches(count: int) -> str:
    """Write it as a bare number of inches."""
    return repr(count / 64)


def in_shop_fractions(count: int) -> str:
    """Write it as whole inches with a fraction."""
    return f'"{count // 64} {count % 64}/64 in"'


def machine(units: str, write: Callable[[int], str], size: dict[str, int]) -> str:
    """Return a file of two stages with every kind of side, all lengths written one way."""
    w = {name: write(count) for name, count in size.items()}
    far, long = write(size["near"] + 400), write(size["free"] + 300)
    return f"""
title = "Edge trimmer"
units = "{units}"
motor = {{ speed = "1425 rpm" }}
band = [{{ name = "slow", from = 200, to = 600 }}, {{ name = "fast", from = 600, to = 2400 }}]
making = {{ largest_blank = {w["blank"]}, wall = {w["wall"]}, turn_to = {w["turn_to"]}, truing = {write(10)}, \
grid = {write(13)}, rise = {write(2)}, step_pitch = {write(90)} }}

[[shaft]]
name = "motor"
mount = "slide"

[[shaft]]
name = "countershaft"
diameter = {write(48)}
hub = {write(96)}
room = {w["room"]}
beside = {write(32)}
mount = "hinge"

[[stage]]
from = "motor"
to = "countershaft"
positions = [1, 2]
centres = [{w["near"]}, {far}]
travel = {write(200)}
clearance = {write(25)}
belt = {{ section = "A", lengths = [{w["belt"]}, {write(size["belt"] + 64)}], measured = "outside" }}
driver = {{ ready = [{w["ready"]}, {w["other_ready"]}] }}
driven = {{ blanks = [{w["disc"]}, {write(size["disc"] + 96)}], measured = "outside" }}

[[stage]]
from = "countershaft"
to = "spindle"
positions = 3
centres = [{w["near"]}, {far}]
travel = {write(180)}
fit = {w["fit"]}
budget = {{ tolerance = {write(20)}, stretch = {write(70)}, climb = {write(45)} }}
belt = {{ section = "A", lengths = "any", every = {write(40)}, shortest = {w["belt"]}, longest = {write(5000)} }}
driver = {{ free = [{w["free"]}, {long}], smallest = {write(180)} }}
driven = {{ kept = [{write(500)}, {write(400)}, {write(300)}], measured = "datum" }}
"""


def outcomes(text: str) -> list[Problem | str]:
    """Return for every layout its problem, or why it has none."""
    scenario = load_scenario(text, "machine.toml")
    found: list[Problem | str] = []
    for layout in layouts_of(scenario):
        try:
            found.append(problem_for(scenario, layout))
        except NoDesignError as error:
            found.append(str(error))
    return found


@settings(deadline=None, max_examples=examples(25))  # the first unit out of the common may import pint
@given(
    size=st.fixed_dictionaries(
        {
            "blank": st.integers(600, 800),
            "ready": st.integers(190, 300),
            "other_ready": st.integers(301, 400),
            "disc": st.integers(380, 480),
            "free": st.integers(190, 260),
            "belt": st.integers(2300, 2800),
            "near": st.integers(500, 800),
            "room": st.integers(300, 1200),
            "wall": st.integers(5, 20),
            "turn_to": st.integers(1, 4),
            "fit": st.integers(0, 3),
        }
    )
)
def test_the_units_a_machine_is_written_in_change_nothing(size: dict[str, int]) -> None:
    """Millimetres, bare inches, shop fractions give the same problems to the last bit, or the same refusals."""
    in_file = outcomes(machine("mm", in_mm, size))
    assert outcomes(machine("in", in_inches, size)) == in_file
    assert outcomes(machine("cm", in_shop_fractions, size)) == in_file
    assert len(in_file) == 3
