"""One check with its verdict."""

from __future__ import annotations

from math import isnan
from typing import Literal, NamedTuple

from optimizer.scenario.base import Model

__all__ = ["Check", "Kind", "Rule", "Skipped", "at_least", "at_most"]

Kind = Literal["impossible", "limit", "advice"]

TOLERANCE = {"mm": 2e-6, "°": 1e-6}
"""How far a value may pass its limit before it counts as broken, by unit."""
RELATIVE_TOLERANCE = 1e-9
"""The same for every other unit, as a share of the limit."""


class Check(Model):
    """One thing recomputed from the final diameters, held against what it may be."""

    name: str
    kind: Kind
    """`impossible`: geometry forbids it; `limit`: a hard limit the maker may change; `advice`: a warning."""
    where: str
    """Place in the scenario, with the position or speed from 1 where it is one of several."""
    value: float
    limit: float
    margin: float
    """How far the value keeps from the limit; below 0 where it passes it."""
    unit: str
    source: str
    """Where the limit comes from."""
    passed: bool
    note: str = ""


class Skipped(Model):
    """A check that cannot be made, with what is missing."""

    name: str
    where: str
    why: str


class Rule(NamedTuple):
    """What a value is checked against, and in whose name."""

    name: str
    kind: Kind
    limit: float
    unit: str
    source: str


def at_most(rule: Rule, where: str, value: float, note: str = "") -> Check:
    """Return the check that a value does not pass an upper limit; a value that is not a number fails.

    Examples
    --------
    >>> rule = Rule("belt speed", "limit", 30.0, "m/s", "GOST 1284.3-96, read")
    >>> check = at_most(rule, "stage[0]", 32.0)
    >>> check.margin, check.passed
    (-2.0, False)
    """
    return _check(rule, where, value, rule.limit - value, note)


def at_least(rule: Rule, where: str, value: float, note: str = "") -> Check:
    """Return the check that a value does not fall below a lower limit; a value that is not a number fails.

    Examples
    --------
    >>> rule = Rule("wrap", "limit", 90.0, "°", "GOST 1284.3-96, read")
    >>> at_least(rule, "stage[0], position 1", 120.0).margin
    30.0
    """
    return _check(rule, where, value, value - rule.limit, note)


def _check(rule: Rule, where: str, value: float, margin: float, note: str) -> Check:
    tolerance = TOLERANCE.get(rule.unit, RELATIVE_TOLERANCE * max(abs(rule.limit), 1e-3))
    return Check(
        name=rule.name,
        kind=rule.kind,
        where=where,
        value=value,
        limit=rule.limit,
        margin=margin,
        unit=rule.unit,
        source=rule.source,
        passed=not isnan(margin) and margin >= -tolerance,
        note=note,
    )
