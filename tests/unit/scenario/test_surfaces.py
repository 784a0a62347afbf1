"""Bands stated by the speed along a surface."""

from __future__ import annotations

import pytest

from optimizer.scenario import Band, load_scenario, scenario_schema
from tests.unit.scenario.bases import ONE

EDGES = "from = 700\nto = 2800\n"
BLADE = 'work = 200\nof = "blade"\nsurface_speed = ["25 m/min", "100 m/min"]\n'


def band(lines: str, *changes: tuple[str, str]) -> Band:
    """Return the band of the machine with other lines in place of its edges."""
    text = ONE.replace(EDGES, lines)
    for old, new in changes:
        text = text.replace(old, new)
    (found,) = load_scenario(text, "machine.toml").bands
    return found


def edges(lines: str) -> tuple[float, float]:
    """Return where that band begins and ends."""
    found = band(lines)
    return found.from_rpm, found.to_rpm


def test_one_diameter_spans_from_the_least_speed_to_the_greatest() -> None:
    """25 and 100 m/min over a girth of 0.2π m = 0.628319 m are 39.789 and 159.155 rpm."""
    assert edges(BLADE) == pytest.approx((39.789, 159.155), abs=1e-3)


def test_two_diameters_want_the_slowest_for_the_largest() -> None:
    """1 m/s on 100 mm is 190.986 rpm, 1.5 m/s on 20 mm is 1432.394 rpm; with 1 m/s alone 190.986 to 954.930."""
    assert edges("work = [20, 100]\nsurface_speed = [1, 1.5]\n") == pytest.approx((190.986, 1432.394), abs=1e-3)
    assert edges("work = [20, 100]\nsurface_speed = 1\n") == pytest.approx((190.986, 954.930), abs=1e-3)


def test_stated_edges_win_one_by_one() -> None:
    """An edge that is written stands; the other follows, 39.789 or 159.155 rpm."""
    assert edges(EDGES + BLADE) == (700.0, 2800.0)
    assert edges("from = 50\n" + BLADE) == pytest.approx((50.0, 159.155), abs=1e-3)
    assert edges("to = 150\n" + BLADE) == pytest.approx((39.789, 150.0), abs=1e-3)
    assert band(BLADE).by_surface and not band("to = 150\n" + BLADE).by_surface


def test_a_band_ends_where_the_largest_wheel_runs_at_its_mark() -> None:
    """Wheels of 100 to 150 mm want 20 to 40 m/s and are marked 35: 20 and 35 m/s on 150 mm, 2546.5 and 4456.3 rpm.

    The motor of 1420 rpm idles at 1500, its belt's slip of 1 % is gone: 4456.3 · 1420/1500 · 0.99 = 4176.5 rpm.
    """
    text = ONE.replace(EDGES, 'work = [100, 150]\nof = "wheel"\nsurface_speed = [20, 40]\nsurface_limit = 35\n')
    scenario = load_scenario(text, "machine.toml")
    assert (scenario.bands[0].from_rpm, scenario.bands[0].to_rpm) == pytest.approx((2546.479, 4176.480), abs=1e-3)
    assert scenario.remarks == (
        "band[0].surface_limit: 40 m/s is wanted, but no more than the 35 m/s that is marked is ever run.",
        'band[0]: "all" ends at 4176.5 rpm under full load: the spindle then idles at 4456.3 rpm, where the rim runs '
        "at the 35 m/s that is marked.",
    )
    stated = load_scenario(text.replace("want = 3", "want = 3\nfrom = 2000\nto = 4000"), "machine.toml")
    assert stated.remarks == (
        "band[0].surface_limit: 40 m/s is wanted, but no more than the 35 m/s that is marked is ever run.",
    )


@pytest.mark.parametrize(
    ("written", "unit"),
    [
        ('["25 m/min", "100 m/min"]', "m/min"),
        ('"80 sfm"', "ft/min"),
        ('["80 fpm", "320 ft/min"]', "ft/min"),
        ('[1, "6 ft/s"]', "ft/s"),
        ('["0.5 m/s", "90 m/min"]', "m/s"),
        ("[0.5, 1.5]", None),
        ('["2 km/h", "5 km/h"]', None),
    ],
)
def test_the_unit_that_was_written_is_kept(written: str, unit: str | None) -> None:
    """The first unit counts; a bare number, or a unit that nobody shows, keeps none."""
    assert band(f"work = [100, 200]\nsurface_speed = {written}\n").surface_unit == unit


def test_bare_numbers_mean_metres_a_second_in_inches_too() -> None:
    """1 m/s on 4 in, 101.6 mm, is 187.979 rpm whatever the units of lengths."""
    text = (
        ONE.replace('units = "mm"', 'units = "in"')
        .replace("[250, 350]", "[10, 14]")
        .replace("travel = 60", "travel = 2")
    )
    text = text.replace("[75, 200]", "[3, 8]").replace(EDGES, "work = 4\nsurface_speed = [1, 2]\n")
    assert load_scenario(text, "machine.toml").bands[0].from_rpm == pytest.approx(187.979, abs=1e-3)


def test_surface_feet_a_minute_are_feet_a_minute() -> None:
    """80 sfm on a girth of 1 ft, 304.8/π mm, turn 80 times a minute, 320 ft/min 320 times."""
    found = edges('work = 97.0208535\nof = "blade"\nsurface_speed = ["80 sfm", "320 ft/min"]\n')
    assert found == pytest.approx((80.0, 320.0), rel=1e-6)


def test_only_one_diameter_tells_speeds_by_a_surface() -> None:
    """What is one size, and stated by its surface or said to be something, tells every speed; spans of sizes do not."""
    assert band(BLADE).told_mm == 200.0
    assert band(EDGES + 'work = 200\nof = "wheel"\n').told_mm == 200.0
    assert band(EDGES + "work = 200\nsurface_speed = 20\n").told_mm is None
    assert band("work = [100, 200]\nsurface_speed = [10, 20]\n").told_mm is None


def test_the_schema_asks_for_a_name_alone() -> None:
    """Edges may be left out, and what the program keeps for itself is no key."""
    described = scenario_schema()["$defs"]["Band"]
    assert described["required"] == ["name"]
    assert described["properties"]["of"]["enum"] == ["work", "tool", "wheel", "blade"]
    assert "surface_unit" not in described["properties"] and "default" not in described["properties"]["from"]
