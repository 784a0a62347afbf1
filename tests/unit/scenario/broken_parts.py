"""Bands, making, shafts, chains, mounts that do not hold together."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, TWO, Broken, broken

__all__ = ["PARTS"]

PARTS: tuple[Broken, ...] = (
    broken(
        "band upside down",
        ONE,
        [("from = 700", "from = 2900")],
        "band[0].to: the band ends at or below its start; got 2800; allowed: above 2900 rpm; try: write the "
        "slower speed as from",
    ),
    broken(
        "band of no width",
        ONE,
        [("from = 700", "from = 2800")],
        "band[0].to: the band ends at or below its start; got 2800; allowed: above 2800 rpm; try: write the "
        "slower speed as from",
    ),
    broken(
        "two bands of one name",
        TWO,
        [('name = "high"', 'name = "low"')],
        'band[1].name: band[0] has this name already; got "low"; allowed: a name of its own',
    ),
    broken(
        "band above the highest speed allowed",
        TWO,
        [("[making]", "[series]\nnever_above = 500\n\n[making]")],
        'series.never_above: no speed may be as high as band "high", which wants 1; got 500; allowed: bands '
        "that begin at 463.9 rpm or below, as the spindle then idles at 500; try: leave the band out; raise the limit "
        "only where all that turns is marked for more",
    ),
    broken(
        "both weights nought",
        ONE,
        [("[[band]]", "[series]\nend_weight = 0\nunevenness_weight = 0\n\n[[band]]")],
        "series.end_weight: both weights are 0, so no design is better than another; got 0; allowed: one above 0",
    ),
    broken(
        "grip limited with no power stated",
        ONE,
        [("[[band]]", "[series]\nleast_grip = 0.5\n\n[[band]]"), ("want = 3", 'want = 3\ncarry = "limit"')],
        "series.least_grip: without the motor's power it is not known what the belts must carry; got 0.5; allowed: 0, "
        "or power under [motor]; try: write the rated power of the nameplate",
        'band[0].carry: it is not known what the belts must carry; got "limit"; allowed: work_power beside it, or '
        "power under [motor]",
    ),
    broken(
        "work that takes nothing, at a duty nobody has",
        ONE,
        [("want = 3", "want = 3\nwork_power = 0"), ("[[shaft]]", "[work]\nduty = 4\n\n[[shaft]]")],
        "band[0].work_power: this must be above 0; got 0; allowed: above 0 kW up to 1000 kW",
        "work.duty: this is too large; got 4; allowed: 0.5 to 3",
    ),
    broken(
        "layers of no thickness",
        TWO,
        [("largest_blank = 240", 'largest_blank = 240\nstep_pitch = "layers"')],
        'making.step_pitch: whole layers need the thickness of a layer; got "layers"; allowed: "faced" or a '
        "width; try: add layer",
    ),
    broken(
        "truing eats the blank",
        TWO,
        [("largest_blank = 240", "largest_blank = 50\ntruing = 60")],
        "making.truing: truing takes all of the largest blank; got 60; allowed: below 50 mm",
    ),
    broken(
        "strange step pitch",
        TWO,
        [("largest_blank = 240", 'largest_blank = 240\nstep_pitch = "layer"')],
        'making.step_pitch: this is none of the words allowed here; got "layer"; allowed: "layers", "faced" or a width',
    ),
    broken(
        "hub below shaft",
        TWO,
        [("diameter = 20", "diameter = 20\nhub = 18")],
        "shaft[1].hub: the hub is smaller than the shaft it sits on; got 18; allowed: 20 mm or more; try: hub "
        "is the outside diameter of what carries the cone",
    ),
    broken(
        "no room left",
        TWO,
        [("diameter = 20", "diameter = 20\nroom = 120\nbeside = 120")],
        "shaft[1].beside: other things take all of the room; got 120; allowed: below 120 mm",
    ),
    broken(
        "unknown mount",
        TWO,
        [('mount = "hinge"', 'mount = "hinged"')],
        'shaft[1].mount: this is none of the words allowed here; got "hinged"; allowed: "fixed", "slide" or '
        '"hinge"; try: did you mean "hinge"?',
    ),
    broken(
        "two shafts of one name",
        TWO,
        [('name = "motor"', 'name = "countershaft"')],
        'shaft[1].name: shaft[0] has this name already; got "countershaft"; allowed: a name of its own',
    ),
    broken(
        "shaft on itself",
        TWO,
        [('mount = "hinge"', 'mount = "hinge"\non = "countershaft"')],
        'shaft[1].on: a shaft cannot ride on itself; got "countershaft"; allowed: another shaft, or "frame"',
    ),
    broken(
        "shafts on each other",
        TWO,
        [
            ('mount = "slide"', 'mount = "slide"\non = "countershaft"'),
            ('mount = "hinge"', 'mount = "hinge"\non = "motor"'),
        ],
        'shaft[0].on: the mounts ride on each other in a circle; got "countershaft"; allowed: a shaft that '
        'does not ride on this one; try: let one of them stand on the "frame"',
        'shaft[1].on: the mounts ride on each other in a circle; got "motor"; allowed: a shaft that does not '
        'ride on this one; try: let one of them stand on the "frame"',
    ),
    broken(
        "mount on an unknown shaft",
        TWO,
        [('mount = "hinge"', 'mount = "hinge"\non = "table"')],
        'shaft[1].on: there is no such shaft; got "table"; allowed: "motor", "spindle", "frame"',
    ),
    broken(
        "shaft called frame",
        TWO,
        [('mount = "slide"\n', 'mount = "slide"\n\n[[shaft]]\nname = "frame"\n')],
        'shaft[1].name: the frame is no shaft; got "frame"; allowed: another name',
    ),
    broken(
        "motor faster than its shaft may run",
        TWO,
        [('mount = "slide"', 'mount = "slide"\nnever_above = 1000')],
        "shaft[0].never_above: without load the motor runs faster than its shaft may; got 1000; allowed: a motor that "
        "idles at 1000 rpm or less; try: take a slower motor; raise the limit only where all that turns is marked for "
        "more",
    ),
    broken(
        "unknown shaft",
        TWO,
        [('to = "countershaft"', 'to = "contershaft"')],
        'stage[0].to: there is no such shaft; got "contershaft"; allowed: "motor", "countershaft", "spindle"; '
        'try: did you mean "countershaft"?',
    ),
    broken(
        "stage to itself",
        ONE,
        [('to = "spindle"', 'to = "motor"')],
        'stage[0].to: the stage joins a shaft to itself; got "motor"; allowed: another shaft',
    ),
    broken(
        "forked chain",
        TWO,
        [('from = "countershaft"', 'from = "motor"')],
        'stage[1].from: the chain forks: stage[0] starts from this shaft too; got "motor"; allowed: a shaft '
        "that drives nothing yet",
    ),
    broken(
        "two ways to the spindle",
        TWO,
        [('to = "countershaft"', 'to = "spindle"')],
        'stage[1].to: two stages drive one shaft: stage[0] ends at it too; got "spindle"; allowed: a shaft '
        "that nothing drives yet",
    ),
    broken(
        "chain that stops short",
        TWO,
        [('to = "spindle"\npositions', 'to = "motor"\npositions')],
        'stage[1].to: nothing drives the motor; got "motor"; allowed: a shaft after the motor',
    ),
    broken(
        "chain with a gap",
        TWO,
        [
            ('mount = "hinge"', 'mount = "hinge"\n\n[[shaft]]\nname = "back gear"'),
            ('from = "countershaft"', 'from = "back gear"'),
        ],
        'stage[0].to: the chain breaks off before the spindle; got "countershaft"; allowed: a way on to the '
        'spindle; try: add a stage from "countershaft", or end this one at the spindle',
        'stage[1].from: the way from the motor does not reach this stage; got "back gear"; allowed: a shaft on '
        "the way from motor to spindle",
        "stage[1].travel: no mount changes this centre distance; got 50; allowed: 0 where no mount moves; try: "
        'give back gear or spindle mount = "slide" or "hinge" under [[shaft]]',
    ),
    broken(
        "chain that does not start at the motor",
        ONE,
        [
            ('name = "motor"', 'name = "lineshaft"'),
            ('from = "motor"', 'from = "lineshaft"'),
        ],
        'stage[0].from: the chain does not start at the motor; got "lineshaft"; allowed: "motor"',
    ),
    broken(
        "spindle that drives",
        TWO,
        [('from = "countershaft"\nto = "spindle"', 'from = "spindle"\nto = "countershaft"')],
        'stage[1].from: the spindle drives nothing; got "spindle"; allowed: a shaft before the spindle',
        'stage[1].to: two stages drive one shaft: stage[0] ends at it too; got "countershaft"; allowed: a '
        "shaft that nothing drives yet",
    ),
    broken(
        "no belt at all",
        ONE,
        [
            (
                'positions = 4\ncentres = [250, 350]\ntravel = 60\nbelt = "A"\ndriver = { free = [75, 200] '
                "}\ndriven = { free = [75, 200] }",
                "ratio = 0.5",
            ),
        ],
        'shaft[0].mount: moving motor pulls the fixed ratio of stage[0] apart; got "slide"; allowed: a mount '
        "that moves both shafts of a fixed ratio, or neither; try: let one of them ride on the other with `on`",
        "stage: no stage has a belt; allowed: at least one belt stage; try: add [[stage]] with a belt",
    ),
    broken(
        "travel without a mount",
        ONE,
        [('mount = "slide"', 'mount = "fixed"')],
        "stage[0].travel: no mount changes this centre distance; got 60; allowed: 0 where no mount moves; try: "
        'give motor or spindle mount = "slide" or "hinge" under [[shaft]]',
    ),
    broken(
        "one mount for two belts",
        TWO,
        [('mount = "slide"', 'mount = "fixed"')],
        "shaft[1].mount: moving countershaft changes the belts of stage[0] and stage[1] at once, and the places that "
        'tell which settings fit all of them are not stated; got "hinge"; allowed: at of countershaft, at of motor, '
        "at of spindle, hinge of countershaft beside it; try: state them, or let another shaft of these belts slide, "
        "or let one ride on the other with `on`",
    ),
    broken(
        "both ends ride together",
        TWO,
        [('mount = "slide"', 'mount = "fixed"\non = "countershaft"')],
        "stage[0].travel: no mount changes this centre distance; got 60; allowed: 0 where no mount moves; try: "
        'give motor or countershaft mount = "slide" or "hinge" under [[shaft]]',
    ),
    broken(
        "fixed ratio pulled apart",
        TWO,
        [
            (
                'positions = [3, 4]\ncentres = [240, 320]\ntravel = 50\nbelt = { section = "A", lengths = '
                "[1120, 1180] }\ndriver = { free = [75, 220] }\ndriven = { kept = [100, 125, 150, 180], "
                "reversible = true, pitch = 22 }",
                "ratio = 0.5",
            ),
        ],
        'shaft[1].mount: moving countershaft pulls the fixed ratio of stage[1] apart; got "hinge"; allowed: a '
        "mount that moves both shafts of a fixed ratio, or neither; try: let one of them ride on the other "
        "with `on`",
    ),
    broken(
        "locked pair with an endless belt",
        ONE,
        [
            ("travel = 60\n", ""),
            ('mount = "slide"', 'mount = "fixed"'),
        ],
        "stage[0].travel: a locked pair cannot take a belt of a set length; got 0; allowed: above 0, or belt "
        'lengths = "any"; try: or say under slackened how this belt is slackened',
    ),
)
