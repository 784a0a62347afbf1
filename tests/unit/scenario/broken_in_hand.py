"""Sheaves, discs and belts that are there already; cones of which only some steps are."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, Broken, broken

__all__ = ["IN_HAND"]

FREE = "driver = { free = [75, 200] }"
DRAWER = "driver = { sheaves_in_hand = true }"
SHELF = "driver = { discs_in_hand = true }"
DRIVEN = "driven = { free = [75, 200] }"
LAST = f"{DRIVEN}\n"
WAYS = "ready, blanks, free, sheaves_in_hand, discs_in_hand"


def sheave(name: str, table: str, *faults: str, driver: str = DRAWER) -> Broken:
    """Return a machine with a drawer of one kind of sheave."""
    return broken(name, ONE, [(FREE, driver), (LAST, f"{LAST}\n[[in_hand.sheave]]\n{table}\n")], *faults)


def disc(name: str, tables: str, *faults: str) -> Broken:
    """Return a machine with discs on its shelf."""
    return broken(name, ONE, [(FREE, SHELF), (LAST, f"{LAST}\n{tables}\n")], *faults)


def belt(name: str, *tables: str, fault: str) -> Broken:
    """Return a machine with belts on the nail."""
    text = "".join(f"\n[[in_hand.belt]]\n{table}\n" for table in tables)
    return broken(name, ONE, [(LAST, f"{LAST}{text}")], fault)


def kept(name: str, steps: str, *faults: str, beside: str = ", free = [75, 200]") -> Broken:
    """Return a machine with a cone of which some steps stand."""
    return broken(name, ONE, [(DRIVEN, f"driven = {{ kept = {steps}{beside} }}")], *faults)


_SHEAVES = (
    sheave(
        "sheave of an unknown section",
        'section = "Q"\nsteps = [80]',
        'in_hand.sheave[0].section: there is no such belt section; got "Q"; allowed: Z, A, B, AX, BX, SPZ, 3L, 4L, '
        "5L, PJ 4, round 8, flat 3x40; try: name the section printed on the belt",
    ),
    sheave(
        "sheave without grooves",
        'section = "A"\nsteps = []',
        "in_hand.sheave[0].steps: no groove is stated; got []; allowed: 1 to 6 diameters; try: write steps = [90]",
    ),
    sheave(
        "sheave without diameters",
        'section = "A"',
        "in_hand.sheave[0].steps: this is missing; try: add steps",
    ),
    sheave(
        "sheave with seven grooves",
        'section = "A"\nsteps = [80, 81, 82, 83, 84, 85, 86]',
        "in_hand.sheave[0].steps: no piece has so many grooves; got [80, 81, 82, 83, 84, 85, 86]; allowed: at most 6; "
        "try: a table a piece",
    ),
    sheave(
        "pitch of a single groove",
        'section = "A"\nsteps = 80\npitch = 15',
        "in_hand.sheave[0].pitch: one groove has no distance to another; got 15; try: leave it out",
    ),
    sheave(
        "none of a sheave",
        'section = "A"\nsteps = [80]\ncount = 0',
        "in_hand.sheave[0].count: this is too small; got 0; allowed: 1 to 100",
    ),
    sheave(
        "one and a half sheaves",
        'section = "A"\nsteps = [80]\ncount = 1.5',
        "in_hand.sheave[0].count: this must be a whole number; got 1.5; allowed: 1 to 100",
    ),
    sheave(
        "sheave measured over pins that are not known",
        'section = "flat 3x40"\nsteps = [80]\nmeasured = "over pins"',
        "in_hand.sheave[0].measured: no gauge pins are known for a groove of section flat 3x40; "
        'got "over pins"; allowed: "outside", "datum"; try: measure over the rim',
        driver=FREE,
    ),
    sheave(
        "drawer of another section",
        'section = "B"\nsteps = [180]',
        "stage[0].driver.sheaves_in_hand: no sheave in hand takes a belt of section A, only of B; got true; try: add "
        "one under [[in_hand.sheave]], or leave this out",
    ),
    sheave(
        "grooved sheaves for a flat rim",
        'section = "A"\nsteps = [80]',
        "stage[0].driver.groove: the sheaves in hand for section A have grooves, this side has not; "
        'got "flat"; allowed: "v"',
        driver='driver = { sheaves_in_hand = true, groove = "flat" }',
    ),
    broken(
        "drawer that is empty",
        ONE,
        [(FREE, DRAWER)],
        "stage[0].driver.sheaves_in_hand: no sheaves are in hand; got true; try: state them under [[in_hand.sheave]]",
    ),
    broken(
        "what is in hand stated twice over",
        ONE,
        [(LAST, f"{LAST}\n[[in_hand]]\n")],
        "in_hand: this must be a table; got [{ }]; allowed: a table of keys; try: write [in_hand]",
    ),
)

_DISCS = (
    broken(
        "shelf that is empty",
        ONE,
        [(FREE, SHELF)],
        "stage[0].driver.discs_in_hand: no discs are in hand; got true; try: state them under [[in_hand.disc]]",
    ),
    disc(
        "discs of one size twice",
        "[[in_hand.disc]]\ndiameter = 120\n[[in_hand.disc]]\ndiameter = 120",
        "in_hand.disc[1].diameter: discs of this size stand at disc[0] already; got 120; allowed: every size once; "
        "try: raise the count there",
    ),
    disc(
        "discs of one size in two units",
        '[[in_hand.disc]]\ndiameter = 152.4\n[[in_hand.disc]]\ndiameter = "6 in"',
        'in_hand.disc[1].diameter: discs of this size stand at disc[0] already; got "6 in"; allowed: every size once; '
        "try: raise the count there",
    ),
    disc(
        "disc of nothing",
        "[[in_hand.disc]]\ndiameter = 0",
        "in_hand.disc[0].diameter: this is too small; got 0; allowed: 5 mm to 5000 mm; try: check the unit: a bare "
        "number is in mm here",
    ),
)

_BELTS = (
    belt(
        "belt of an unknown section",
        'section = "Q"\nlength = 1000',
        fault='in_hand.belt[0].section: there is no such belt section; got "Q"; allowed: Z, A, B, AX, BX, SPZ, 3L, '
        "4L, 5L, PJ 4, round 8, flat 3x40; try: name the section printed on the belt",
    ),
    belt(
        "belt on the nail twice",
        'section = "A"\nlength = 1016',
        'section = "A"\nlength = "40 in"',
        fault='in_hand.belt[1]: this belt stands at belt[0] already; got "A", 1016 mm; allowed: every kind once; try: '
        "raise the count there",
    ),
)

_KEPT = (
    kept(
        "open steps with nothing to be made of",
        '["open", 112, "open", 80]',
        'stage[0].driven.kept: nothing says what the open steps may be; got ["open", 112, "open", 80]; '
        f"allowed: {WAYS} beside kept; try: add free = [least, most]",
        beside="",
    ),
    kept(
        "cone with every step open",
        '["open", "open", "open", "open"]',
        'stage[0].driven.kept: no step of the kept cone exists; got ["open", "open", "open", "open"]; allowed: one '
        "diameter at least; try: leave kept out",
    ),
    kept(
        "cone with every step open and nothing beside it",
        '["open", "open", "open", "open"]',
        'stage[0].driven.kept: no step of the kept cone exists; got ["open", "open", "open", "open"]; allowed: one '
        "diameter at least; try: write free = [least, most] in its place",
        beside="",
    ),
    kept(
        "whole cone beside a free range",
        "[140, 120, 100, 80]",
        "stage[0].driven.kept: a whole kept cone stands alone, but free is stated beside it; got [140, 120, 100, 80]; "
        f'allowed: kept alone, kept with "open" steps, or any of {WAYS}; try: leave one of them out',
    ),
    kept(
        "cone that turns back over an open step",
        '["open", 112, "open", 80, 90]',
        "stage[0].driven.kept[4]: the kept cone shrinks, then grows again; got 90; allowed: steps in their order "
        "along the shaft, all one way",
    ),
    kept(
        "cone in two units that turns back",
        '["open", "4 1/2 in", "open", 115, 80]',
        "stage[0].driven.kept[4]: the kept cone grows, then shrinks again; got 80; allowed: steps in their order "
        "along the shaft, all one way",
    ),
    kept(
        "open with a capital",
        '["Open", 112, "open", 80]',
        "stage[0].driven.kept[0]: this is neither a diameter nor the word for a step still to be made; "
        'got "Open"; allowed: 114.5, "114.5 mm" or "4 1/2 in", or "open"; try: did you mean "open"?',
    ),
    kept(
        "another word for an open step",
        '["open", 112, "free", 80]',
        "stage[0].driven.kept[2]: this is neither a diameter nor the word for a step still to be made; "
        'got "free"; allowed: 114.5, "114.5 mm" or "4 1/2 in", or "open"',
    ),
    kept(
        "cone of open steps too short",
        '["open", 112, 80]',
        'stage[0].driven.kept: the kept cone has fewer steps than the 4 positions; got ["open", 112, 80]; allowed: 4 '
        "steps or more; try: ask for at most 3 positions",
    ),
)

IN_HAND: tuple[Broken, ...] = (*_SHEAVES, *_DISCS, *_BELTS, *_KEPT)
