"""Kinds of work become spans of spindle speed."""

from __future__ import annotations

from math import pi

import pytest

from optimizer.asking.answer import Wanted, Written
from optimizer.asking.machine import Bands, Sizes, span_rpm
from optimizer.quantities import QuantityError


def only(reader: Bands | Sizes, text: str, units: str = "mm") -> Wanted:
    """Return the one kind of work of a text."""
    found = all_of(reader, text, units)
    assert len(found) == 1
    return found[0]


def all_of(reader: Bands | Sizes, value: Written, units: str = "mm") -> list[Wanted]:
    """Return the kinds of work of a text or a list."""
    read = reader.read(value, units).value
    assert isinstance(read, tuple)
    return [work for work in read if isinstance(work, Wanted)]


def test_a_band_has_a_name_two_speeds_and_may_have_a_count() -> None:
    """Name, speeds and count are told apart, with the words that makers put between."""
    band = only(Bands(), "iron: 200 to 450 rpm, 2 speeds")
    assert (band.name, band.least, band.most, band.want) == ("iron", 200.0, 450.0, 2)
    assert only(Bands(), "iron: 200-450 x3").want == 3
    assert only(Bands(), "iron: grey: 200 to 450").name == "iron: grey"
    assert only(Bands(), "iron: 200 to 450").want is None


def test_lines_and_semicolons_part_kinds_of_work() -> None:
    """Several kinds may be typed on several lines or on one, or listed in a file."""
    for value in ("a: 1 to 2\nb: 3 to 4", "a: 1 to 2; b: 3 to 4;", ("a: 1 to 2", "b: 3 to 4")):
        assert [work.name for work in all_of(Bands(), value)] == ["a", "b"]


def test_sizes_may_have_a_surface_speed_of_their_own() -> None:
    """Sizes are in the maker's units, surface speeds carry their own."""
    work = only(Sizes(), "mops: 8 at 2800 to 4200 ft/min", "in")
    assert (work.least, work.most) == (203.2, 203.2)
    assert work.surface_m_s == pytest.approx((14.224, 21.336))  # 0.3048/60 m/s a ft/min, exact


@pytest.mark.parametrize("text", ["", "iron 200 to 450", ": 200 to 450", "iron:", "iron: 450", "iron: 450 to 200"])
def test_bands_that_are_none_are_refused_with_the_form_they_have(text: str) -> None:
    """A line that is no band is answered with one that is."""
    with pytest.raises(QuantityError):
        Bands().read(text, "mm")


def test_the_middle_surface_speed_belongs_to_the_ends_of_a_span_of_sizes() -> None:
    """Wood of 100 and 400 mm at 8 to 12.5 m/s: √100 = 10 m/s at the rim of both, 60 000·10/(π·d) rpm."""
    assert span_rpm((100.0, 400.0), (8.0, 12.5)) == pytest.approx((600_000 / (pi * 400), 600_000 / (pi * 100)))


def test_work_of_one_size_has_the_whole_span_of_surface_speeds() -> None:
    """A wheel of 150 mm at 15 to 25 m/s turns at 60 000·15/(π·150) to 60 000·25/(π·150) rpm."""
    assert span_rpm((150.0, 150.0), (15.0, 25.0)) == pytest.approx((900_000 / (pi * 150), 1_500_000 / (pi * 150)))


def test_every_size_of_a_span_has_a_speed_within_its_surface_speeds() -> None:
    """Even where the surface speeds span more than the sizes, the span of speeds serves each size."""
    for sizes in ((100.0, 110.0), (100.0, 150.0), (100.0, 300.0)):
        slow, fast = span_rpm(sizes, (8.0, 12.0))
        for size in sizes:
            assert pi * size * slow / 60_000 <= 12.0
            assert pi * size * fast / 60_000 >= 8.0
