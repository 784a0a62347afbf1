"""Every fault of a file is told at once, in whole lines."""

from __future__ import annotations

import re

import pytest

from optimizer.errors import ScenarioError
from optimizer.scenario import load_scenario
from tests.unit.scenario.broken import BROKEN, Broken


@pytest.mark.parametrize("case", BROKEN, ids=lambda case: case.name)
def test_a_broken_file_is_refused_with_every_line(case: Broken) -> None:
    """The lines told of a broken file are exactly those expected, in the order of the file."""
    with pytest.raises(ScenarioError) as caught:
        load_scenario(case.text, "machine.toml")
    assert tuple(map(str, caught.value.faults)) == case.faults


def test_there_are_many_broken_files_of_different_names() -> None:
    """The table is long, and no name in it stands twice."""
    assert len(BROKEN) >= 45
    assert len({case.name for case in BROKEN}) == len(BROKEN)


def test_no_line_shows_the_works() -> None:
    """No line has a word that only a programmer knows."""
    lines = "\n".join(line for case in BROKEN for line in case.faults)
    assert not re.search(r"pydantic|Traceback|NoneType|\bdict\b|\bstr\b|\bfloat\b|validator|_mm\b|_rpm\b", lines)
