"""What must hold for every value in every unit."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from optimizer.quantities import (
    ANGLE,
    FORCE,
    INERTIA,
    LENGTH,
    MASS,
    POWER,
    RIM_SPEED,
    SHARE,
    SPEED,
    STRESS,
    TORQUE,
    Kind,
    QuantityError,
    length_mm,
    quantity,
    show_length,
)

PINT_NAMES = {
    '"': "inch",
    "'": "foot",
    "RPM": "rpm",
    "rev/min": "revolution/minute",
    "r/min": "revolution/minute",
    "1/min": "revolution/minute",
    "min-1": "revolution/minute",
    "min^-1": "revolution/minute",
    "rev/s": "revolution/second",
    "kw": "kilowatt",
    "KW": "kilowatt",
    "HP": "horsepower",
    "PS": "metric_horsepower",
    "fpm": "foot/minute",
    "sfm": "foot/minute",
    "sfpm": "foot/minute",
    "per cent": "percent",
    "lbs": "pound",
    "oz": "ounce",
    "kgf": "kilogram_force",
    "lbf": "pound_force",
    "kg m2": "kilogram * meter**2",
    "kg m^2": "kilogram * meter**2",
    "kg·m²": "kilogram * meter**2",
    "kg m²": "kilogram * meter**2",
    "lb ft2": "pound * foot**2",
    "lb ft^2": "pound * foot**2",
    "N m": "newton * meter",
    "Nm": "newton * meter",
    "N·m": "newton * meter",
    "kN m": "kilonewton * meter",
    **dict.fromkeys(("lb ft", "lbf ft", "ft lb", "ft lbf", "ft-lb", "lb-ft"), "pound_force * foot"),
    **dict.fromkeys(("lb in", "lbf in", "in lb", "in lbf", "in-lb", "lb-in"), "pound_force * inch"),
    "N/mm2": "newton / millimeter**2",
    "N/mm^2": "newton / millimeter**2",
    "N/mm²": "newton / millimeter**2",
}
"""Words of the small tables that pint does not have, or has for something else, with what they mean in a shop."""
KINDS = (LENGTH, SPEED, POWER, RIM_SPEED, ANGLE, MASS, FORCE, INERTIA, STRESS, TORQUE, SHARE)
WORDS = [pytest.param(kind, word, id=f"{kind.name}: {word}") for kind in KINDS for word in kind.words]
AMOUNTS = st.decimals(min_value=0, max_value=100_000, places=4, allow_nan=False, allow_infinity=False)


@cache
def registry() -> UnitRegistry[float]:
    """Return pint's own table of units."""
    return UnitRegistry(cache_folder=None)


@pytest.mark.parametrize(("kind", "word"), WORDS)
def test_the_small_tables_agree_with_pint(kind: Kind, word: str) -> None:
    """Every unit of the small tables has the size that pint gives it."""
    pint_size = registry().Quantity(1.0, registry().parse_units(PINT_NAMES.get(word, word))).to(kind.pint_unit)
    assert quantity(f"1 {word}", kind) == pytest.approx(pint_size.magnitude, rel=1e-14)


@given(amount=AMOUNTS, units=st.sampled_from(["mm", "cm", "in"]))
def test_a_bare_number_is_the_same_as_one_with_the_files_unit(amount: object, units: str) -> None:
    """Writing the file's unit after a number changes nothing, not even the last bit."""
    assert length_mm(float(str(amount)), units) == length_mm(f"{amount} {units}", "mm")


@given(
    whole=st.integers(0, 400),
    over=st.integers(0, 127),
    under=st.sampled_from([2, 4, 8, 16, 32, 64, 128]),
    between=st.sampled_from([" ", "-", " - ", "  "]),
)
def test_a_shop_fraction_is_its_exact_sum(whole: int, over: int, under: int, between: str) -> None:
    """A mixed fraction is its whole inches and its part, rounded once."""
    exact = (whole + Fraction(over, under)) * Fraction("25.4")
    assert length_mm(f"{whole}{between}{over}/{under} in") == float(exact)


@given(millimetres=st.floats(0, 5000), units=st.sampled_from(["mm", "cm", "in"]))
def test_what_is_shown_reads_back(millimetres: float, units: str) -> None:
    """A length that is shown and read again has moved by less than what can be turned."""
    assert length_mm(show_length(millimetres, units)) == pytest.approx(millimetres, abs=0.0013)


@given(text=st.text(max_size=80))
def test_no_text_does_anything_but_read_or_refuse(text: str) -> None:
    """Whatever is written is read as a finite length, or refused with a reason."""
    try:
        result = length_mm(text)
    except QuantityError as refused:
        assert refused.what
    else:
        assert 0 <= result < float("inf")


@given(number=st.text("0123456789.,/+- eE½", min_size=1, max_size=12), unit=st.text("mincft\"' %/^*-.°_", max_size=6))
def test_no_near_miss_does_anything_but_read_or_refuse(number: str, unit: str) -> None:
    """Text that is nearly a length is read as a finite length, or refused with a reason."""
    try:
        result = length_mm(f"{number}{unit}", "in")
    except QuantityError as refused:
        assert refused.what
    else:
        assert 0 <= result < float("inf")
