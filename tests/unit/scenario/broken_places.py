"""Places, obstacles, sizes of work that do not hold together."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, TWO, Broken, broken

__all__ = ["PLACES"]

SLIDE = 'mount = "slide"'
SPINDLE = '\n\n[[shaft]]\nname = "spindle"\nat = [0, 500]'

PLACES: tuple[Broken, ...] = (
    broken(
        "places that are none",
        ONE,
        [(SLIDE, SLIDE + "\nat = [40]\ndirection = 400")],
        "shaft[0].at: this takes two values: x, y; got [40]; allowed: [x, y]",
        "shaft[0].direction: this is too large; got 400; allowed: 0 degrees to 360 degrees",
    ),
    broken(
        "a place that is far out",
        ONE,
        [(SLIDE, SLIDE + "\nat = [-40, -9000]"), ("free = [75, 200]", 'free = [75, 200], along = "x"')],
        "shaft[0].at[1]: this is too small; got -9000; allowed: -5000 mm to 5000 mm; try: check the unit: a bare "
        "number is in mm here",
        'stage[0].driver.along: a coordinate starts with a number; got "x"; allowed: -40, "114.5 mm" or "-4 1/2 in"',
    ),
    broken(
        "a hinge that is to slide",
        TWO,
        [('mount = "hinge"', 'mount = "hinge"\ndirection = 90')],
        'shaft[1].direction: only a slide moves along a line; got 90; allowed: mount = "slide" beside it; try: leave '
        "it out",
    ),
    broken(
        "shafts that stand too far apart",
        ONE,
        [(SLIDE, SLIDE + "\nat = [0, 0]" + SPINDLE)],
        "shaft[1].at: it stands 500 mm from motor, which the centres and the travel of stage[0] rule out; got [0, "
        "500]; allowed: 190 mm to 410 mm apart; try: correct it, the place of motor, or centres",
    ),
    broken(
        "obstacles of no outline, or of two, or of no extent",
        ONE,
        [
            (
                "[[stage]]",
                '[[obstacle]]\nname = "bed"\n\n[[obstacle]]\nname = "bed"\nround = { at = [0, 0] }\n'
                'box = { from = [4, 0], to = [4, 0] }\nalong = [3, 2]\non = "lever"\n\n[[stage]]',
            )
        ],
        "obstacle[0]: no outline is stated; allowed: round or box; try: add box = { from = [x, y], to = [x, y] }",
        'obstacle[1].name: obstacle[0] has this name already; got "bed"; allowed: a name of its own',
        "obstacle[1].round.diameter: this is missing; try: add diameter = 120",
        "obstacle[1].box.to: both corners are one point; got [4, 0]; allowed: the corner across from the other",
        "obstacle[1].along[1]: it ends at or below its start; got 2; allowed: above 3 mm; try: write it first",
        'obstacle[1].on: there is no such shaft; got "lever"; allowed: "motor", "spindle", "frame"',
    ),
    broken(
        "an obstacle with two outlines on a shaft that is not there",
        ONE,
        [
            (
                "[[stage]]",
                '[[obstacle]]\nname = "bed"\nround = { at = [0, 0], diameter = 90 }\nalong = 3\n'
                'box = { from = [0, 0], to = [4, 9] }\n\n[[obstacle]]\nname = "rail"\non = "lever"\n'
                "box = { from = [0, 0], to = [4, 9] }\n\n[[stage]]",
            )
        ],
        "obstacle[0]: an obstacle has one outline; allowed: round or box; try: leave one of them out",
        "obstacle[0].along: this takes two values: from, to; got 3; allowed: [from, to]",
        'obstacle[1].on: there is no such shaft; got "lever"; allowed: "motor", "spindle", "frame"',
    ),
    broken(
        "sizes of work upside down",
        ONE,
        [("want = 3", 'want = 3\nwork = [30, 20]\nsurface_speed = ["9 m/s", "8 m/s"]')],
        "band[0].work[1]: the second value is below the first; got 20; allowed: 30 mm or more; try: write it first",
        'band[0].surface_speed[1]: the second value is below the first; got "8 m/s"; allowed: 9 m/s or more; try: '
        "write it first",
    ),
    broken(
        "a wheel of no diameter",
        ONE,
        [("want = 3", 'want = 3\nsurface_limit = "30 m/s"')],
        'band[0].surface_limit: a surface speed needs a diameter; got "30 m/s"; allowed: work beside it; try: add '
        "work, the diameter of the wheel or tool",
    ),
    broken(
        "two rules for the size of work",
        ONE,
        [("[[shaft]]", '[work]\nwood_turning = true\nsurface_speed = "600 ft/min"\n\n[[shaft]]')],
        'work.surface_speed: wood turning has its own rule for the diameters of work; got "600 ft/min"; allowed: one '
        "of the two; try: state it in the bands that it is meant for, or leave wood_turning out",
    ),
    broken(
        "sheets that are none",
        ONE,
        [("[[stage]]", "[[sheet]]\ncount = 0\n\n[[sheet]]\nsize = [600]\n\n[[sheet]]\nsize = [5, 600]\n\n[[stage]]")],
        "sheet[0].size: this is missing; try: add size = [1525, 1525]",
        "sheet[0].count: this is too small; got 0; allowed: 1 to 1000",
        "sheet[1].size: this takes two values: width, length; got [600]; allowed: [width, length]",
        "sheet[2].size[0]: this is too small; got 5; allowed: 10 mm to 5000 mm; try: check the unit: a bare number "
        "is in mm here",
    ),
)
