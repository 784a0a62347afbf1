"""The speeds of a design: their order, bands, evenness, and the bounds that are said of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise, product
from typing import Any

from tests.independent.numbers import Number, high, num
from tests.independent.series import end_miss, spread, unevenness
from tests.independent.stated import Machine
from tests.independent.verdict import Verdict

__all__ = ["verify_series", "verify_shafts"]

HAIR = 1e-9
"""Of a logarithm, or as a share of a speed."""
Sheet = Mapping[str, Any]


def verify_series(machine: Machine, document: Sheet, ratios: list[list[Number]], verdict: Verdict) -> None:
    """Verify speeds, bands, evenness, limits, bounds."""
    speeds = _verify_speeds(machine, document, ratios, verdict)
    _verify_bands(machine, document, speeds, verdict)
    logs = [high.log(speed) for speed in speeds]
    series, limits = document["series"], {key: value for key, value in machine.series.items() if value is not None}
    low, top = min(band.low for band in machine.bands), max(band.high for band in machine.bands)
    miss, delta = end_miss(logs, num(low), num(top)), unevenness(logs)
    j = num(limits["end_weight"]) * miss + num(limits["unevenness_weight"]) * delta
    verdict.agrees("end miss", series["end_miss"], miss, HAIR)
    verdict.agrees("unevenness", series["unevenness"], delta, HAIR)
    verdict.agrees("J", series["j"], j, HAIR)
    verdict.holds(miss <= num(limits["end_miss"]) + HAIR, f"end miss {float(miss):.9g}")
    verdict.holds(delta <= num(limits["unevenness"]) + HAIR, f"unevenness {float(delta):.9g}")
    if len(logs) > 1:
        verdict.agrees("unevenness at the stated ratio", spread(logs, high.log(num(series["ratio"]))), delta, 1e-8)
        gap = max(b / a for a, b in pairwise(speeds)) - 1
        verdict.agrees("widest step", series["widest_gap"], gap, HAIR)
    for a, b in pairwise(speeds):
        verdict.holds(
            b / a >= (1 + num(limits["distinct"])) * (1 - HAIR), f"{float(a):.6g}, {float(b):.6g} rpm not distinct"
        )
    if "never_above" in limits:
        verdict.holds(speeds[-1] <= num(limits["never_above"]) * (1 + HAIR), f"{float(speeds[-1]):.6g} rpm is too fast")
    _verify_bounds(document, j, verdict)


def _verify_speeds(machine: Machine, document: Sheet, ratios: list[list[Number]], verdict: Verdict) -> list[Number]:
    """Return the spindle speeds, slowest first, each made by the positions that the layout says."""
    offsets = document["layout"]["offsets"]
    verdict.holds(
        [len(row) for row in offsets] == [len(row) for row in ratios], "the layout has other positions than the machine"
    )
    for row, stage in zip(offsets, machine.stages, strict=True):
        verdict.holds(len(row) in stage.positions, f"{stage.key}: {len(row)} positions may not be tried")
    made: dict[int, tuple[Number, tuple[int, ...]]] = {}
    for chosen in product(*(range(len(row)) for row in ratios)):
        place = int(sum(row[p] for row, p in zip(offsets, chosen, strict=True)))
        speed = num(machine.motor_rpm) * num(machine.gain_out)
        for stage, row, p in zip(machine.stages, ratios, chosen, strict=True):
            speed *= num(stage.gain) * row[p]
        verdict.holds(place not in made, f"two choices of positions stand at place {place} of the series")
        made[place] = speed, chosen
    verdict.holds(sorted(made) == list(range(len(made))), "the offsets do not make every place of the series")
    told = document["machine"]["speeds"]
    verdict.holds(len(told) == len(made), "there are not as many speeds as combinations of positions")
    for place, sheet in enumerate(told):
        speed, chosen = made[place]
        verdict.agrees("spindle speed as a share", sheet["rpm"] / speed, 1, HAIR)
        verdict.holds([int(p) - 1 for p in sheet["positions"]] == [*chosen], f"speed {place + 1} has other positions")
        verify_shafts(machine, (sheet, chosen), ratios, verdict)
    speeds = [made[place][0] for place in sorted(made)]
    verdict.holds(all(a < b for a, b in pairwise(speeds)), "the speeds do not rise")
    return speeds


def verify_shafts(
    machine: Machine, speed: tuple[Sheet, Sequence[int]], ratios: list[list[Number]], verdict: Verdict
) -> None:
    """Every shaft's speed is the product of the ratios before it, and below its limit."""
    sheet, chosen = speed
    rpm, belts = num(machine.motor_rpm), 0
    told = {entry["shaft"]: entry["rpm"] for entry in sheet["shafts"]}
    for _, shaft, fixed in machine.chain:
        if fixed is None:
            rpm *= ratios[belts][chosen[belts]]
            belts += 1
        else:
            rpm *= num(fixed)
        verdict.agrees("shaft speed as a share", told[shaft] / rpm, 1, HAIR)
        stated = machine.shafts.get(shaft)
        if stated is not None and stated.never_above is not None:
            verdict.holds(rpm <= num(stated.never_above) * (1 + HAIR), f"{shaft} runs {float(rpm):.6g} rpm")


def _verify_bands(machine: Machine, document: Sheet, speeds: list[Number], verdict: Verdict) -> None:
    """Every band has the speeds it wants: inner edges half-open, the outermost widened by the ends."""
    wide = 1 + num(machine.series["ends"] or Fraction(0))
    bottom, top = min(band.low for band in machine.bands), max(band.high for band in machine.bands)
    for band, told in zip(machine.bands, document["bands"], strict=True):
        low = num(band.low) / wide if band.low == bottom else num(band.low)
        upper, closed = (num(band.high) * wide, True) if band.high == top else (num(band.high), False)
        sure = [s for s in speeds if low * (1 + HAIR) <= s <= upper * (1 - HAIR)]
        edge = [s for s in speeds if abs(s / low - 1) < HAIR or (closed and abs(s / upper - 1) < HAIR)]
        verdict.holds(len(sure) + len(edge) >= band.want, f"band {band.name}: {len(sure)} of {band.want} speeds")
        said = len(told["speeds_rpm"])
        verdict.holds(
            len(sure) <= said <= len(sure) + len(edge), f"band {band.name}: {said} speeds told, {len(sure)} there"
        )


def _verify_bounds(document: Sheet, j: Number, verdict: Verdict) -> None:
    """Each of the four figures is a bound for the next, or is reached by it."""
    proof, closing = document["proof"], document["closing"]
    verdict.agrees("final J", proof["final"], j, HAIR)
    hair = Fraction("1e-9")
    order = (
        ("ideal", proof["ideal"]),
        ("structural", proof["structural"]),
        ("bound", proof["bound"]),
        ("listed", proof["listed"]),
    )
    for (one, less), (other, more) in pairwise(order):
        verdict.holds(less <= more + hair, f"{one} {float(less):.9g} is above {other} {float(more):.9g}")
    verdict.holds(
        num(proof["structural"]) <= j + num(hair),
        f"structural {float(proof['structural']):.9g} is above J {float(j):.9g}",
    )
    if proof["status"] == "proved":
        verdict.agrees("bound where proved", proof["bound"], proof["listed"], 1e-6)
    if closing["status"] in ("none better", "better"):
        verdict.holds(num(closing["bound"]) <= j + num(hair), "the closing bound is above J")
