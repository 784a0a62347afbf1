"""A machine stated by the speed of its blade, told back in the same terms on screens and papers."""

from __future__ import annotations

import json
from math import pi
from pathlib import Path

import pytest

from tests.band_saw import BAND_SAW, INCH_SAW
from tests.cli.conftest import Run


@pytest.fixture
def saws(tmp_path: Path) -> None:
    """Write the files of the saw in millimetres and in inches."""
    (tmp_path / "metric.toml").write_text(BAND_SAW, encoding="utf-8")
    (tmp_path / "inch.toml").write_text(INCH_SAW, encoding="utf-8")


@pytest.mark.usefixtures("saws")
def test_check_tells_what_blade_speeds_come_to(run: Run) -> None:
    """25, 50, 100 m/min on 300 mm are 26.526, 53.052, 106.103 rpm; 80, 160, 320 ft/min on 12 in 25.465 to 101.859."""
    assert run("check", "metric.toml").out == (
        "metric.toml: nothing wrong\n"
        'band "tool steel": blade 25 to 50 m/min on a 300 mm wheel: 26.5 to 53.1 rpm\n'
        'band "mild steel and brass": blade 50 to 100 m/min on a 300 mm wheel: 53.1 to\n'
        "  106.1 rpm\n"
        "layouts to search: 1\n"
    )
    assert (
        'band "tool steel": blade 80 to 160 ft/min on a 12 in wheel: 25.5 to 50.9 rpm\n'
        in run("check", "inch.toml").out
    )


@pytest.mark.usefixtures("saws")
def test_design_tells_every_speed_by_its_blade(run: Run, tmp_path: Path) -> None:
    """A metal band saw cuts at 25 to 100 m/min (common practice, no source): both are reached, and told in m/min."""
    ran = run("design", "metric.toml")
    assert ran.code == 0
    lines = ran.out.splitlines()
    head = next(line for line in lines if line.startswith("speed") and "blade m/min" in line)
    rows = lines[lines.index(head) + 2 : lines.index(head) + 6]
    assert [row.split()[-3 if "tool" in row else -5] for row in rows][::3] == ["25", "100"]
    assert "tool steel: blade 25 to 50 m/min on a 300 mm wheel, from which the band's rpm" in ran.out
    assert all(len(line) <= 80 for line in lines)
    design = json.loads((tmp_path / "metric-design" / "design.json").read_text(encoding="utf-8"))
    surface = design["bands"][1]["surface"]
    assert (surface["of"], surface["unit"], surface["wanted"]) == ("blade", "m/min", [50.0, 100.0])
    for row in design["work_size"]["work"]:
        (runs,) = row["surfaces"]
        assert (runs["diameter_mm"], runs["unit"]) == (300.0, "m/min")
        assert runs["speed"] == pytest.approx(pi * 0.3 * row["rpm"], abs=1e-4)
    written = (tmp_path / "metric-design" / "design.md").read_text(encoding="utf-8")
    assert (
        "- mild steel and brass: blade 50 to 100 m/min on a 300 mm wheel, from which the band's rpm follow." in written
    )


@pytest.mark.usefixtures("saws")
def test_an_inch_file_is_told_in_feet_a_minute(run: Run) -> None:
    """Feet a minute that were written come back as feet a minute, fpm and sfm among them."""
    ran = run("design", "inch.toml")
    assert ran.code == 0 and "blade ft/min" in ran.out
    assert "mild steel and brass: blade 160 to 320 ft/min on a 12 in wheel" in ran.out
