"""Motors with several speeds, gears with several ratios."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, TWO, Broken, broken
from tests.unit.scenario.broken_gears import GEARED

__all__ = ["SWITCHES"]

POLES = ONE.replace('speed = "1420 rpm"', 'speed = "1420 rpm"\npower = "0.75 kW"\nslower = [950]\nslower_power = [0.5]')
"""The single cone behind a motor with four and six poles."""

SWITCHES: tuple[Broken, ...] = (
    broken(
        "slower speed that is faster",
        POLES,
        [("slower = [950]", 'slower = ["2840 rpm"]')],
        'motor.slower[0]: this is not slower; got "2840 rpm"; allowed: below 1420 rpm; try: write the fastest before '
        "the list, the others in it",
    ),
    broken(
        "slower speed that is the same",
        POLES,
        [("slower = [950]", "slower = [1420]")],
        "motor.slower[0]: this is not slower; got 1420; allowed: below 1420 rpm; try: write the fastest before the "
        "list, the others in it",
    ),
    broken(
        "slower speed twice",
        POLES,
        [("slower = [950]", "slower = [950, 950.5]"), ("[0.5]", "[0.5, 0.4]")],
        "motor.slower[1]: this setting stands there already; got 950.5; allowed: every setting once",
    ),
    broken(
        "motor of five speeds",
        POLES,
        [("slower = [950]", "slower = [710, 950, 475, 355]"), ("slower_power = [0.5]\n", "")],
        "motor.slower: there are too many settings; got [710, 950, 475, 355]; allowed: at most 4, the fastest too",
    ),
    broken(
        "slower speed that stands",
        POLES,
        [("slower = [950]", "slower = [0]")],
        "motor.slower[0]: this must be above 0; got 0; allowed: above 0 rpm up to 60000 rpm",
    ),
    broken(
        "one slower speed outside brackets",
        POLES,
        [("slower = [950]", "slower = 950")],
        "motor.slower: this must be a list; got 950; allowed: a list in square brackets; try: write [950]",
    ),
    broken(
        "two powers for one slower speed",
        POLES,
        [("[0.5]", "[0.5, 0.3]")],
        "motor.slower_power: there must be one power for every slower speed; got [0.5, 0.3]; allowed: 1, as in slower",
    ),
    broken(
        "slower power without the power",
        POLES,
        [('power = "0.75 kW"\n', "")],
        "motor.slower_power: the power at the fastest speed is not stated; allowed: power beside it",
    ),
    broken(
        "slower power as a speed",
        POLES,
        [("[0.5]", '["950 rpm"]')],
        'motor.slower_power[0]: "rpm" does not measure power; got "950 rpm"; allowed: kW, W, hp, PS',
    ),
    broken(
        "back gear that is faster",
        GEARED,
        [('"20:1"', '"20:1"\nslower = ["6:1"]')],
        'stage[1].slower[0]: this is not slower; got "6:1"; allowed: below 0.05; try: write the fastest before the '
        "list, the others in it",
    ),
    broken(
        "back gear the other way round",
        GEARED,
        [('"20:1"', '1\nslower = ["1:6"]')],
        'stage[1].slower[0]: some read this as slower, some as faster; got "1:6"; allowed: turns in before turns '
        'out, as in "20:1", or driven speed over driving speed as a number; try: write "6:1" where the driven shaft '
        "turns slower, 6 where faster",
    ),
    broken(
        "back gear twice",
        GEARED,
        [('"20:1"', '1\nslower = ["6:1", "6:1"]')],
        'stage[1].slower[1]: this setting stands there already; got "6:1"; allowed: every setting once',
    ),
    broken(
        "too many speeds by a switch",
        TWO,
        [('speed = "1420 rpm"', "speed = 1420\nslower = [950, 710, 475]")],
        "stage[1].positions: the positions and what is switched multiply to 32 speeds; got [3, 4]; allowed: at most "
        "24 speeds, such as 4 x 6; try: ask for fewer positions",
    ),
)
