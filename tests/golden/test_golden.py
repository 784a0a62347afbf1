"""All that is printed and written is as the digests have it, under every kernel that this is run with."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.golden.digests import changed, kept, outputs
from tests.golden.producing import ANSWERS, CALLS, SCENARIOS
from tests.sampled import EVERYTHING

SAMPLE = ("bench-drill", "grindstone", "kept-cone-engraver", "metal-band-saw", "old-drill", "mill")
"""Machines that the gate asks, quick ones of all kinds; `python -m tests.golden` asks all."""
QUICK = ("check", "speeds", "design", "papers", "recheck")
"""Calls that the gate makes of them."""


@pytest.mark.parametrize(
    "machine",
    [path for path in (*SCENARIOS, *ANSWERS) if EVERYTHING or path.stem in SAMPLE],
    ids=lambda path: str(path.stem),
)
def test_outputs_are_as_they_were(machine: Path, tmp_path: Path) -> None:
    """A change of what is printed or written is meant, and renewed by `python -m tests.golden --write`."""
    calls = tuple(CALLS) if EVERYTHING else QUICK
    found = outputs(machine, tmp_path, calls)
    assert found
    assert list(changed(found, kept(machine), whole=EVERYTHING)) == []
