"""The stages of a design: sizes, belt, centre distances, travel, speeds of belts and rims."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Any, NamedTuple

from tests.independent.belts import belt_length, least_wrap_deg, own_centre
from tests.independent.drawer import Step, belts_go_round, discs_go_round, sheaves_go_round
from tests.independent.limits import (
    Belt,
    belts_of,
    blank_of,
    inward,
    lines_of,
    needed_pitch,
    rim_speed,
    turned_outside,
    window,
)
from tests.independent.numbers import Number, high, num
from tests.independent.stated import Machine, Side, Stage
from tests.independent.verdict import HAIR_MM, Verdict

__all__ = ["verify_stages"]

Sheet = Mapping[str, Any]


class Cone(NamedTuple):
    """One side of a stage as designed; exact millimetres, slowest position first."""

    key: str
    side: Side
    shaft: str
    outside: tuple[Fraction, ...]
    sources: tuple[str, ...]
    sheets: tuple[Sheet, ...]

    @property
    def datum(self) -> tuple[Fraction, ...]:
        """Datum diameters."""
        return tuple(size - self.side.section.rim_shift(self.side.groove) for size in self.outside)

    @property
    def pitch(self) -> tuple[Fraction, ...]:
        """Pitch diameters, which set the speed."""
        return tuple(size + self.side.section.pitch_shift for size in self.datum)

    @property
    def given(self) -> tuple[Fraction, ...]:
        """Diameters on the maker's line."""
        return tuple(size + self.side.given_shift for size in self.datum)


def verify_stages(machine: Machine, document: Sheet, verdict: Verdict) -> list[list[Number]]:
    """Verify every stage, and return the speed ratios of its positions."""
    entering = num(machine.motor_rpm)
    found = []
    widths: dict[str, float] = {}
    drawn: dict[str, tuple[Side, str, list[Step]]] = {}
    belts: dict[str, tuple[str, Fraction, bool]] = {}
    for stage, sheet in zip(machine.stages, document["machine"]["stages"], strict=True):
        entering *= num(stage.gain)
        cones = _cone(stage, sheet, "driver"), _cone(stage, sheet, "driven")
        ratios = [num(a) / num(b) * (1 - num(stage.slip)) for a, b in zip(cones[0].pitch, cones[1].pitch, strict=True)]
        for cone in cones:
            _verify_sizes(machine, cone, verdict)
        _verify_order(machine, cones, verdict)
        belt = _verify_belt(stage, sheet, verdict)
        for cone in cones:
            steps = [Step(size, source) for size, source in zip(cone.datum, cone.sources, strict=True)]
            drawn[cone.key] = cone.side, stage.section_name, steps
        if belt is not None:
            belts[stage.key] = stage.section_name, belt.length, belt.sold
        if belt is not None:
            _verify_centres(machine, stage, cones, belt, (sheet, verdict))
        _verify_moving(machine, stage, cones, (entering, max(ratios)), verdict)
        for p, position in enumerate(sheet["positions"]):
            verdict.agrees("ratio", position["ratio"], ratios[p], 1e-9)
        _note_widths(machine, stage, cones, (sheet, widths), verdict)
        found.append(ratios)
        entering *= max(ratios)
    verdict.holds(sheaves_go_round(machine, drawn), "sheaves in hand are used more often than they are there")
    verdict.holds(discs_go_round(machine, drawn), "discs in hand are used more often than they are there")
    verdict.holds(belts_go_round(machine, belts), "a belt in hand is used more often than it is there")
    _verify_discs_used(machine, document, verdict)
    for name, shaft in machine.shafts.items():
        if shaft.room is not None:
            taken = widths.get(name, 0.0) + float(shaft.beside)
            verdict.holds(
                taken <= float(shaft.room) + 1e-6, f"{name}: cones take {taken:.6g} of {float(shaft.room):g} mm"
            )
    return found


def _verify_discs_used(machine: Machine, document: Sheet, verdict: Verdict) -> None:
    """No size of disc that is only in hand is named for more steps than there are discs."""
    sold = {size for stage in machine.stages for side in (stage.driver, stage.driven) for size in side.blanks}
    blanks = [
        Fraction(position[name]["blank_mm"])
        for stage, sheet in zip(machine.stages, document["machine"]["stages"], strict=True)
        for position in sheet["positions"]
        for name, side in (("driver", stage.driver), ("driven", stage.driven))
        if position[name]["source"] == "turned" and side.hand_discs
    ]
    for size, count in machine.hand.discs:
        used = sum(abs(blank - size) <= HAIR_MM for blank in blanks)
        verdict.holds(size in sold or used <= count, f"{used} steps are cut from {count} discs of {float(size):.6g} mm")


