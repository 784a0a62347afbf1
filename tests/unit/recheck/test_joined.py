"""Belting that is joined in place is as long as the turned sizes ask, by the table of tolerances as in recheck."""

from __future__ import annotations

import re

from optimizer.recheck.loading import load_measured
from optimizer.recheck.verdict import MeasuredFile, recheck
from tests.jobs import job
from tests.unit.recheck.forms import toml_form

MORE_MM = 0.5


def test_sizes_alike_too_large_take_a_longer_belt_where_it_is_joined_afterwards() -> None:
    """The grindstone's flat belt is joined between fixed shafts: all steps 0.5 mm too large, it is made that longer."""
    known = job("grindstone")
    form = re.sub(
        r'diameter = ""( \},  # diameter )([\d.]+)',
        lambda found: f"diameter = {float(found[2]) + MORE_MM}{found[1]}{found[2]}",
        toml_form(known),
    ).replace('date = "" ', "date = 2026-11-26 ")
    told = recheck(
        known, MeasuredFile(load_measured(form, "m.toml", known.design.machine, known.scenario.units), "", "")
    )
    assert not told.now.failed
    assert told.verdict == "all is well"
