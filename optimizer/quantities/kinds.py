"""The kinds of quantity a maker states, with their commonest units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import pi
from types import MappingProxyType

from optimizer.errors import Fault

__all__ = [
    "ANGLE",
    "COORDINATE",
    "FORCE",
    "INERTIA",
    "LENGTH",
    "MASS",
    "NUMBER",
    "POWER",
    "RIM_SPEED",
    "SHARE",
    "SPEED",
    "STRESS",
    "TORQUE",
    "Kind",
    "QuantityError",
]


class QuantityError(ValueError):
    """A value cannot be read; carries all that a `Fault` needs but the place."""

    def __init__(self, what: str, got: str, allowed: str = "", advice: str = "") -> None:
        """Keep the parts, from which a fault with its place can be made."""
        self.what, self.got, self.allowed, self.advice = what, got, allowed, advice
        super().__init__(str(self.fault("value")))

    def fault(self, where: str) -> Fault:
        """Return the fault with its place in the scenario or in the call."""
        return Fault(where, self.what, self.got, self.allowed, self.advice)


@dataclass(frozen=True, eq=False)
class Kind:
    """A kind of quantity with the unit it is kept in."""

    name: str
    """What a sentence calls it, with its article."""
    unit: str
    """Unit of a bare number, and of the value returned."""
    pint_unit: str
    """The same unit as pint writes it."""
    words: Mapping[str, Fraction | float]
    """Commonest unit words, each with its size in `unit`."""
    example: str
    """A value written well."""
    signed: bool = False
    """Whether it may be below 0."""


_INCH = Fraction("25.4")
LENGTH = Kind(
    "a length",
    "mm",
    "millimeter",
    MappingProxyType(
        {
            "mm": Fraction(1),
            "cm": Fraction(10),
            "m": Fraction(1000),
            "in": _INCH,
            "inch": _INCH,
            "inches": _INCH,
            '"': _INCH,
            "ft": 12 * _INCH,
            "foot": 12 * _INCH,
            "feet": 12 * _INCH,
            "'": 12 * _INCH,
            "thou": _INCH / 1000,
        }
    ),
    '114.5, "114.5 mm" or "4 1/2 in"',
)
"""Lengths in millimetres; an inch is 25.4 mm exactly."""
COORDINATE = Kind(
    "a coordinate",
    "mm",
    "millimeter",
    LENGTH.words,
    '-40, "114.5 mm" or "-4 1/2 in"',
    signed=True,
)
"""Places from a stated origin in millimetres, on either side of it."""
SPEED = Kind(
    "a shaft speed",
    "rpm",
    "revolution / minute",
    MappingProxyType(
        {
            "rpm": Fraction(1),
            "RPM": Fraction(1),
            "rev/min": Fraction(1),
            "r/min": Fraction(1),
            "1/min": Fraction(1),
            "min-1": Fraction(1),
            "min^-1": Fraction(1),
            "rev/s": Fraction(60),
        }
    ),
    '1420 or "1420 rpm"',
)
"""Shaft speeds in revolutions per minute; nameplates write the unit r/min, 1/min or min-1, and all mean revolutions."""
POWER = Kind(
    "a power",
    "kW",
    "kilowatt",
    MappingProxyType(
        {
            "kW": Fraction(1),
            "kw": Fraction(1),
            "KW": Fraction(1),
            "W": Fraction(1, 1000),
            "hp": Fraction("0.45359237") * Fraction("9.80665") * Fraction("0.3048") * 550 / 1000,
            "HP": Fraction("0.45359237") * Fraction("9.80665") * Fraction("0.3048") * 550 / 1000,
            "PS": Fraction("9.80665") * 75 / 1000,
        }
    ),
    '0.75, "0.75 kW" or "1 hp"',
)
"""Powers in kilowatts; hp is 550 ft·lbf/s, PS is 75 kgf·m/s."""
RIM_SPEED = Kind(
    "a speed along the belt or rim",
    "m/s",
    "meter / second",
    MappingProxyType(
        {
            "m/s": Fraction(1),
            "m/min": Fraction(1, 60),
            "ft/min": Fraction("0.3048") / 60,
            "fpm": Fraction("0.3048") / 60,
            "sfm": Fraction("0.3048") / 60,
            "sfpm": Fraction("0.3048") / 60,
            "ft/s": Fraction("0.3048"),
        }
    ),
    '20, "20 m/s" or "4000 ft/min"',
)
"""Speeds along a belt or rim in metres per second; sfm and sfpm are surface feet a minute."""
ANGLE = Kind(
    "an angle",
    "degrees",
    "degree",
    MappingProxyType(
        {"deg": Fraction(1), "degree": Fraction(1), "degrees": Fraction(1), "°": Fraction(1), "rad": 180 / pi}
    ),
    '90 or "90 deg"',
)
"""Angles in degrees."""
MASS = Kind(
    "a mass",
    "kg",
    "kilogram",
    MappingProxyType(
        {
            "kg": Fraction(1),
            "g": Fraction(1, 1000),
            "lb": Fraction("0.45359237"),
            "lbs": Fraction("0.45359237"),
            "oz": Fraction("0.45359237") / 16,
        }
    ),
    '18, "18 kg" or "40 lb"',
)
"""Masses in kilograms."""
FORCE = Kind(
    "a force",
    "N",
    "newton",
    MappingProxyType(
        {
            "N": Fraction(1),
            "kN": Fraction(1000),
            "kgf": Fraction("9.80665"),
            "lbf": Fraction("0.45359237") * Fraction("9.80665"),
        }
    ),
    '150, "150 N" or "35 lbf"',
)
"""Forces in newtons."""
INERTIA = Kind(
    "a moment of inertia",
    "kg m2",
    "kilogram * meter ** 2",
    MappingProxyType(
        {
            "kg m2": Fraction(1),
            "kg m^2": Fraction(1),
            "kg·m²": Fraction(1),
            "kg m²": Fraction(1),
            "lb ft2": Fraction("0.45359237") * Fraction("0.3048") ** 2,
            "lb ft^2": Fraction("0.45359237") * Fraction("0.3048") ** 2,
        }
    ),
    '0.5, "0.5 kg m2" or "12 lb ft2"',
)
"""Moments of inertia in kg·m²."""
_LBF_FT = Fraction("0.45359237") * Fraction("9.80665") * Fraction("0.3048")
TORQUE = Kind(
    "a torque",
    "N m",
    "newton * meter",
    MappingProxyType(
        {
            "N m": Fraction(1),
            "Nm": Fraction(1),
            "N·m": Fraction(1),
            "kN m": Fraction(1000),
            "lb ft": _LBF_FT,
            "lbf ft": _LBF_FT,
            "ft lb": _LBF_FT,
            "ft lbf": _LBF_FT,
            "lb in": _LBF_FT / 12,
            "lbf in": _LBF_FT / 12,
            "in lb": _LBF_FT / 12,
            "in lbf": _LBF_FT / 12,
            "ft-lb": _LBF_FT,
            "lb-ft": _LBF_FT,
            "in-lb": _LBF_FT / 12,
            "lb-in": _LBF_FT / 12,
        }
    ),
    '40, "40 N m" or "350 lb in"',
)
"""Torques in newton metres; the pound of a torque is the pound-force, as plates of gears leave the letter out."""
STRESS = Kind(
    "a stress",
    "MPa",
    "megapascal",
    MappingProxyType(
        {
            "MPa": Fraction(1),
            "N/mm2": Fraction(1),
            "N/mm^2": Fraction(1),
            "N/mm²": Fraction(1),
            "psi": Fraction("0.45359237") * Fraction("9.80665") / Fraction("25.4") ** 2,
            "ksi": Fraction("0.45359237") * Fraction("9.80665") / Fraction("25.4") ** 2 * 1000,
        }
    ),
    '55, "55 MPa" or "8000 psi"',
)
"""Stresses in megapascals, which are newtons on a square millimetre."""
SHARE = Kind(
    "a share",
    "of 1",
    "dimensionless",
    MappingProxyType({"%": Fraction(1, 100), "percent": Fraction(1, 100), "per cent": Fraction(1, 100)}),
    '0.03 or "3 %"',
)
"""Shares as parts of one."""
NUMBER = Kind("a plain number", "", "", MappingProxyType({}), "0.5")
"""Plain numbers; no unit is read."""
