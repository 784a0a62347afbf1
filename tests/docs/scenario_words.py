"""What the scenario reference says in sentences, between the tables that are made."""

from __future__ import annotations

__all__ = ["BUDGET", "CLASSES", "DIAMETERS", "IN_HAND", "KEYS", "LINES", "OPENING", "PLACES", "UNITS"]

OPENING = """Made from the models that read the file, by `python -m tests.fresh_docs --write`. One TOML file states one
machine; `conewright check FILE` tells everything that is wrong with it at once, and `conewright schema` prints the same
keys as a JSON schema. A key that is not listed here is refused. Words are explained in [the glossary](glossary.md).

The stages make one chain from the shaft `motor` to the shaft `spindle`, in any order in the file. Both shafts exist
without being stated. A belt whose `travel` is above 0 needs a shaft that moves (`mount`), and every such belt needs one
of its own: where one move changes two belts at once, let the other shaft ride on it (`on`)."""

UNITS = """Bare lengths are in the file's `units`: `"mm"`, `"cm"` or `"in"`. Text may carry a unit of its own, and shop
fractions are read: `"4 1/2 in"`, `"4-1/2"`, `"3/8"`. A decimal comma is refused. Tables and papers show lengths in the
file's units, `design.json` in millimetres. Other units than these are read too, if they measure the same kind of thing.
In the tables below every length is shown in mm."""

KEYS = """A key that has no default sets nothing, or limits nothing, where it is left out. *Limit* is explained
[below](#three-classes-of-rule)."""

PLACES = """Optional: what cannot be looked at for lack of them is listed as not checked. Across the shafts (`at`,
`hinge`, `round`, `box`) every place is `[x, y]` seen from the motor's pulley end, x to the right, y up, from an
origin of the maker's choice, the same for all. The mount of a shaft that moves may stand anywhere in its travel when
it is measured; all that rides on it is measured with the mount at the same place. Along the shafts (`along`) places
are counted from any plane across them, the same for all, and grow away from the motor's body. A cone is placed by the
middle of its slowest position's step; the others follow at the step pitch, away from the motor's body, or toward it
with `onward = "inward"`. One of two facing cones is enough. An obstacle without `along` reaches past everything.

What pulls a mount is measured with a scale: weigh the motor (`motor.mass`), weigh plate or frame (`hinge.mass`) and
find the place where it balances over an edge (`hinge.centre`). A frame too heavy to take off is lifted, belt off, with
a spring balance hooked level with the hinge: then `mass` is what it reads, `centre` where it is hooked. The `pull` of
a slide is what the balance reads along it, belt off, just before the slide moves; a spring gives less as the shafts
come farther apart, so measure it at both ends of travel. A mount that is screwed fast once the belt is taut is
`locked`."""

IN_HAND = """`in_hand` states what exists, once for the whole machine, each kind with its `count`. A side uses sheaves
or discs from it where it says so (`sheaves_in_hand`, `discs_in_hand`), a stage any belt of its section. Nothing is used
more often than it is there, by all stages together. What stands under `ready`, `blanks` or `lengths` can be had in any
number; a size that stands in both places runs out of nothing. A sheave with several `steps` is one piece: they sit next
to each other on one cone, in this order or the other way round; a groove may stand idle beyond the cone's end.

A cone that is there in part is `kept` with `"open"` for every step still to be made, and what those may be made of
beside it: `kept = ["open", 112, "open", 80], free = [75, 180]`. A whole kept cone stands alone.

Belts in hand are preferred to bought ones, on as many stages as may be, where J rises by no more than
`series.hand_slack`; `design` tells what they cost, used or not. Two old belts of one length are not one: measure both.

State only what is sound. Measure every sheave over pins and every belt along its length before it is stated, as the
facing steps are made to suit; leave out sheaves that are cracked, bent or worn hollow in their flanks, belts that are
cracked, glazed or frayed, and discs with splits or open glue lines."""

CLASSES = """*Impossible* is what geometry forbids: nothing overrides it. A *limit* is hard too, but the maker may
change it where the tables above say so; write the reason with it, `wall = { value = 6, reason = "softwood" }`, and
every paper repeats both. A design that breaks either is not shown: another is looked for, and where none is left the
command says what fails, by how much, and ends with code 4. *Advice* warns and fails nothing. These are the checks of
the machine in `scenarios/pattern-mill.toml`:"""

DIAMETERS = """Four lines can be meant by the diameter of a pulley, so every side says on which its figures are given
(`measured`), and every result repeats it:

- *outside*: over the rim, as calipers find it. The cut table and the screen give this one.
- *datum*: where the belt's datum line runs; sheaves are sold by it, or by the outside.
- *pitch*: what sets the speed; results give it, files never state it.
- *over pins*: the size over two gauge pins laid in the groove, the surest way on a worn groove.

The column `measured` names the line that is meant where nothing is stated; on a rim without a groove it is outside. The
lines lie a constant distance apart. To a datum diameter is added, in mm:"""

LINES = """On a rim without a groove (`groove = "flat"` or `"crowned"`, measured at its highest) a V-belt lies *outside*
the rim, so the same outside diameter gives another speed than in a groove. *Smallest* is the limit for the datum
diameter, *usual smallest* is advice; the catalogue's data files name the source of both. The size of a belt stands in
its name: `PJ 6` has six ribs, `round 8` is 8 mm thick, `flat 3x40` is 3 mm thick and 40 mm wide."""

BUDGET = """`travel` is a budget. What is spent from it: the spread of the positions' own centre distances, less what
the belt forgives (`fit`, at most a thousandth of the belt's length), and the three lines below. `budget` sets a line
otherwise. Belt on: the shortest own centre distance, less the third line and half the first. Worn out: the longest,
plus the second line and half the first. A locked pair has travel 0 and no lines: it takes a belt joined to any length,
or says how it is slackened (`slackened`). Where one movement changes several belts it follows one of them: the others
are joined to any length, say under `slackened` what takes them up, or have a `tolerance` and a `stretch` that `fit`
covers (method.md, section 24)."""
