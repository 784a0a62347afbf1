"""Broken files of what pulls a mount: hinges, springs, pulls, masses."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, Broken, broken

__all__ = ["HANGING"]

HANGING: tuple[Broken, ...] = (
    broken(
        "hinge on the axis it should move",
        ONE,
        [('mount = "slide"', 'mount = "hinge"\nat = [100, 50]\nhinge = { at = [100, 50.5], mass = "18 kg" }')],
        "shaft[0].hinge.at: the hinge stands on the shaft's own axis; got [100, 50.5]; allowed: 1 mm from it or more",
    ),
    broken(
        "spring of no length, hinge without a place",
        ONE,
        [('mount = "slide"', 'mount = "hinge"\nhinge = { spring = { pull = "80 N", at = [1, 2], to = [1, 2] } }')],
        "shaft[0].hinge.at: this is missing; try: add at = [x, y]",
        "shaft[0].hinge.spring.to: both ends of the spring are one point; got [1, 2]; allowed: its other end",
    ),
    broken(
        "three pulls",
        ONE,
        [('mount = "slide"', 'mount = "slide"\npull = ["200 N", "180 N", "150 N"]')],
        "shaft[0].pull: this takes one value, or two: with the shafts nearest, with them farthest apart; got "
        '["200 N", "180 N", "150 N"]; allowed: [nearest, farthest]',
    ),
    broken(
        "lock on a mount that stays where it is",
        ONE,
        [("[[stage]]", '[[shaft]]\nname = "spindle"\nlocked = true\n\n[[stage]]')],
        'shaft[1].locked: only a mount that moves is locked; got true; allowed: mount = "slide" or "hinge"',
    ),
    broken(
        "motor without mass",
        ONE,
        [('speed = "1420 rpm"', 'speed = "1420 rpm"\nmass = "-9 kg"')],
        'motor.mass: a mass cannot be negative; got "-9 kg"; allowed: 0 or more',
    ),
)
