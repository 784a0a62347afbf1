"""Nothing outside the output folder is touched."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from tests.faults.calls import call, shop, snapshot
from tests.processes import forked

FRESH = "import tempfile; tempfile.tempdir = None"
"""Where files are passed is looked up anew."""


@pytest.mark.parametrize(
    ("arguments", "made"),
    [
        (["check", "grinder.toml"], None),
        (["design", "grinder.toml", "--json"], None),
        (["compare", "grinder.toml"], None),
        (["design", "grinder.toml"], "grinder-design"),
        (["design", "grinder.toml", "--papers", "--out", "made"], "made"),
        (["compare", "grinder.toml", "--out", "made"], "made"),
        (["papers", "grinder.toml"], "grinder-papers"),
        (["schema"], None),
    ],
)
def test_only_the_output_folder_changes(tmp_path: Path, arguments: list[str], made: str | None) -> None:
    """Home, the folder for passing files and the one the call is made from are as before, but for the result."""
    home, passing = tmp_path / "home", tmp_path / "passing"
    home.mkdir()
    passing.mkdir()
    folder = shop(tmp_path / "shop")
    before = snapshot(tmp_path)
    # one call begins from nothing, as what is kept for the next time may be written while things are loaded
    begun = call if made == "made" and arguments[0] == "design" else partial(forked, before=FRESH)
    places = {"HOME": str(home), "TMPDIR": str(passing), "XDG_CACHE_HOME": "", "XDG_CONFIG_HOME": ""}
    assert begun(folder, *arguments, **places).code == 0
    after = snapshot(tmp_path)
    added = {name for name in after if after.get(name) != before.get(name, b"?")}
    assert all(name == f"shop/{made}" or name.startswith(f"shop/{made}/") for name in added)
    assert before.keys() <= after.keys()
    assert bool(added) == (made is not None)
