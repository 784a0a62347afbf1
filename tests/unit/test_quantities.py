"""Numbers with units as a maker writes them."""

from __future__ import annotations

import subprocess
import sys

import pytest

from optimizer.quantities import (
    LENGTH,
    POWER,
    TORQUE,
    QuantityError,
    angle_deg,
    as_written,
    length_mm,
    number,
    power_kw,
    quantity,
    rim_speed_m_s,
    share,
    show_length,
    speed_rpm,
)

GOOD = 'allowed: 114.5, "114.5 mm" or "4 1/2 in"'
UNITS = "allowed: mm, cm, m, in, ft, thou"
INCH_MM = 25.4  # international yard and pound agreement of 1959: 0.9144 m a yard, exact; from memory


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("4 1/2 in", 4.5),
        ("4-1/2 in", 4.5),
        ('4-1/2"', 4.5),
        ('4 1/2"', 4.5),
        ("4½ in", 4.5),
        ("4 ½″", 4.5),
        ("9/2 inch", 4.5),
        ("4.5 inches", 4.5),
        ("4.5in", 4.5),
        ("4.5 in.", 4.5),
        ("7/8-in", 0.875),
        ("3/8 in", 0.375),
        ("1 5/16 in", 1.3125),
        ("0.5 ft", 6.0),
        ("+2 in", 2.0),
        ("  2\N{NO-BREAK SPACE}in ", 2.0),
        ("12 thou", 0.012),
    ],
)
def test_shop_fractions_are_read(text: str, inches: float) -> None:
    """Every way a shop writes inches gives that many times 25.4 mm."""
    assert length_mm(text) == pytest.approx(inches * INCH_MM, rel=1e-15)


@pytest.mark.parametrize(
    ("value", "units", "expected"),
    [
        (12, "mm", 12.0),
        (12, "cm", 120.0),
        (4.5, "in", 114.3),
        ("3/8", "in", 9.525),
        ("3/8", "mm", 0.375),
        ("4 1/2", "in", 114.3),
        ("20 mm", "in", 20.0),
        ("1.5 cm", "in", 15.0),
        (0, "mm", 0.0),
        ("2 yd", "mm", 1828.8),
        ("500 micrometer", "mm", 0.5),
    ],
)
def test_bare_numbers_are_in_the_files_units(value: object, units: str, expected: float) -> None:
    """A number without a unit is in the file's units, one with a unit is not."""
    assert length_mm(value, units) == pytest.approx(expected, rel=1e-15)


def test_the_same_size_is_the_same_float_in_every_unit() -> None:
    """Decimals and fractions are rounded once, so no unit moves a size by an ulp."""
    assert length_mm(4.5, "in") == length_mm("4 1/2 in") == length_mm("11.43 cm") == length_mm(114.3) == 114.3
    assert length_mm(0.1, "cm") == length_mm("0.1 cm") == 1.0


@pytest.mark.parametrize("text", ["1420 rpm", "1420rpm", "1420 r/min", "1420 1/min", "1420 min-1", "1420 min⁻¹"])
def test_nameplate_speeds_are_revolutions(text: str) -> None:
    """All that nameplates write after a shaft speed means revolutions a minute."""
    assert speed_rpm(text) == 1420.0


def test_other_kinds_are_read_in_their_unit() -> None:
    """Power is in kW, rim speed in m/s, angles in degrees, shares are parts of one."""
    assert power_kw("750 W") == power_kw(0.75) == 0.75
    assert power_kw("1 hp") == pytest.approx(0.745699872, abs=5e-10)  # 550 ft·lbf/s: Machinery's Handbook, from memory
    assert power_kw("1 PS") == pytest.approx(0.73549875, abs=5e-9)  # 75 kgf·m/s: DIN 66036, from memory
    assert rim_speed_m_s("6500 ft/min") == pytest.approx(33, abs=0.05)  # 33 m/s: MPTA-B13i-2013, foreword
    assert angle_deg("90°") == angle_deg(90) == angle_deg("0.25 turn") == 90.0
    assert share("3 %") == share("3%") == share("3 percent") == share(0.03) == 0.03
    assert number("1/4") == 0.25


