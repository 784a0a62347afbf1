"""Outside, datum, pitch diameter and size over pins: constant shifts for a section on a kind of rim."""

from __future__ import annotations

from math import pi
from typing import Literal, NamedTuple

from optimizer.catalogue.entry import CatalogueError, Section

__all__ = [
    "GrooveKind",
    "Measured",
    "Shifts",
    "datum_of",
    "datum_of_outside",
    "outside_of_datum",
    "pitch_length_mm",
    "pitch_of_datum",
    "shifts",
]

GrooveKind = Literal["v", "flat", "crowned"]
Measured = Literal["datum", "outside", "pitch", "over pins"]


class Shifts(NamedTuple):
    """What is added to a datum diameter to get the diameter on another line [mm]."""

    pitch_less_datum: float
    outside_less_datum: float
    pins_less_datum: float | None
    """Nothing where no gauge pins are known."""

    def of(self, measured: Measured) -> float:
        """Return what is added to a datum diameter to get the diameter on the line.

        Raises
        ------
        CatalogueError
            No gauge pins are known.
        """
        if measured == "over pins":
            if self.pins_less_datum is None:
                raise CatalogueError(
                    "no gauge pins are known here",
                    "over pins",
                    "datum, outside, pitch",
                    "measure the outside diameter",
                )
            return self.pins_less_datum
        return {"datum": 0.0, "pitch": self.pitch_less_datum, "outside": self.outside_less_datum}[measured]


def shifts(section: Section, groove_kind: GrooveKind = "v") -> Shifts:
    """Return the constant differences between the lines of a belt on a kind of rim [mm].

    In a groove the rim lies ``b`` outside the datum line. On a flat or crowned rim (measured at its highest)
    the belt rests on its base, and the datum line lies ``height − depth of the datum line`` outside the rim.
    A flat belt has no groove: every kind is a plain rim for it.

    Parameters
    ----------
    section
        The belt section.
    groove_kind
        ``"v"`` (the groove made for the section), ``"flat"`` or ``"crowned"``.

    Examples
    --------
    GOST 20889-88 (read): outside = datum + 6.6 mm, datum = size over 12 mm pins − 17.0 mm for section A.

    >>> from optimizer.catalogue.sections import section
    >>> shifts(section("A"))
    Shifts(pitch_less_datum=0.0, outside_less_datum=6.6, pins_less_datum=17.0)

    On a flat rim the belt's datum line runs 4.7 mm outside it:

    >>> round(shifts(section("A"), "flat").outside_less_datum, 3)
    -9.4
    """
    if groove_kind == "v" and section.kind != "flat":
        pins = section.pins.take_off_mm if section.pins else None
        return Shifts(section.pitch_shift_mm, 2 * section.above_mm, pins)
    return Shifts(section.pitch_shift_mm, 2 * (section.datum_depth_mm - section.height_mm), None)


def datum_of(section: Section, value_mm: float, measured: Measured, groove_kind: GrooveKind = "v") -> float:
    """Return the datum diameter of a pulley measured on any line [mm].

    Raises
    ------
    CatalogueError
        It is measured over pins where no gauge pins are known.

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> datum_of(section("A"), 107.0, "over pins")
    90.0
    """
    return value_mm - shifts(section, groove_kind).of(measured)


def outside_of_datum(section: Section, datum_mm: float, groove_kind: GrooveKind = "v") -> float:
    """Return the outside diameter [mm].

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> outside_of_datum(section("B"), 125.0)
    133.4
    """
    return datum_mm + shifts(section, groove_kind).outside_less_datum


def datum_of_outside(section: Section, outside_mm: float, groove_kind: GrooveKind = "v") -> float:
    """Return the datum diameter [mm]; inverts `outside_of_datum`."""
    return outside_mm - shifts(section, groove_kind).outside_less_datum


def pitch_of_datum(section: Section, datum_mm: float) -> float:
    """Return the pitch diameter, which sets the speed [mm].

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> pitch_of_datum(section("PJ"), 60.0)
    62.4
    """
    return datum_mm + section.pitch_shift_mm


def pitch_length_mm(section: Section, datum_length_mm: float) -> float:
    """Return a belt's length along its pitch line from that along its datum line [mm].

    A closed belt turns once about itself, so that a line t outside another is ``2π·t`` longer:
    ``L_pitch = L_datum + π·(pitch − datum diameter)``, open or crossed.

    Examples
    --------
    >>> from optimizer.catalogue.sections import section
    >>> round(pitch_length_mm(section("flat 3x40"), 1500.0), 3)
    1509.425
    """
    return datum_length_mm + pi * section.pitch_shift_mm