def _cone(stage: Stage, sheet: Sheet, name: str) -> Cone:
    steps = tuple(position[name] for position in sheet["positions"])
    side, shaft = (stage.driver, stage.driver_shaft) if name == "driver" else (stage.driven, stage.driven_shaft)
    sizes, sources = tuple(Fraction(s["outside_mm"]) for s in steps), tuple(s["source"] for s in steps)
    return Cone(f"{stage.key}.{name}", side, shaft, sizes, sources, steps)


def _verify_sizes(machine: Machine, cone: Cone, verdict: Verdict) -> None:
    """Every step is what the maker allows, and its other lines lie where they must."""
    side, key = cone.side, cone.key
    tick: Fraction = machine.making["turn_to"]
    limits = turned_outside(machine, side, cone.shaft)
    for p, (source, sheet) in enumerate(zip(cone.sources, cone.sheets, strict=True)):
        outside, given = cone.outside[p], cone.given[p]
        verdict.agrees("datum diameter", sheet["datum_mm"], cone.datum[p], 1e-6)
        verdict.agrees("pitch diameter", sheet["pitch_mm"], cone.pitch[p], 1e-6)
        if side.section.pins is not None and side.groove == "v":
            verdict.agrees("size over pins", sheet["over_pins_mm"], cone.datum[p] + side.section.pins, 1e-6)
        verdict.holds(
            cone.datum[p] >= side.least_datum - HAIR_MM, f"{key}: {float(outside):.6g} mm is below the smallest"
        )
        verdict.holds(
            side.most_outside is None or outside <= side.most_outside + HAIR_MM,
            f"{key}: {float(outside):.6g} mm reaches what the motor stands on",
        )
        if source == "turned":
            verdict.holds(
                limits is not None and limits[0] - HAIR_MM <= outside <= (limits[1] or 0) + HAIR_MM,
                f"{key}: {float(outside):.9g} mm is outside what may be turned",
            )
            off = given - round(given / tick) * tick
            verdict.agrees("turned to whole ticks", given - off, given, 1e-6)
            _verify_blank(machine, cone, p, verdict)
        elif source == "ready":
            verdict.holds(_among(given, side.ready), f"{key}: no ready pulley has {float(given):.9g} mm")
        elif source == "in hand":
            verdict.holds(_among(given, side.hand), f"{key}: no sheave in hand has {float(given):.9g} mm")
    if "kept" in cone.sources or side.kept:
        verdict.holds(_directions(cone), f"{key}: not a run of the kept cone")


def _verify_blank(machine: Machine, cone: Cone, p: int, verdict: Verdict) -> None:
    """The disc of a turned step is large enough, can be swung, and is one that may be used."""
    side, said = cone.side, Fraction(cone.sheets[p]["blank_mm"])
    needed, most = cone.outside[p] + machine.making["truing"], machine.making["largest_blank"]
    least = blank_of(machine, side, cone.outside[p])
    verdict.holds(least is not None, f"{cone.key}: no disc is large enough for {float(cone.outside[p]):.6g} mm")
    verdict.holds(most is None or said <= most + HAIR_MM, f"{cone.key}: blank {float(said):.6g} mm is too large")
    if least is not None and not side.hand_discs and not (side.free and side.blanks):
        verdict.agrees("blank", said, least, 1e-6)
    else:  # the least disc may be taken by another step, or one be made for it
        cut = said >= needed - HAIR_MM and (_among(said, side.discs) or (side.free and abs(said - needed) < HAIR_MM))
        verdict.holds(cut, f"{cone.key}: {float(cone.outside[p]):.6g} mm cannot be cut from {float(said):.6g} mm")


def _among(size: Fraction, sizes: Sequence[Fraction]) -> bool:
    return any(abs(size - other) <= HAIR_MM for other in sizes)


def _directions(cone: Cone) -> set[int]:
    """Return the ways round (1, -1) in which the steps are a run of the kept cone."""
    count, kept = len(cone.given), cone.side.kept
    return {
        way
        for way in (1, -1)
        for start in range(len(kept) - count + 1)
        if all(
            source != "kept" if b is None else source == "kept" and abs(a - b) <= HAIR_MM
            for a, source, b in zip(cone.given[::way], cone.sources[::way], kept[start : start + count], strict=True)
        )
    }


