"""Fixed stages: ratios, losses, limits."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, Broken, broken

__all__ = ["GEARS"]

GEARED = (
    ONE.replace('to = "spindle"', 'to = "worm shaft"')
    + """
[[shaft]]
name = "worm shaft"

[[stage]]
from = "worm shaft"
to = "spindle"
ratio = "20:1"
"""
)
"""The single cone with a reducer behind it."""

GEARS: tuple[Broken, ...] = (
    broken(
        "reducer written the other way round",
        GEARED,
        [('"20:1"', '"1:20"')],
        'stage[1].ratio: some read this as slower, some as faster; got "1:20"; allowed: turns in before turns out, as '
        'in "20:1", or driven speed over driving speed as a number; try: write "20:1" where the driven shaft turns '
        "slower, 20 where faster",
    ),
    broken(
        "turns that are no numbers",
        GEARED,
        [('"20:1"', '"20:one"')],
        'stage[1].ratio: these are not turns in to turns out; got "20:one"; allowed: two numbers above 0, as in "20:1"',
    ),
    broken(
        "reducer without end",
        GEARED,
        [('"20:1"', "0.0001")],
        "stage[1].ratio: this is too small; got 0.0001; allowed: 0.001 to 1000",
    ),
    broken(
        "gear that gains power",
        GEARED,
        [('"20:1"', '"20:1"\nefficiency = "120 %"')],
        'stage[1].efficiency: this is too large; got "120 %"; allowed: 1 % to 100 %',
    ),
    broken(
        "efficiency in bare per cent",
        GEARED,
        [('"20:1"', '"20:1"\nefficiency = 70')],
        'stage[1].efficiency: this is too large; got 70; allowed: 1 % to 100 %; try: write "70 %" if per cent are '
        "meant",
    ),
    broken(
        "torque of a gear as a force",
        GEARED,
        [('"20:1"', '"20:1"\ntorque = "40 N"')],
        'stage[1].torque: "N" does not measure torque; got "40 N"; allowed: N m, kN m, lb ft, lb in; try: did you '
        "mean Nm?",
    ),
    broken(
        "gear that may not turn",
        GEARED,
        [('"20:1"', '"20:1"\ninput_speed = 0\ntorque = 0')],
        "stage[1].input_speed: this must be above 0; got 0; allowed: above 0 rpm up to 60000 rpm",
        "stage[1].torque: this must be above 0; got 0; allowed: above 0 N m up to 1000000 N m",
    ),
    broken(
        "ratio to be had that is stated already",
        GEARED,
        [('"20:1"', '"20:1"\nother_ratios = ["30:1", 0.05, "30:1"]')],
        "stage[1].other_ratios[1]: this ratio is stated already; got 0.05; allowed: every ratio once",
        'stage[1].other_ratios[2]: this ratio is stated already; got "30:1"; allowed: every ratio once',
    ),
    broken(
        "ratios to be had beside ratios to engage",
        GEARED,
        [('"20:1"', '"20:1"\nslower = ["40:1"]\nother_ratios = ["30:1"]')],
        'stage[1].other_ratios: ratios to choose from stand beside ratios to engage; got ["30:1"]; allowed: one of '
        "other_ratios and slower; try: leave other_ratios out",
    ),
    broken(
        "one other ratio outside brackets",
        GEARED,
        [('"20:1"', '"20:1"\nother_ratios = "30:1"')],
        'stage[1].other_ratios: this must be a list; got "30:1"; allowed: a list in square brackets; try: write '
        '["30:1"]',
    ),
)
