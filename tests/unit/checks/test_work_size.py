"""Sizes of work by speed, on the machine worked out by hand: 787.5, 1400, 2488.889 rpm."""

from __future__ import annotations

import pytest

from optimizer.checks import check_design
from optimizer.checks.spindle import work_at
from optimizer.checks.stated import read_machine
from optimizer.scenario import Scenario
from tests.unit.checks.machines import BASE, built, machine, named, scenario, skipped

PLAIN = machine(built((90, 125, 160), (160, 125, 90)))
WOOD = ("[making]", "[work]\nwood_turning = true\n[making]")


def with_band(*lines: str) -> Scenario:
    """Return the machine with more said of its one band."""
    return scenario(BASE, ("want = 3", "\n".join(("want = 3", *lines))))


def test_wood_is_told_by_speed() -> None:
    """6000 and 9000 rpm·in over 787.5 rpm are 193.524 and 290.286 mm; over 1400 rpm 108.857 and 163.286 mm."""
    rows = work_at(read_machine(scenario(BASE, WOOD), PLAIN))
    assert [row.number for row in rows] == [1, 2, 3]
    assert [row.suited_mm for row in rows][:2] == [
        pytest.approx((193.524, 290.286), abs=1e-3),
        pytest.approx((108.857, 163.286), abs=1e-3),
    ]
    assert {row.rule.source for row in rows if row.rule} == {
        "6000 to 9000 rpm times inches, common practice, no source"
    }


def test_a_wanted_surface_speed_is_told_in_diameters() -> None:
    """0.5 m/s at 1400 rpm: 60 000·0.5/(π·1400) = 6.821 mm; the band's own comes before that of all work."""
    for text in (
        scenario(BASE, ("[making]", '[work]\nsurface_speed = "0.5 m/s"\n[making]')),
        scenario(BASE, WOOD, ("want = 3", 'want = 3\nsurface_speed = "30 m/min"')),
    ):
        assert work_at(read_machine(text, PLAIN))[1].suited_mm == pytest.approx((6.821, 6.821), abs=1e-3)


def test_no_span_passes_what_is_marked() -> None:
    """10 to 30 m/s are wanted and 15 marked: at 1400 rpm 60 000·15/(π·1400) = 204.628 mm is the largest."""
    text = with_band("work = 150", 'surface_limit = "15 m/s"', 'surface_speed = ["10 m/s", "30 m/s"]')
    assert work_at(read_machine(text, PLAIN))[1].suited_mm == pytest.approx((136.419, 204.628), abs=1e-3)


def test_a_stated_diameter_is_told_in_surface_speeds() -> None:
    """150 mm at 787.5 rpm runs at π·150·787.5/60 000 = 6.185 m/s; one size is told once."""
    rows = work_at(read_machine(with_band("work = 150"), PLAIN))
    ((size, speed),) = rows[0].surfaces
    assert (size, speed) == pytest.approx((150.0, 6.185), abs=1e-3)
    assert rows[0].rule is None and rows[0].suited_mm is None


def test_a_wheel_is_held_to_the_speed_marked_on_it() -> None:
    """150 mm at 2488.889 rpm: 19.548 m/s; above 19 m/s it fails as a limit, at 20 m/s it passes, advice included."""
    (check,) = named(with_band("work = 150", 'surface_limit = "19 m/s"'), PLAIN, "marked surface speed")
    assert check.value == pytest.approx(19.548, abs=1e-3)
    assert (check.where, check.kind, check.passed) == ("band[0]", "limit", False)
    assert "never above the speed marked on the wheel" in check.source
    fine = check_design(read_machine(with_band("work = 150", 'surface_limit = "20 m/s"'), PLAIN))
    assert all(c.passed for c in fine if c.name.startswith("marked surface speed"))


def test_a_wheel_left_on_at_a_faster_speed_is_warned_of() -> None:
    """A band of 700 to 1000 rpm for a wheel of 6.2 m/s: the machine's 2488.889 rpm would drive it at 19.5 m/s."""
    text = scenario(
        BASE,
        ("[series]", '[[band]]\nname = "wheel"\nfrom = 700\nto = 780\nwork = 150\nsurface_limit = "6.2 m/s"\n[series]'),
        ("from = 780", "from = 800"),
    )
    found = {c.name: c for c in check_design(read_machine(text, PLAIN)) if c.where == "band[1]"}
    assert "marked surface speed" not in found, "787.5 rpm lies in neither band"
    text = scenario(
        BASE,
        ("[series]", '[[band]]\nname = "wheel"\nfrom = 700\nto = 800\nwork = 150\nsurface_limit = "6.2 m/s"\n[series]'),
        ("from = 780", "from = 800"),
    )
    found = {c.name: c for c in check_design(read_machine(text, PLAIN)) if c.where == "band[1]"}
    assert found["marked surface speed"].passed
    warned = found["marked surface speed, any speed"]
    assert (warned.kind, warned.passed) == ("advice", False)