def _verify_order(machine: Machine, cones: tuple[Cone, Cone], verdict: Verdict) -> None:
    """Cones with turned steps run one way, by a rise that can be seen; two kept cones face each other as they may."""
    rise: Fraction = machine.making["rise"]
    for cone, way in zip(cones, (1, -1), strict=True):
        if "turned" not in cone.sources:
            continue
        for a, b in pairwise(cone.outside):
            step = (b - a) * way
            verdict.holds(
                abs(step) <= HAIR_MM or step >= rise - HAIR_MM,
                f"{cone.key}: {float(a):.6g} to {float(b):.6g} mm on a cone",
            )
    driver, driven = cones
    if driver.side.kept and driven.side.kept and not (driver.side.reversible or driven.side.reversible):
        verdict.holds(_directions(driver) & _directions(driven), f"{driver.key}: a kept cone is turned end for end")


def _verify_belt(stage: Stage, sheet: Sheet, verdict: Verdict) -> Belt | None:
    """Return the belt, if it is one that can be had."""
    length = Fraction(sheet["datum_length_mm"])
    verdict.holds(sheet["section"] == stage.section_name, f"{stage.key}: belt of section {sheet['section']}")
    verdict.holds(sheet["crossed"] is stage.crossed, f"{stage.key}: the belt is crossed where it may not be, or open")
    verdict.agrees("slip", sheet["slip"], stage.slip, 1e-12)
    near = min(belts_of(stage, length), key=lambda b: abs(b.length - length), default=None)
    if near is None or abs(near.length - length) > HAIR_MM:
        verdict.broken.append(f"{stage.key}: no belt of {float(length):.6g} mm can be had")
        return None
    pitch_length = num(near.length) + high.pi * num(stage.section.pitch_shift)
    verdict.agrees("belt length", sheet["pitch_length_mm"], pitch_length, 1e-6)
    return near


def _verify_centres(
    machine: Machine, stage: Stage, cones: tuple[Cone, Cone], belt: Belt, said: tuple[Sheet, Verdict]
) -> None:
    """The one belt is taut at every position's own centre distance, and the mount can do all of it."""
    sheet, verdict = said
    length = num(belt.length) + high.pi * num(stage.section.pitch_shift)
    centres = []
    for p, position in enumerate(sheet["positions"]):
        a, b = num(cones[0].pitch[p]), num(cones[1].pitch[p])
        centre = own_centre(a, b, length, stage.crossed)
        if centre is None:
            verdict.broken.append(f"{stage.key}, position {p + 1}: the belt does not go round")
            return
        centres.append(centre)
        verdict.agrees("own centre distance", position["centre_mm"], centre, 1e-6)
        at_stated = belt_length(a, b, num(position["centre_mm"]), stage.crossed)
        verdict.agrees("belt length at the stated centre distance", at_stated, length, 2e-6)
        wrap = least_wrap_deg(a, b, centre, stage.crossed)
        stated = min(position["driver_wrap_deg"], position["driven_wrap_deg"])
        verdict.agrees("wrap", stated, wrap, 1e-6)
        verdict.holds(wrap >= num(stage.wrap) - num("1e-6"), f"{stage.key}, position {p + 1}: wrap {float(wrap):.6g}")
        gap = centre - num(cones[0].outside[p] + cones[1].outside[p]) / 2
        on = gap - num(inward(stage, belt))
        verdict.holds(
            gap >= num(stage.clearance - HAIR_MM), f"{stage.key}, position {p + 1}: rims {float(gap):.6g} mm apart"
        )
        verdict.holds(on >= -num(HAIR_MM), f"{stage.key}, position {p + 1}: rims touch while the belt goes on")
    low, top = stage.centres
    if low == top:
        half = min(stage.fit, belt.length / 1000) / 2
        low, top = low - half, top + half
    for centre in centres:
        inside = num(low - HAIR_MM) <= centre <= num(top + HAIR_MM)
        verdict.holds(inside, f"{stage.key}: centre distance {float(centre):.9g} mm is outside its limits")
    left, apart = num(window(stage, belt)), max(centres) - min(centres)
    verdict.holds(
        apart <= left + num(HAIR_MM), f"{stage.key}: centres {float(apart):.9g} mm apart, {float(left):.9g} allowed"
    )
    _verify_life(stage, belt, (min(centres), max(centres)), sheet["centres"], verdict)
    facing = (num(max(c.outside)) + num(h) for c, h in _facing_hubs(machine, stage, cones))
    for both in facing:
        gap = min(centres) - both / 2
        verdict.holds(gap >= num(stage.clearance - HAIR_MM), f"{stage.key}: a rim is {float(gap):.6g} mm from a shaft")


