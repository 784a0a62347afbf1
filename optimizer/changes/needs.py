"""What a found design really uses of the limits it was found under."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf, pi

from optimizer.geometry.belts import small_wrap_deg
from optimizer.records.candidate import Candidate, StageSizes
from optimizer.records.problem import SideSizes, StageProblem
from optimizer.records.speeds import counts, grip_of, speeds_rpm
from optimizer.scoring import score

__all__ = [
    "belt_speed_m_s",
    "centre_mm",
    "disc_mm",
    "edge_rpm",
    "end_miss",
    "grip",
    "rim_speed_m_s",
    "room_mm",
    "smallest_mm",
    "speeds_in_band",
    "travel_mm",
    "unevenness",
    "wrap_deg",
]


def disc_mm(candidate: Candidate, side_key: str) -> float:
    """Return the smallest disc from which the largest turned step of a side comes; 0 where none is turned."""
    rules, sizes = _side(candidate, side_key)
    turned = [mm for mm, source in sizes if source == "turned"]
    return max(turned) + rules.outside_shift_mm + rules.truing_mm if turned else 0.0


def smallest_mm(candidate: Candidate, side_key: str) -> float:
    """Return the smallest diameter of a side, on the maker's line."""
    rules, sizes = _side(candidate, side_key)
    return min(mm for mm, _ in sizes) - rules.given_shift_mm


def centre_mm(candidate: Candidate, key: str, end: int) -> float:
    """Return the least (end 0) or the greatest (end 1) centre distance of a stage's positions."""
    return (min, max)[end](p.centre_mm for p in _stage(candidate, key)[1].positions)


def travel_mm(candidate: Candidate, given_mm: float, *, key: str) -> float:
    """Return the travel a design needs: what was there, less what its belt's window leaves over its spread."""
    window = _stage(candidate, key)[1].belt.window_mm
    return given_mm - window + (centre_mm(candidate, key, 1) - centre_mm(candidate, key, 0))


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


def room_mm(candidate: Candidate, side_keys: Sequence[str], beside_mm: float) -> float:
    """Return what cones and all beside them take along a shaft; a kept cone sits there with all its steps."""
    taken = beside_mm
    for rules, sizes in (_side(candidate, key) for key in side_keys):
        taken += max(len(sizes), len(rules.standing_mm)) * rules.width_mm
    return taken


def speeds_in_band(candidate: Candidate, number: int) -> float:
    """Return how many speeds count in a band."""
    return float(len(_in_band(candidate, number)))


def edge_rpm(candidate: Candidate, given_rpm: float, *, number: int, end: int) -> float:
    """Return the speed that the edge of a band must reach for the band to hold what it wants."""
    inside, want = _in_band(candidate, number), candidate.problem.targets.bands[number].want
    if len(inside) < want:
        return given_rpm
    return inside[-want] if end == 0 else inside[want - 1]


def end_miss(candidate: Candidate) -> float:
    """Return the end miss, as a natural logarithm."""
    return score(candidate.problem, candidate.stages).end_miss


def unevenness(candidate: Candidate) -> float:
    """Return the unevenness, as a natural logarithm."""
    return score(candidate.problem, candidate.stages).unevenness


def grip(candidate: Candidate) -> float:
    """Return the least grip of any belt."""
    return grip_of(candidate.problem, candidate.stages)


def _in_band(candidate: Candidate, number: int) -> list[float]:
    """Return the spindle speeds that count in a band, slowest first."""
    target = candidate.problem.targets.bands[number]
    return [rpm for rpm in sorted(speeds_rpm(candidate.problem, candidate.stages)) if counts(target, rpm)]


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
        rpm = before * max((p.driver_mm / p.driven_mm for p in sizes.positions), default=inf) * (1 - rules.slip)
        yield rules.key, (before, rpm)


def _m_s(diameter_mm: float, rpm: float) -> float:
    return pi * diameter_mm * rpm / 60_000
