"""Belt stages with their belts, their sides."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, TWO, Broken, broken

__all__ = ["STAGES"]

STAGES: tuple[Broken, ...] = (
    broken(
        "centre distances reversed",
        ONE,
        [("[250, 350]", "[350, 250]")],
        "stage[0].centres[1]: the largest centre distance is below the smallest; got 250; allowed: 350 mm or "
        "more; try: write the smaller value first",
    ),
    broken(
        "three centre distances",
        ONE,
        [("[250, 350]", "[250, 300, 350]")],
        "stage[0].centres: this takes one value, or two: least, most; got [250, 300, 350]; allowed: [least, most]",
    ),
    broken(
        "seven positions",
        ONE,
        [("positions = 4", "positions = 7")],
        "stage[0].positions: this is too large; got 7; allowed: 1 to 6",
    ),
    broken(
        "positions as text",
        ONE,
        [("positions = 4", 'positions = "4"')],
        'stage[0].positions: this must be a whole number; got "4"; allowed: 1 to 6',
    ),
    broken(
        "number of positions repeated",
        TWO,
        [("positions = [3, 4]", "positions = [3, 4, 3]")],
        "stage[1].positions[2]: this number stands there already; got 3; allowed: every number once",
    ),
    broken(
        "too many speeds",
        TWO,
        [
            ("positions = 2", "positions = 5"),
            ("positions = [3, 4]", "positions = [3, 6]"),
            ("kept = [100, 125, 150, 180], reversible = true, pitch = 22", "free = [75, 220]"),
        ],
        "stage[1].positions: the positions multiply to 30 speeds; got [3, 6]; allowed: at most 24 speeds, such as 4 "
        "x 6; try: ask for fewer positions",
    ),
    broken(
        "no numbers of positions",
        TWO,
        [("positions = [3, 4]", "positions = []")],
        "stage[1].positions: the list is empty; got []; allowed: at least one value; try: leave it out",
    ),
    broken(
        "crossed V-belt",
        ONE,
        [("travel = 60", 'travel = 60\nrun = "crossed"')],
        'stage[0].run: a belt of section A cannot run crossed; got "crossed"; allowed: "open"; "crossed" for '
        "flat and round belts; try: take a round or flat belt, or leave it out",
    ),
    broken(
        "belt speed of nought",
        ONE,
        [("travel = 60", "travel = 60\nbelt_speed = 0")],
        "stage[0].belt_speed: this must be above 0; got 0; allowed: above 0 m/s up to 100 m/s",
    ),
    broken(
        "ratio beside a belt",
        ONE,
        [("positions = 4", "ratio = 0.5\npositions = 4")],
        "stage[0].ratio: there is no such key; got 0.5; allowed: belt, belt_speed, budget, centres, clearance, "
        "driven, driver, fit, from, onward, positions, run, slackened, slip, to, travel, wrap; try: it belongs to "
        "a [[stage]] with a fixed ratio",
    ),
    broken(
        "unknown section",
        ONE,
        [('belt = "A"', 'belt = "Q"')],
        'stage[0].belt: there is no such belt section; got "Q"; allowed: Z, A, B, AX, BX, SPZ, 3L, 4L, 5L, PJ '
        "4, round 8, flat 3x40; try: name the section printed on the belt",
    ),
    broken(
        "round belt without size",
        ONE,
        [('belt = "A"', 'belt = "round"')],
        'stage[0].belt: the size of the belt section cannot be read; got "round"; allowed: a diameter above 0; '
        'try: write "round 8"',
    ),
    broken(
        "link belt of a ribbed section",
        ONE,
        [('belt = "A"', 'belt = { section = "PJ 6", link = true }')],
        "stage[0].belt.link: section PJ 6 does not come as link belt; got true; allowed: 3L, 4L, 5L, A, B, Z; "
        "try: leave it out",
    ),
    broken(
        "stock lengths of link belt",
        ONE,
        [('belt = "A"', 'belt = { section = "A", lengths = "stock", link = true }')],
        'stage[0].belt.lengths: link belt has no stock lengths; got "stock"; allowed: "any" or a list',
    ),
    broken(
        "stock lengths of round belt",
        ONE,
        [('belt = "A"', 'belt = { section = "round 8", lengths = "stock" }')],
        'stage[0].belt.lengths: round belts have no stock lengths; got "stock"; allowed: "any" or a list of lengths',
    ),
    broken(
        "one length outside brackets",
        TWO,
        [("lengths = [1120, 1180]", "lengths = 1120")],
        "stage[1].belt.lengths: lengths are a word or a list; got 1120; allowed: a list in square brackets",
    ),
    broken(
        "strange word for lengths",
        TWO,
        [("lengths = [1120, 1180]", 'lengths = "metric"')],
        'stage[1].belt.lengths: this is none of the words allowed here; got "metric"; allowed: "stock", '
        '"metric stock", "inch stock", "any" or a list of lengths; try: did you mean "metric stock"?',
    ),
    broken(
        "measured stock belt",
        ONE,
        [('belt = "A"', 'belt = { section = "A", measured = "inside" }')],
        'stage[0].belt.measured: only the lengths of a list are measured; got "inside"; try: leave it out',
    ),
    broken(
        "shortest belt above longest",
        ONE,
        [('belt = "A"', 'belt = { section = "A", shortest = 1200, longest = 900 }')],
        "stage[0].belt.longest: the longest belt is shorter than the shortest; got 900; allowed: 1200 mm or more",
    ),
    broken(
        "step for a stock belt",
        ONE,
        [('belt = "A"', 'belt = { section = "A", every = 5 }')],
        'stage[0].belt.every: only any length has a step; got 5; try: leave it out, or lengths = "any"',
    ),
    broken(
        "same length twice",
        TWO,
        [("lengths = [1120, 1180]", 'lengths = [1120, 1180, "112 cm"]')],
        'stage[1].belt.lengths[2]: this size stands at lengths[0] already; got "112 cm"; allowed: every size '
        "once; try: leave it out",
    ),
    broken(
        "side without diameters",
        ONE,
        [("driver = { free = [75, 200] }", "driver = { grid = 5 }")],
        "stage[0].driver: no diameters are stated; allowed: ready, blanks, free, sheaves_in_hand, discs_in_hand, kept; "
        "try: add free = [least, most]",
    ),
    broken(
        "kept beside blanks",
        TWO,
        [("driven = { kept", "driven = { blanks = [200], kept")],
        "stage[1].driven.kept: a whole kept cone stands alone, but blanks is stated beside it; got [100, 125, 150, "
        '180]; allowed: kept alone, kept with "open" steps, or any of ready, blanks, free, sheaves_in_hand, '
        "discs_in_hand; try: leave one of them out",
    ),
    broken(
        "kept cone that turns back",
        TWO,
        [("[100, 125, 150, 180]", "[100, 125, 110, 180]")],
        "stage[1].driven.kept[2]: the kept cone grows, then shrinks again; got 110; allowed: steps in their "
        "order along the shaft, all one way",
    ),
    broken(
        "kept cone too short",
        TWO,
        [("[100, 125, 150, 180]", "[100, 125, 150]")],
        "stage[1].driven.kept: the kept cone has fewer steps than the 4 positions; got [100, 125, 150]; "
        "allowed: 4 steps or more; try: ask for at most 3 positions",
    ),
    broken(
        "free range reversed",
        ONE,
        [("driver = { free = [75, 200] }", "driver = { free = [200, 75] }")],
        "stage[0].driver.free[1]: the largest diameter is not above the smallest; got 75; allowed: above 200 "
        "mm; try: write the smaller one first",
    ),
    broken(
        "free range of one",
        ONE,
        [("driver = { free = [75, 200] }", "driver = { free = 75 }")],
        "stage[0].driver.free: this takes two values: least, most; got 75; allowed: [least, most]",
    ),
    broken(
        "bad blank among good ones",
        TWO,
        [("blanks = [150, 200, 240]", 'blanks = [150, "2o0", true, -240]')],
        'stage[0].driven.blanks[1]: "o0" is not read as a unit of length; got "2o0"; allowed: mm, cm, m, in, ft, thou',
        'stage[0].driven.blanks[2]: a length is a number; got true; allowed: 114.5, "114.5 mm" or "4 1/2 in"',
        "stage[0].driven.blanks[3]: a length cannot be negative; got -240; allowed: 0 or more",
    ),
    broken(
        "same blank twice",
        TWO,
        [("blanks = [150, 200, 240]", 'blanks = [150, 200, "20 cm"]')],
        'stage[0].driven.blanks[2]: this size stands at blanks[1] already; got "20 cm"; allowed: every size '
        "once; try: leave it out",
    ),
    broken(
        "empty list",
        TWO,
        [("ready = [75, 90, 112, 140]", "ready = []")],
        "stage[0].driver.ready: the list is empty; got []; allowed: at least one value; try: leave it out",
    ),
    broken(
        "one ready pulley outside brackets",
        TWO,
        [("ready = [75, 90, 112, 140]", "ready = 75")],
        "stage[0].driver.ready: this must be a list; got 75; allowed: a list in square brackets; try: write [75]",
    ),
    broken(
        "lists in a list",
        TWO,
        [("ready = [75, 90, 112, 140]", "ready = [75, [90, 112]]")],
        'stage[0].driver.ready[1]: a length is a number; got [90, 112]; allowed: 114.5, "114.5 mm" or "4 1/2 in"',
    ),
    broken(
        "discs all too large to swing",
        TWO,
        [("largest_blank = 240", "largest_blank = 140")],
        "stage[0].driven.blanks: every disc is larger than can be swung; got [150, 200, 240]; allowed: at most "
        "140 mm, the largest blank",
    ),
    broken(
        "metric stock of belts that come in inches",
        ONE,
        [('belt = "A"', 'belt = { section = "4L", lengths = "metric stock" }')],
        'stage[0].belt.lengths: belts of section 4L are not kept in these stock lengths; got "metric stock"; '
        'allowed: "stock", "inch stock", "any" or a list of lengths',
    ),
    broken(
        "step of a kept cone that the groove cuts through",
        TWO,
        [("kept = [100, 125, 150, 180]", "kept = [14, 125, 150, 180]")],
        "stage[1].driven.kept[0]: nothing is left under the groove of section A; got 14; allowed: above 17.4 mm datum",
    ),
    broken(
        "free range above the largest blank",
        TWO,
        [
            ("largest_blank = 240", "largest_blank = 240"),
            ("driver = { free = [75, 220] }", "driver = { free = [250, 300] }"),
        ],
        "stage[1].driver.free[0]: no disc as large as this can be swung; got 250; allowed: at most 229.4 "
        "mm datum, the largest blank less truing",
    ),
    broken(
        "disc that truing takes whole",
        TWO,
        [
            ("largest_blank = 240", "largest_blank = 240\ntruing = 60"),
            ("blanks = [150, 200, 240]", "blanks = [50, 200]"),
        ],
        "stage[0].driven.blanks[0]: truing takes all of this disc; got 50; allowed: above 60 mm",
    ),
    broken(
        "reversible without a kept cone",
        ONE,
        [("driver = { free = [75, 200] }", "driver = { free = [75, 200], reversible = true }")],
        "stage[0].driver.reversible: only a kept cone has this; got true; try: leave it out, or add kept",
    ),
    broken(
        "control character in the reason of a limit",
        ONE,
        [("travel = 60", 'travel = 60\nwrap = { value = 80, reason = "seen \\u001b[31mred" }')],
        'stage[0].wrap: control characters cannot be shown; got "seen \\u001B[31mred"; allowed: letters, digits, '
        "signs; try: leave them out",
    ),
    broken(
        "grid on a side with nothing turned",
        TWO,
        [("driver = { ready", "driver = { grid = 5, ready")],
        "stage[0].driver.grid: nothing is turned on this side; got 5; try: leave it out, or add blanks, free or "
        "discs_in_hand",
    ),
    broken(
        "over pins on a flat rim",
        ONE,
        [
            (
                "driver = { free = [75, 200] }",
                'driver = { free = [75, 200], groove = "flat", measured = "over pins" }',
            ),
        ],
        'stage[0].driver.measured: no gauge pins are known for a flat rim; got "over pins"; allowed: '
        '"outside", "datum"; try: measure over the rim',
    ),
    broken(
        "over pins where no pins are known",
        ONE,
        [
            ('belt = "A"', 'belt = "4L"'),
            ("driver = { free = [75, 200] }", 'driver = { free = [75, 200], measured = "over pins" }'),
        ],
        'stage[0].driver.measured: no gauge pins are known for a groove of section 4L; got "over pins"; '
        'allowed: "outside", "datum"; try: measure over the rim',
    ),
    broken(
        "flat belt in a groove",
        ONE,
        [
            ('belt = "A"', 'belt = "flat 3x40"'),
            ("driver = { free = [75, 200] }", 'driver = { free = [75, 200], groove = "v" }'),
        ],
        'stage[0].driver.groove: a flat belt does not run in a groove; got "v"; allowed: "flat", "crowned"',
    ),
    broken(
        "facing cones of unlike pitch",
        TWO,
        [("driver = { free = [75, 220] }", "driver = { kept = [180, 150, 125, 100], pitch = 25 }")],
        "stage[1].driven.pitch: facing cones must have one step pitch, or no belt runs in line; got 22; allowed: 25 mm",
    ),
    broken(
        "side as a list",
        ONE,
        [("driver = { free = [75, 200] }", "driver = [75, 200]")],
        "stage[0].driver: this must be a table; got [75, 200]; allowed: a table of keys",
    ),
    broken(
        "words that are not allowed",
        TWO,
        [('measured = "outside"', 'measured = "rim", groove = "vee"')],
        'stage[0].driven.measured: this is none of the words allowed here; got "rim"; allowed: "outside", '
        '"datum" or "over pins"',
        'stage[0].driven.groove: this is none of the words allowed here; got "vee"; allowed: "v", "flat" or "crowned"',
    ),
    broken(
        "everything at once",
        TWO,
        [
            ('title = "Engraving mill"\n', ""),
            ('"1420 rpm"', '"1420 rmp"'),
            ("from = 200\nto = 600", "from = 600\nto = 200"),
            ('mount = "hinge"', 'mount = "hing"'),
            ("centres = [220, 340]", "centres = [340, 220]"),
            ("blanks = [150, 200, 240]", 'blanks = [150, 200, "24o"]'),
            ('section = "A", lengths', 'section = "A", length'),
            ('from = "countershaft"', 'from = "counter shaft"'),
        ],
        'title: this is missing; try: add title = "…"',
        'motor.speed: "rmp" is not known as a unit of shaft speed; got "1420 rmp"; allowed: rpm, rev/s; try: '
        "did you mean rpm?",
        "band[0].to: the band ends at or below its start; got 200; allowed: above 600 rpm; try: write the "
        "slower speed as from",
        'shaft[1].mount: this is none of the words allowed here; got "hing"; allowed: "fixed", "slide" or '
        '"hinge"; try: did you mean "hinge"?',
        "stage[0].centres[1]: the largest centre distance is below the smallest; got 220; allowed: 340 mm or "
        "more; try: write the smaller value first",
        'stage[0].driven.blanks[2]: "o" is not known as a unit of length; got "24o"; allowed: mm, cm, m, in, ft, thou',
        'stage[1].from: there is no such shaft; got "counter shaft"; allowed: "motor", "countershaft", '
        '"spindle"; try: did you mean "countershaft"?',
        "stage[1].belt.length: there is no such key; got [1120, 1180]; allowed: every, grade, lengths, link, longest, "
        "measured, section, shortest; try: did you mean lengths?",
    ),
)