@pytest.mark.parametrize(
    ("text", "torque_nm"), [("40", 40), ("40 Nm", 40), ("350 lb in", 39.545), ("30 ft-lb", 40.675)]
)
def test_the_pound_of_a_torque_is_a_force(text: str, torque_nm: float) -> None:
    """Plates of gears write lb in; 1 lbf ft is 1.35582 N·m, a twelfth of it 0.112985: NIST SP 811, from memory."""
    assert quantity(text, TORQUE) == pytest.approx(torque_nm, abs=5e-4)
    with pytest.raises(QuantityError, match="does not measure torque"):
        quantity("40 N", TORQUE)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            "114,5 mm",
            'x: a comma is not read in numbers; got "114,5 mm"; allowed: a decimal point; '
            'try: write "114.5 mm"',
        ),
        (
            "1,420 mm",
            'x: a comma is not read in numbers; got "1,420 mm"; allowed: a decimal point; '
            'try: write "1.420 mm", or "1420 mm" if the comma parts thousands',
        ),
        ("12 mn", f'x: "mn" is not known as a unit of length; got "12 mn"; {UNITS}; try: did you mean m?'),
        ("12 kg", f'x: "kg" does not measure length; got "12 kg"; {UNITS}'),
        ("12 mm^2", f'x: "mm^2" is not read as a unit of length; got "12 mm^2"; {UNITS}'),
        ("10 20 mm", f'x: more than one number, or a number broken in two; got "10 20 mm"; {GOOD}'),
        ("large", f'x: a length starts with a number; got "large"; {GOOD}'),
        ("", f'x: a length starts with a number; got ""; {GOOD}'),
        ("3/0 in", f'x: nothing can be divided by 0; got "3/0 in"; {GOOD}'),
        ("4 1/00 in", f'x: nothing can be divided by 0; got "4 1/00 in"; {GOOD}'),
        ("-3 mm", 'x: a length cannot be negative; got "-3 mm"; allowed: 0 or more'),
        ("-4 1/2 in", 'x: a length cannot be negative; got "-4 1/2 in"; allowed: 0 or more'),
        (float("nan"), f'x: a length must be finite; got nan; {GOOD}'),
        (float("inf"), f'x: a length must be finite; got inf; {GOOD}'),
        ("inf mm", f'x: a length must be finite; got "inf mm"; {GOOD}'),
        ("1e400 mm", f'x: a length must be finite; got "1e400 mm"; {GOOD}'),
        (True, f'x: a length is a number; got true; {GOOD}'),
        ([12], f'x: a length is a number; got [12]; {GOOD}'),
        ({"a": 1}, f'x: a length is a number; got {{ a = 1 }}; {GOOD}'),
    ],
)  # fmt: skip
def test_a_bad_length_is_refused_in_plain_words(text: object, line: str) -> None:
    """What was got, what is allowed, and what to try stand in one line."""
    with pytest.raises(QuantityError) as caught:
        length_mm(text)
    assert str(caught.value.fault("x")) == line


@pytest.mark.parametrize("text", ["24 Hz", "24 1/s", "1420 mm", "100 per minute"])
def test_plain_rates_are_not_shaft_speeds(text: str) -> None:
    """Hertz may be turns or field cycles, so a speed in it is refused rather than guessed."""
    with pytest.raises(QuantityError):
        speed_rpm(text)


def test_a_very_long_number_is_refused_at_once() -> None:
    """No text, however long, makes the reader compute a number of that length."""
    for text in ("9" * 5000, "1e" + "9" * 50, "1/" + "3" * 5000):
        with pytest.raises(QuantityError):
            length_mm(text)
    with pytest.raises(QuantityError, match="must be finite"):
        quantity(10**400, LENGTH)
    assert length_mm("1e-999 mm") == 0.0


def test_lengths_are_written_in_the_makers_units() -> None:
    """Lengths are shown without trailing zeros, inches as decimals, never as minus zero."""
    assert [show_length(114.3, units) for units in ("mm", "cm", "in")] == ["114.3 mm", "11.43 cm", "4.5 in"]
    assert show_length(9.525, "in") == "0.375 in"
    assert show_length(1 / 3) == "0.333 mm"
    assert show_length(-1e-9, "in") == "0 in"


def test_values_are_shown_as_the_file_writes_them() -> None:
    """Text keeps its quotes, control characters are made visible, long values are cut."""
    assert as_written("4 in") == '"4 in"'
    assert as_written('4"') == "'4\"'"
    assert as_written("1' 6\"") == '"1\' 6\\""'
    assert as_written("a\tb\u202e") == '"a\\u0009b\\u202E"'
    assert as_written([1, 2.5, True, {"a": "b"}]) == '[1, 2.5, true, { a = "b" }]'
    assert len(as_written("x" * 1000)) == 120


def test_common_units_are_read_without_pint() -> None:
    """Shop units come from a small table, since importing pint costs half a second."""
    code = (
        "import sys; from optimizer.quantities import length_mm, speed_rpm, power_kw, share, angle_deg, rim_speed_m_s\n"
        "length_mm('4 1/2 in'); length_mm('12 mm'); length_mm('3/8', 'in'); speed_rpm('1420 rpm'); power_kw('1 hp')\n"
        "share('3 %'); angle_deg('90 deg'); rim_speed_m_s('20 m/s')\n"
        "assert 'pint' not in sys.modules\n"
        "length_mm('2 yd')\n"
        "assert 'pint' in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_other_units_come_from_pint() -> None:
    """A unit outside the small table is read where it measures the kind, and refused where it does not."""
    assert quantity("550 lbf*ft/s", POWER) == pytest.approx(power_kw("1 hp"), rel=1e-12)
    assert speed_rpm("360 deg/s") == pytest.approx(60.0, rel=1e-12)
    with pytest.raises(QuantityError, match="does not measure power"):
        power_kw("1 kW h")
