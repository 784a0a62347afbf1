"""The example of docs/method.md, section 20, line by line."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.recheck.slip import SlipFigure, estimate
from optimizer.recheck.slip_model import SlipMachine, SlipStage, SpeedReading

METHOD = Path(__file__).parents[3] / "docs" / "method.md"
MACHINE = SlipMachine((SlipStage((80.0, 120.0, 160.0), (160.0, 120.0, 80.0), (0.1,) * 3, (0.1,) * 3),))
POSITIONS = {"739.1": 0, "1460.2": 1, "1400": 1, "2884.8": 2}


def lines() -> list[list[str]]:
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


@pytest.mark.parametrize("line", lines(), ids=lambda line: line[0])
def test_the_example_is_what_comes_out(line: list[str]) -> None:
    """Figures to the digits printed, and the words among all that is said."""
    read, slip, shift, said = line
    readings = [SpeedReading((POSITIONS[rpm],), (1490.0, float(rpm)), 0.3) for rpm in read.split(", ")]
    told = estimate(readings, MACHINE)
    assert (shown(told.slip(0, loaded=False), 4), shown(told.shift(0), 2)) == (slip, shift)
    words = [*told.remarks, *(both.text.split("\n")[0] for both in told.together), *(q.why for q in told.quantities)]
    assert said in words if said else not told.remarks


def test_the_example_is_there() -> None:
    """Five rows."""
    assert len(lines()) == 5