def test_work_with_no_speed_slow_enough_is_warned_of() -> None:
    """600 mm of wood at 787.5 rpm runs at 24.74 m/s, above 11.97; 50 mm at 2488.889 at 6.52 m/s, below 7.98."""
    text = scenario(BASE, WOOD, ("want = 3", "want = 3\nwork = [50, 600]"))
    (large,) = named(text, PLAIN, "surface speed of the largest work")
    (small,) = named(text, PLAIN, "surface speed of the smallest work")
    assert (large.value, large.limit) == pytest.approx((24.740, 11.969), abs=1e-3)
    assert (small.value, small.limit) == pytest.approx((6.516, 7.980), abs=1e-3)
    assert not large.passed and not small.passed and large.kind == small.kind == "advice"


def test_nothing_is_told_where_nothing_is_stated() -> None:
    """Without any key of work there is no row, and the check is skipped with what to state."""
    assert work_at(read_machine(scenario(BASE), PLAIN)) == ()
    assert skipped(scenario(BASE), PLAIN)["work size"] == {"work"}


RPM = "from = 780\nto = 2500\n"
WHEEL = 'work = 150\nof = "wheel"\nsurface_speed = ["360 m/min", "1200 m/min"]\n'


def test_a_wheel_is_told_by_the_speed_of_its_rim() -> None:
    """150 mm has a girth of 0.47124 m: at 787.5, 1400, 2488.889 rpm it runs at 371.10, 659.73, 1172.86 m/min."""
    rows = work_at(read_machine(scenario(BASE, (RPM, WHEEL)), PLAIN))
    assert [row.surfaces[0][1] * 60 for row in rows] == pytest.approx([371.10, 659.73, 1172.86], abs=0.01)
    assert {(row.of, row.unit, row.told, row.suited_mm, row.band) for row in rows} == {
        ("wheel", "m/min", True, None, "all work")
    }


def test_a_speed_outside_every_band_is_told_too_where_all_bands_are_for_one_wheel() -> None:
    """At most 800 m/min are wanted, which leaves 2488.889 rpm, 1172.86 m/min, out; of two wheels neither is told."""
    one = WHEEL.replace("1200", "800")
    rows = work_at(read_machine(scenario(BASE, (RPM, one), ("want = 3", "want = 2")), PLAIN))
    assert [(row.number, row.band, row.told) for row in rows] == [
        (1, "all work", True),
        (2, "all work", True),
        (3, "", True),
    ]
    assert rows[2].surfaces[0] == pytest.approx((150.0, 1172.86 / 60), abs=1e-3)
    other = '[[band]]\nname = "mop"\nwork = 250\nof = "wheel"\nsurface_speed = ["500 m/min", "700 m/min"]\n[series]'
    rows = work_at(read_machine(scenario(BASE, (RPM, one), ("want = 3", "want = 2"), ("[series]", other)), PLAIN))
    assert 3 not in {row.number for row in rows}


def test_checks_are_in_the_unit_that_was_written() -> None:
    """At 2488.889 rpm the wheel of 150 mm runs at 1172.86 m/min: above the 1150 marked on it, and below 1180.

    1150 m/min are 2440.4 rpm, which ends the band; widened by 3 % it still takes the machine's fastest speed in.
    """
    for limit, passed in ((1150, False), (1180, True)):
        text = scenario(BASE, (RPM, f'{RPM}{WHEEL}surface_limit = "{limit} m/min"\n'))
        (check,) = named(text, PLAIN, "marked surface speed")
        assert (check.unit, check.passed) == ("m/min", passed)
        assert (check.limit, check.value) == pytest.approx((limit, 1172.86), abs=0.01)
        (slow,) = named(text, PLAIN, "surface speed of the largest work")
        assert slow.unit == "m/min"
        assert (slow.limit, slow.value) == pytest.approx((min(limit, 1200), 371.10), abs=0.01)


def test_a_wheel_that_keeps_its_mark_under_load_and_passes_it_without_fails() -> None:
    """150 mm at 2488.889 rpm run 1172.86 m/min, below 1250; the motor idles at 1500 of 1400 rpm, the rim at 1256.6."""
    idling = scenario(BASE, ("idle = 1400\n", ""), (RPM, f'{RPM}{WHEEL}surface_limit = "1250 m/min"\n'))
    (check,) = named(idling, PLAIN, "marked surface speed")
    assert check.value == pytest.approx(1172.86 * 1500 / 1400, abs=0.01)
    assert not check.passed
    assert check.note.startswith("2667 rpm without load, 2489 rpm under full load")
    (check,) = named(
        scenario(BASE, (RPM, f'{RPM}{WHEEL}surface_limit = "1250 m/min"\n')), PLAIN, "marked surface speed"
    )
    assert check.passed, "a motor that idles no faster"
