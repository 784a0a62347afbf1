"""Cones that two belts share, speeds that are free: what such machines cannot have."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, Broken, broken

__all__ = ["FREE", "SHARED"]

SHARED = """\
title = "Drill with a middle cone"
units = "mm"

[motor]
speed = "1720 rpm"
power = "0.25 kW"

[[band]]
name = "all"
from = 500
to = 3000
want = 4

[[shaft]]
name = "motor"
mount = "slide"

[[shaft]]
name = "middle"
mount = "slide"

[[stage]]
from = "motor"
to = "middle"
positions = 4
centres = [180, 260]
travel = 60
belt = "Z"
driver = { free = [55, 150] }
driven = { free = [55, 150] }

[[stage]]
from = "middle"
to = "spindle"
centres = [180, 260]
travel = 60
belt = "Z"
driver = { shared = true }
driven = { free = [55, 150] }
"""
"""Three cones, the middle one with both belts on it."""

TWO_CONES = SHARED.replace("driver = { shared = true }", "driver = { free = [55, 150] }").replace(
    "[[band]]", "[series]\nfree = true\n\n[[band]]"
)
"""The same with a cone for either belt."""
DRIVER = "driver = { shared = true }"
SECOND = 'belt = "Z"\ndriver = { shared = true }'
OWN = "driver = { free = [55, 150] }"

FREE: tuple[Broken, ...] = (
    broken(
        "sizes beside a shared cone",
        SHARED,
        [
            (DRIVER, 'driver = { shared = true, free = [60, 90], groove = "v" }'),
        ],
        "stage[1].driver.free: a shared cone is told where it is driven, in the stage before; got [60, 90]; try: "
        "leave it out here",
        'stage[1].driver.groove: a shared cone is told where it is driven, in the stage before; got "v"; try: '
        "leave it out here",
    ),
    broken(
        "cone shared with the motor",
        SHARED,
        [
            ("driver = { free = [55, 150] }\ndriven", "driver = { shared = true }\ndriven"),
        ],
        "stage[0].driver.shared: no belt drives motor, so that there is no cone on it to share; got true; "
        "allowed: a stage that a belt stage leads to; try: state diameters in its place",
        "stage[1].driver.shared: the belt before runs on a shared cone too; one cone of a machine can be shared; "
        "got true; allowed: once; try: state diameters in its place",
    ),
    broken(
        "driven cone that is shared",
        SHARED,
        [
            ("driven = { free = [55, 150] }\n\n", "driven = { shared = true }\n\n"),
        ],
        "stage[0].driven.shared: only a driver is shared with the stage before; got true; try: state its "
        "diameters, and shared on the driver of the next stage",
    ),
    broken(
        "two belts of two sections on one cone",
        SHARED,
        [
            (SECOND, 'belt = "A"\ndriver = { shared = true }'),
        ],
        'stage[1].belt: both belts run in the same grooves, so that they have one section; got "A"; allowed: "Z"',
    ),
    broken(
        "other positions on a shared cone",
        SHARED,
        [
            (SECOND, 'positions = 3\nbelt = "Z"\ndriver = { shared = true }'),
        ],
        "stage[1].positions: a shared cone has as many steps for either belt; got 3; allowed: 4",
    ),
    broken(
        "both belts outward on a shared cone",
        SHARED,
        [
            (SECOND, 'onward = "outward"\nbelt = "Z"\ndriver = { shared = true }'),
        ],
        "stage[1].onward: the slowest position of this belt lies where the fastest of the belt before does; got "
        '"outward"; allowed: "inward"',
    ),
    broken(
        "one step for two belts",
        SHARED,
        [
            ("positions = 4", "positions = 1"),
        ],
        "stage[0].positions: a shared cone of one step lets no belt run beside the other; got 1; allowed: 2 "
        "positions or more",
    ),
    broken(
        "six steps for two belts",
        SHARED,
        [
            ("positions = 4", "positions = 6"),
        ],
        "stage[0].positions: the positions multiply to 30 speeds; got 6; allowed: at most 24 speeds, such as 4 x "
        "6; try: ask for fewer positions",
    ),
    broken(
        "facing cone too short",
        SHARED,
        [
            (
                "driver = { shared = true }\ndriven = { free = [55, 150] }",
                "driver = { shared = true }\ndriven = { kept = [60, 80, 100] }",
            ),
        ],
        "stage[1].driven.kept: the kept cone has fewer steps than the 4 positions; got [60, 80, 100]; allowed: 4 "
        "steps or more",
    ),
    broken(
        "pitches of three cones differ",
        SHARED,
        [
            ("driven = { free = [55, 150] }\n\n", "driven = { kept = [110, 95, 80, 65], pitch = 20 }\n\n"),
            (
                "driver = { shared = true }\ndriven = { free = [55, 150] }",
                "driver = { shared = true }\ndriven = { kept = [60, 80, 100, 110], pitch = 25 }",
            ),
        ],
        "stage[1].driven.pitch: all three cones must have one step pitch, or no belt runs in line; got 25; "
        "allowed: 20 mm",
    ),
    broken(
        "ranges where speeds are free",
        SHARED,
        [
            ("[[band]]", "[series]\nshared = 1\none_range = true\nleast_grip = 1\n\n[[band]]"),
        ],
        "series.shared: the speeds are free, so that there are no ranges; got 1; allowed: 0; try: leave it out; "
        "near-equal speeds count once anyway",
        "series.one_range: the speeds are free, so that there are no ranges; got true; allowed: false; try: "
        "leave it out",
        "series.least_grip: grip is not a limit yet where speeds are free; it is told for every speed; got 1; "
        "allowed: 0; try: leave it out, and look at the grips",
    ),
    broken(
        "band that carries where speeds are free",
        SHARED,
        [
            ("want = 4", 'want = 4\ncarry = "limit"'),
        ],
        'band[0].carry: grip is not a limit yet where speeds are free; it is told for every speed; got "limit"; '
        'allowed: "advice"; try: leave it out, and look at the grips',
    ),
    broken(
        "switch where speeds are free",
        SHARED,
        [
            ("power =", "slower = [850]\npower ="),
        ],
        "motor.slower: where speeds are free nothing else is switched; got [850]; allowed: one setting; try: "
        "leave it out, and design the machine once for each setting",
    ),
    broken(
        "drawer where speeds are free",
        SHARED,
        [
            ('[[shaft]]\nname = "motor"', '[[in_hand.belt]]\nsection = "Z"\nlength = 630\n\n[[shaft]]\nname = "motor"'),
        ],
        'in_hand.belt: what is in hand is not counted where speeds are free; got [{ section = "Z", length = 630 '
        "}]; allowed: none; try: state sizes as ready or blanks, belts as lengths, and see that there are enough",
    ),
    broken(
        "free speeds of one belt",
        ONE,
        [
            ("[[band]]", "[series]\nfree = true\n\n[[band]]"),
        ],
        "series.free: speeds are free where two belts make them; got true; allowed: two belt stages",
    ),
    broken(
        "other ratios where speeds are free",
        TWO_CONES,
        [
            ('to = "spindle"', 'to = "sleeve"'),
            (
                "[series]",
                '[[shaft]]\nname = "sleeve"\n\n[[stage]]\nfrom = "sleeve"\nto = "spindle"\nratio = '
                "0.5\nother_ratios = [0.25]\n\n[series]",
            ),
        ],
        "stage[0].other_ratios: other ratios are not searched where speeds are free; got [0.25]; allowed: none; "
        "try: leave it out, and design the machine once for each ratio",
    ),
    broken(
        "too many free speeds",
        TWO_CONES,
        [
            ('to = "spindle"\ncentres', 'to = "spindle"\npositions = 6\ncentres'),
        ],
        "stage[1].positions: there are 24 ways of making a speed, more than the 20 that are searched; got 6; "
        "allowed: such as 4 and 5 positions; try: ask for fewer positions",
    ),
    broken(
        "free speed that is alone",
        TWO_CONES,
        [
            ("positions = 4", "positions = 1"),
        ],
        "stage[1].positions: two belts of one position each make one speed; got 1; allowed: 2 positions or more",
    ),
)