def _facing_hubs(machine: Machine, stage: Stage, cones: tuple[Cone, Cone]) -> list[tuple[Cone, Fraction]]:
    shafts = machine.shafts.get(stage.driven_shaft), machine.shafts.get(stage.driver_shaft)
    return [(c, s.hub) for c, s in zip(cones, shafts, strict=True) if s is not None and s.hub is not None]


def _verify_life(stage: Stage, belt: Belt, running: tuple[Number, Number], sheet: Sheet, verdict: Verdict) -> None:
    """The mount's places from belt-on to worn out are those stated, and lie within its travel."""
    tolerance, stretch, climb = (num(line) for line in lines_of(stage, belt))
    on, worn = running[0] - tolerance / 2 - climb, running[1] + tolerance / 2 + stretch
    verdict.agrees("least running centre distance", sheet["running_mm"][0], running[0], 1e-6)
    verdict.agrees("greatest running centre distance", sheet["running_mm"][1], running[1], 1e-6)
    verdict.agrees("belt-on centre distance", sheet["belt_on_mm"], on, 1e-6)
    verdict.agrees("worn-out centre distance", sheet["worn_out_mm"], worn, 1e-6)
    spent = num(0)
    for name, line in zip(("tolerance", "stretch", "climb"), sheet["budget"], strict=False):
        true = dict(zip(("tolerance", "stretch", "climb"), lines_of(stage, belt), strict=True))[name]
        verdict.agrees(f"travel for {name}", line["amount_mm"], true, 1e-6)
        spent += num(true)
    verdict.holds(spent <= num(stage.travel + HAIR_MM), f"{stage.key}: the budget's lines pass the travel")
    if stage.travel:
        fit = num(min(stage.fit, belt.length / 1000))
        verdict.holds(
            worn - on <= num(stage.travel + HAIR_MM) + fit, f"{stage.key}: belt-on to worn out passes the travel"
        )


def _verify_moving(
    machine: Machine, stage: Stage, cones: tuple[Cone, Cone], speeds: tuple[Number, Number], verdict: Verdict
) -> None:
    """Belts, rims, shafts keep their limits with every shaft before them at its fastest."""
    entering, ratio = speeds
    a_hair = 1 + num("1e-9")

    def m_s(size: Fraction, rpm: Number) -> Number:
        return high.pi * num(size) * rpm / 60000

    for p in range(len(cones[0].outside)):
        speed = m_s(cones[0].pitch[p], entering)
        verdict.holds(speed <= num(stage.belt_speed) * a_hair, f"{stage.key}: the belt runs {float(speed):.6g} m/s")
    for cone, rpm in zip(cones, (entering, entering * ratio), strict=True):
        for size, source, sheet in zip(cone.outside, cone.sources, cone.sheets, strict=True):
            speed = m_s(size, rpm) * num(machine.idle[cone.shaft])
            verdict.agrees("rim speed", sheet["rim_speed_m_s"], speed, 1e-6)
            most = num(rim_speed(machine, cone.side, source))
            verdict.holds(speed <= most * a_hair, f"{cone.key}: a rim runs {float(speed):.6g} m/s")


def _note_widths(
    machine: Machine, stage: Stage, cones: tuple[Cone, Cone], said: tuple[Sheet, dict[str, float]], verdict: Verdict
) -> None:
    """Add what the cones take along their shafts, having verified that grooves and walls find room."""
    sheet, widths = said
    width = float(sheet["step_width_mm"])
    needed = max(needed_pitch(machine, c.side, list(c.datum), "turned" in c.sources) for c in cones)
    verdict.holds(width >= needed - 1e-6, f"{stage.key}: steps {width:.6g} mm wide, {needed:.6g} needed")
    layer = machine.making["layer"]
    kept = [c.side.pitch for c in cones if c.side.pitch is not None]
    if kept:
        verdict.agrees("step width", sheet["step_width_mm"], max(kept), 1e-6)
    elif machine.making["step_pitch"] == "layers":
        verdict.agrees("step width in layers", sheet["step_width_mm"] / layer, ceil(width / float(layer) - 1e-6), 1e-6)
    elif machine.making["step_pitch"] != "faced":
        verdict.agrees("step width", sheet["step_width_mm"], machine.making["step_pitch"], 1e-6)
    for cone in cones:
        steps = max(len(cone.outside), len(cone.side.kept))
        widths[cone.shaft] = widths.get(cone.shaft, 0.0) + steps * float(cone.side.pitch or width)
