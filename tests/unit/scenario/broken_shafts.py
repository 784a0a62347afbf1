"""Broken files of hinges, pulls, bearings, frames."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, Broken, broken

__all__ = ["PARTS_OF_SHAFTS"]

PARTS_OF_SHAFTS: tuple[Broken, ...] = (
    broken(
        "hinge on a slide, bearings at one place",
        ONE,
        [('mount = "slide"', 'mount = "slide"\nhinge = { at = [0, 0], mass = "18 kg" }\nbearings = [40, 40]')],
        'shaft[0].hinge: only a hinged mount has a hinge; got "slide"; allowed: mount = "hinge"',
        "shaft[0].bearings[1]: both bearings stand at one place; got 40; allowed: 1 mm apart or more",
    ),
    broken(
        "mass in the wrong unit",
        ONE,
        [('mount = "slide"', 'mount = "hinge"\nhinge = { at = [0, 0], mass = "18 N" }')],
        'shaft[0].hinge.mass: "N" does not measure mass; got "18 N"; allowed: kg, g, lb, oz',
    ),
    broken(
        "pull on a hinge",
        ONE,
        [('mount = "slide"', 'mount = "hinge"\npull = "150 N"')],
        'shaft[0].pull: only a slide is drawn by a pull; got "150 N"; allowed: mount = "slide"',
    ),
    broken(
        "frame and torque class that nobody makes",
        ONE,
        [('speed = "1420 rpm"', 'speed = "1420 rpm"\nframe = "IEC 85"\ntorque_class = "E"')],
        'motor.frame: there is no such motor frame; got "IEC 85"; allowed: IEC 56, IEC 63, IEC 71, IEC 80, IEC 90, '
        "IEC 100, IEC 112, IEC 132, NEMA 48, NEMA 56, NEMA 143T, NEMA 145T, NEMA 42, NEMA 182T, NEMA 184T",
        'motor.torque_class: this is none of the words allowed here; got "E"; allowed: "N", "H", "B", "C", "D", '
        '"capacitor start", "split phase" or "permanent capacitor"',
    ),
    broken(
        "plate without a frame, stress that is none, three bearings",
        ONE,
        [
            ('speed = "1420 rpm"', 'speed = "1420 rpm"\nplate = true'),
            ('mount = "slide"', 'mount = "slide"\nstress = "80 N"\nbearings = [0, 100, 200]'),
        ],
        "motor.plate: how high the shaft lies above the plate is not stated; got true; "
        "allowed: frame beside it, or the diameter of a usual motor's shaft",
        'shaft[0].stress: "N" does not measure stress; got "80 N"; allowed: MPa, psi, ksi',
        "shaft[0].bearings: this takes two places; got [0, 100, 200]; allowed: [one, other]",
    ),
    broken(
        "work without inertia",
        ONE,
        [("[[shaft]]", '[work]\ninertia = "0 kg m2"\n\n[[shaft]]')],
        'work.inertia: this must be above 0; got "0 kg m2"; allowed: above 0 kg m2 up to 10000 kg m2',
    ),
)
