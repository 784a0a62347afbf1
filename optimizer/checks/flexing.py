"""How often a belt is bent: every pulley bends it once a turn, and a short belt at high speed turns often."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

from optimizer.checks.stated import Pair
from optimizer.checks.verdict import Check, Rule, Skipped, at_most
from optimizer.mechanics.tension import bends_per_second

__all__ = ["MOST_BENDS", "flexing_checks", "flexing_per_s"]

MOST_BENDS = 40.0
"""Bends a second of a V-belt that its usual life allows; common practice, no source."""


def flexing_per_s(pair: Pair) -> tuple[float, ...]:
    """Return for every position how often the belt is bent [1/s] while its driver's shaft runs its fastest, ``2·v/L``.

    A step-up drive has it highest: large pulleys on fast shafts, a short belt.
    """
    speeds_m_s = (pi * size * pair.entering_rpm / 60_000 for size in pair.driver.pitch_mm)
    return tuple(float(bends_per_second(speed, pair.length_mm)) for speed in speeds_m_s)


def flexing_checks(pair: Pair) -> Iterator[Check | Skipped]:
    """Yield the check of the position at which a stage's belt is bent most often, all others in its note."""
    rates = flexing_per_s(pair)
    most = max(rates)
    name, where = "bends of the belt", pair.place(rates.index(most))
    if pair.section.kind != "v":
        why = f"no usual rate is known for a {pair.section.kind} belt; this one is bent up to {most:.1f} times a second"
        yield Skipped(name=name, where=pair.key, why=why)
        return
    note = f"driver at {pair.entering_rpm:.0f} rpm; by position {', '.join(f'{rate:.1f}' for rate in rates)}"
    yield at_most(Rule(name, "advice", MOST_BENDS, "1/s", "common practice, no source"), where, most, note)
