"""What a found design really uses of the limits it was found under."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, pi

from optimizer.geometry.belts import small_wrap_deg
from optimizer.records.candidate import Candidate, PositionSizes, StageSizes
from optimizer.records.problem import SideSizes, StageProblem
from optimizer.records.speeds import speeds_rpm

__all__ = [
    "belt_speed_m_s",
    "centres_mm",
    "cone_width_mm",
    "discs_mm",
    "rim_speed_m_s",
    "smallest_mm",
    "spindle_rpm",
    "wrap_deg",
]


def discs_mm(candidate: Candidate, side_key: str) -> float:
    """Return the smallest disc from which the largest turned step of a side comes; 0 where none is turned."""
    rules, sizes = _side(candidate, side_key)
    turned = [mm for mm, source in sizes if source == "turned"]
    return max(turned) + rules.outside_shift_mm + rules.truing_mm if turned else 0.0


def smallest_mm(candidate: Candidate, side_key: str) -> float:
    """Return the smallest diameter of a side, on the maker's line."""
    rules, sizes = _side(candidate, side_key)
    return min(mm for mm, _ in sizes) - rules.given_shift_mm


def centres_mm(candidate: Candidate, key: str) -> tuple[float, float]:
    """Return the least and the greatest centre distance of a stage's positions."""
    own = [p.centre_mm for p in _stage(candidate, key)[1].positions]
    return min(own), max(own)


def wrap_deg(candidate: Candidate, key: str) -> float:
    """Return the least wrap of a stage's positions."""
    rules, sizes = _stage(candidate, key)
    return min(
        float(small_wrap_deg(p.driver_mm, p.driven_mm, p.centre_mm, crossed=rules.crossed)) for p in sizes.positions
    )


def belt_speed_m_s(candidate: Candidate, key: str) -> float:
    """Return the greatest speed of a stage's belt, every shaft before it at its fastest."""
    rpm = dict(_entering(candidate))[key][0]
    return max(_m_s(p.driver_mm, rpm) for p in _stage(candidate, key)[1].positions)


def rim_speed_m_s(candidate: Candidate, side_keys: frozenset[str]) -> float:
    """Return the greatest speed of the rims of some sides, every shaft at its fastest without load; 0 for no side."""
    found = 0.0
    for key, (entering, leaving) in _entering(candidate):
        rules, sizes = _stage(candidate, key)
        for side, rpm, name in ((rules.driver, entering, "driver_mm"), (rules.driven, leaving, "driven_mm")):
            if side.key in side_keys:
                largest = max(getattr(p, name) for p in sizes.positions) + side.outside_shift_mm
                found = max(found, _m_s(largest, rpm * side.idle_gain))
    return found


def cone_width_mm(candidate: Candidate, side_key: str) -> float:
    """Return what the cone of a side takes along its shaft; a kept cone sits there with all its steps."""
    rules, sizes = _side(candidate, side_key)
    return max(len(sizes), len(rules.standing_mm)) * rules.width_mm


def spindle_rpm(candidate: Candidate) -> list[float]:
    """Return the spindle speeds, slowest first."""
    return sorted(speeds_rpm(candidate.problem, candidate.stages))


def _stage(candidate: Candidate, key: str) -> tuple[StageProblem, StageSizes]:
    stages = zip(candidate.problem.stages, candidate.stages, strict=True)
    return next((rules, sizes) for rules, sizes in stages if rules.key == key)


def _side(candidate: Candidate, side_key: str) -> tuple[SideSizes, list[tuple[float, str]]]:
    key, name = side_key.rsplit(".", 1)
    rules, sizes = _stage(candidate, key)
    if name == "driver":
        return rules.driver, [(p.driver_mm, p.driver_source) for p in sizes.positions]
    return rules.driven, [(p.driven_mm, p.driven_source) for p in sizes.positions]


def _entering(candidate: Candidate) -> Iterator[tuple[str, tuple[float, float]]]:
    """Yield every stage's key with the greatest speeds of the shafts before and behind its belt."""
    rpm = candidate.problem.motor_rpm
    for rules, sizes in zip(candidate.problem.stages, candidate.stages, strict=True):
        before = rpm * rules.gain
        rpm = before * max(map(_ratio, sizes.positions), default=inf) * (1 - rules.slip)
        yield rules.key, (before, rpm)


def _ratio(position: PositionSizes) -> float:
    return position.driver_mm / position.driven_mm


def _m_s(diameter_mm: float, rpm: float) -> float:
    return pi * diameter_mm * rpm / 60_000
