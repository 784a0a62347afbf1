"""A countershaft whose one movement draws two belts taut, from the file to the screens and papers."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.swinging import SWINGING


@pytest.fixture
def head(tmp_path: Path) -> Path:
    """Write the machine's file."""
    path = tmp_path / "head.toml"
    path.write_text(SWINGING, encoding="utf-8")
    return path


@pytest.mark.usefixtures("head")
def test_design_fits_both_belts_with_one_setting(run: Run, tmp_path: Path) -> None:
    """Every two positions have a setting in common by the checks, which work it out from the shafts' places."""
    code, out, _ = run("design", "head.toml")
    assert code == 0
    told = " ".join(out.split())
    assert "One movement of the hinge of countershaft changes the belts of stage 1 and stage 2." in told
    assert "any two positions run together over" in told
    design = json.loads((tmp_path / "head-design" / "design.json").read_text(encoding="utf-8"))
    checks = [c for c in design["checks"] if c["name"] == "one setting of the mount"]
    assert len(checks) == 4
    assert all(c["passed"] for c in checks)
    (shared,) = design["machine"]["shared"]
    assert shared["belt_on_mm"] < shared["running_mm"][0] <= shared["running_mm"][1] < shared["worn_out_mm"]
    code, out, _ = run("papers", "head-design/design.json", "--only", "layout", "--only", "sheet")
    assert code == 0


def test_check_asks_for_the_places(run: Run, head: Path) -> None:
    """Without the place of the hinge the file is refused, and what is missing is named."""
    head.write_text(SWINGING.replace("hinge = { at = [450, 250] }\n", ""), encoding="utf-8")
    code, _, err = run("check", "head.toml")
    assert code == 2
    assert "hinge of countershaft beside it" in " ".join(err.split())


def test_where_nothing_fits_the_reason_names_the_mount(run: Run, head: Path) -> None:
    """Belts in two sizes and pulleys in few leave no design; among what was held against them is the one setting."""
    bought = SWINGING.replace("{ free = [100, 220] }", "{ ready = [125, 200] }").replace(
        "{ free = [90, 200] }", "{ ready = [100, 150] }"
    )
    head.write_text(bought.replace("{ free = [90, 220] }", "{ ready = [125, 200] }"), encoding="utf-8")
    code, _, err = run("design", "head.toml")
    assert code == 3
    assert "one setting of countershaft for all its belts" in " ".join(err.split())
