"""Random machines, stated around a drive that works: seeded, in millimetres, centimetres, or inches.

Each comes with the drive it was stated around, so that a design can be held against it, and so that "no design" can be
held against it too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from math import ceil, exp, floor, log, pi, prod
from random import Random

from tests.independent.drives import Bench, Drive, Half, draw_drive
from tests.independent.random_drawer import in_hand

__all__ = ["RandomMachine", "random_known_machine", "random_machine"]

F = Fraction
INCH = F("25.4")
MOTORS = ((1420, "0.75 kW"), (1725, "1 hp"), (2850, "0.55 kW"), (3450, "0.5 hp"), (960, "0.37 kW"), (1140, "1/2 hp"))
MM = {"mm": F(1), "cm": F(10), "in": INCH}
FRAMED = (9, 11, 14, 19, 24, 28, 38, INCH / 2)
"""Shafts of usual motors [mm], IEC 60072, NEMA MG 1."""
UNIT_OF = ("mm", "mm", "mm", "mm", "in", "in", "in", "cm")


@dataclass(frozen=True)
class RandomMachine:
    """A scenario with the drive that it was stated around."""

    seed: int
    text: str
    drives: tuple[Drive, ...]
    """The belt stages of a machine that does what is wanted, but for limits that were drawn tight."""


@dataclass
class Draft:
    """What a machine is put together from."""

    rng: Random
    units: str
    bench: Bench
    drives: list[Drive]
    motor_rpm: int
    power: str
    gear: tuple[int, Fraction] | None
    """A fixed ratio before the belt of this number, where there is one."""
    speeds: list[float]
    hard: bool
    """Whether limits are drawn so tight that there may be no design."""
    known: bool = False
    """Whether nothing is left to design."""
    plate: Random = field(default_factory=Random)
    """What the motor's plate and stand are drawn by, so that all else stays as it was without them."""

    def length(self, mm: Fraction) -> str:
        """Write a length in one of the ways that makers do."""
        bare = mm / MM[self.units]
        inches = mm / INCH
        if self.units == "in" or (not _decimal(bare) and 64 % inches.denominator == 0):
            if 64 % inches.denominator == 0:
                whole, rest = divmod(inches, 1)
                if self.units == "in" and rest == 0 and self.rng.random() < 0.5:
                    return str(whole)
                shop = f"{whole} {rest}" if rest and whole else f"{rest or whole}"
                return f'"{shop} in"' if self.units != "in" or self.rng.random() < 0.5 else f'"{shop}"'
            if not _decimal(bare):
                return f'"{_plain(mm)} mm"'
        return _plain(bare) if self.rng.random() < 0.9 else f'"{_plain(mm)} mm"'


def random_machine(seed: int) -> RandomMachine:
    """Return the machine of a seed, the same for ever as long as this file and `drives` stay."""
    rng = Random(f"machine {seed}")
    while True:
        draft = _draft(rng)
        if draft is not None:
            draft.plate = Random(f"plate of machine {seed}")
            return RandomMachine(seed, _text(draft), tuple(draft.drives))


def random_known_machine(seed: int) -> str:
    """Return the scenario of a fully known machine: cones that exist, one belt a stage that may not quite fit."""
    rng = Random(f"known machine {seed}")
    while True:
        draft = _draft(rng)
        if draft is not None and all(_made_known(rng, drive) for drive in draft.drives):
            draft.known, draft.plate = True, Random(f"plate of known machine {seed}")
            return _text(draft)


def _made_known(rng: Random, drive: Drive) -> bool:
    """Make both cones of a drive ones that exist, one step now and then other than it was; tell whether that can be."""
    drive.lengths, drive.length_measured = (F(round(drive.length * 10), 10),), "datum"
    for half in drive.halves:
        half.kind, half.stands = "kept", [True] * len(half.sizes)
        if rng.random() < 0.3:
            half.sizes[rng.randrange(len(half.sizes))] += F(
                rng.choice(["0.5", "1", "2", "-0.5", "-1", "-3", "5", "-15"])
            )
        rises = [b - a for a, b in pairwise(half.sizes)]
        if any(a * b < 0 for a in rises for b in rises) or min(half.sizes) < 6:
            return False
    return True


def _draft(rng: Random) -> Draft | None:
    units = rng.choice(UNIT_OF)
    inches = units == "in"
    tick = INCH / rng.choice([16, 16, 32, 32]) if inches else F(rng.choice(["0.5", "0.5", "0.5", "1", "1", "0.25"]))
    grid = INCH / rng.choice([2, 4, 4]) if inches else F(rng.choice(["5", "5", "10", "4", "2.5"]))
    rise = rng.choice([tick, tick, tick, 2 * tick, 4 * tick, F(0)])
    bench = Bench(inches, tick, grid, rise)
    layout = rng.choice(
        [(1,), (2,), (3,), (3,), (4,), (4,), (5,), (1, 3), (2, 2), (2, 3), (3, 2), (2, 4), (1, 4), (3, 3)]
    )
    count = prod(layout)
    log_phi = log(rng.uniform(1.13, 1.6 if count <= 5 else 1.4))
    offsets = _offsets(rng, layout)
    drives = []
    for row in offsets:
        span = log_phi * row[-1]
        drive = draw_drive(rng, bench, row, log_phi, exp(rng.uniform(-1.3, 0.8) * (1 if span < 1 else 0.4)))
        if drive is None:
            return None
        drives.append(drive)
    gear = (rng.randint(0, 1), F(rng.choice(["0.5", "0.75", "1.25", "0.4"]))) if rng.random() < 0.12 else None
    motor_rpm, power = rng.choice(MOTORS)
    base = motor_rpm * float(gear[1] if gear else 1)
    speeds = sorted(
        base * prod(drive.ratios[p] for drive, p in zip(drives, chosen, strict=True)) for chosen in _all(layout)
    )
    draft = Draft(rng, units, bench, drives, motor_rpm, power, gear, speeds, rng.random() < 0.2)
    even = all(1.06 < b / a < 2.2 for a, b in pairwise(speeds))
    return draft if even and speeds[0] > 25 and speeds[-1] < 9000 and _slow_enough(draft) else None


def _all(layout: Sequence[int]) -> list[tuple[int, ...]]:
    rows: list[tuple[int, ...]] = [()]
    for count in layout:
        rows = [(*row, p) for row in rows for p in range(count)]
    return rows


def _offsets(rng: Random, layout: tuple[int, ...]) -> list[tuple[int, ...]]:
    if len(layout) == 1:
        return [tuple(range(layout[0]))]
    first, second = layout
    if rng.random() < 0.5:
        return [tuple(range(first)), tuple(first * k for k in range(second))]
    return [tuple(second * k for k in range(first)), tuple(range(second))]


def _slow_enough(draft: Draft) -> bool:
    """Tell whether belts run below 28 m/s and rims below 31."""
    rpm = float(draft.motor_rpm)
    for number, drive in enumerate(draft.drives):
        rpm *= float(draft.gear[1]) if draft.gear and draft.gear[0] == number else 1
        leaving = rpm * max(drive.ratios)
        belt = max(a for a, _ in drive.pitch) * rpm
        rims = max(max(a for a, _ in drive.outside) * rpm, max(b for _, b in drive.outside) * leaving)
        if pi * belt / 60_000 > 28 or pi * rims / 60_000 > 31:
            return False
        rpm = leaving
    return True


def _into_gear(draft: Draft) -> int:
    """Return a limit of the speed into the gear, a little above what the drawn machine makes of it."""
    assert draft.gear is not None
    fastest = draft.motor_rpm * prod(max(drive.ratios) for drive in draft.drives[: draft.gear[0]])
    return ceil(fastest * (1.01 if draft.hard else 1.25))


def _text(draft: Draft) -> str:
    """Write the scenario."""
    rng, w = draft.rng, draft.length
    lines = [f'title = "Random machine {rng.randint(1, 9999)}"', f'units = "{draft.units}"', ""]
    speed = f'"{draft.motor_rpm} rpm"' if rng.random() < 0.5 else str(draft.motor_rpm)
    lines += ["[motor]", f"speed = {speed}"]
    lines += [f'power = "{draft.power}"'] * (rng.random() < 0.3)
    motor_end = len(lines)
    lines += [""]
    lines += [] if draft.known else [*_bands(draft), *_series(draft), *_making(draft)]
    names = _shaft_names(draft)
    stages = []
    hubs: dict[str, Fraction] = {}
    moved: set[str] = set()
    for number, drive in enumerate(draft.drives):
        ends = names[number]
        stages += _stage(draft, number, ends, moved)
        for half, shaft in zip(drive.halves, ends, strict=True):
            hubs[shaft] = min(hubs.get(shaft, F(10_000)), _hub_room(drive, half))
    if draft.gear:
        at = draft.gear[0]
        start = names[at - 1][1] if at else "motor"
        end = names[at][0] if at < len(names) else "spindle"
        stages += ["[[stage]]", f'from = "{start}"', f'to = "{end}"', f"ratio = {_plain(draft.gear[1])}"]
        stages += [f"input_speed = {_into_gear(draft)}", ""]
    framed = False
    for shaft in dict.fromkeys(name for ends in names for name in ends):
        own = [f'mount = "{rng.choice(["slide", "hinge"])}"'] * (shaft in moved)
        if rng.random() < 0.35 and hubs[shaft] > 12:
            size = F(floor(min(hubs[shaft], F(38)) * F(rng.uniform(0.5, 1.0)))) if not draft.bench.inches else INCH / 2
            own.append(f"diameter = {w(size)}")
            framed |= shaft == "motor" and size in FRAMED
        if rng.random() < 0.25:
            own.append(f"room = {w(F(500))}")
        if own or shaft not in ("motor", "spindle"):
            lines += ["[[shaft]]", f'name = "{shaft}"', *own, ""]
    lines[motor_end:motor_end] = _plate(draft, framed)
    there = [] if draft.known else in_hand(rng, w, draft.drives)
    return "\n".join([*lines, *there, *stages])


def _plate(draft: Draft, framed: bool) -> list[str]:
    """Write what else is known of the motor: its speed without load, its frame, what it stands on."""
    rng = draft.plate
    lines = [f"idle = {ceil(draft.motor_rpm * rng.uniform(1.0, 1.08))}"] * (rng.random() < 0.25)
    if rng.random() < 0.15:
        framed = True
        lines.append(f'frame = "{rng.choice(["NEMA 48", "NEMA 56"] if draft.bench.inches else ["IEC 80", "IEC 90"])}"')
    if framed and rng.random() < 0.5:
        lines.append(f"plate = {rng.choice(['true', 'false'])}")
    return lines


def _shaft_names(draft: Draft) -> list[tuple[str, str]]:
    """Return the two shafts of every belt, with one more where a gear stands between."""
    count = len(draft.drives)
    at = draft.gear[0] if draft.gear else -1
    names = []
    start = "motor" if at != 0 else "jackshaft"
    for number in range(count):
        last = number == count - 1
        end = "spindle" if last and at != count else f"shaft {number + 1}"
        names.append((start, end))
        start = "geared shaft" if at == number + 1 else end
    return names


def _hub_room(drive: Drive, half: Half) -> Fraction:
    """Return the largest hub that leaves 4 mm of timber twice under the smallest step."""
    if not half.turned:
        return F(10_000)
    outside = min(half.sizes) - half.shift + half.rim
    return outside - 2 * drive.section.depth(half.groove) - 8


def _bands(draft: Draft) -> list[str]:
    """Write bands around the speeds, each wanting at most what lies in it."""
    rng, speeds = draft.rng, draft.speeds
    nice = 5 if speeds[0] > 300 else 1

    def near(rpm: float) -> int:
        return nice * round(rpm / nice)

    bottom, top = near(speeds[0] * exp(rng.uniform(-0.02, 0.02))), near(speeds[-1] * exp(rng.uniform(-0.02, 0.02)))
    if len(speeds) == 1 or bottom >= top:
        bottom, top = near(speeds[0] * 0.85), near(speeds[-1] / 0.85)
    between = [near((a * b) ** 0.5) for a, b in pairwise(speeds)]
    cuts = sorted(rng.sample(between, min(len(between), rng.choice([0, 0, 1, 1, 2]))))
    edges = [bottom, *cuts, top]
    lines = []
    for number, (low, high) in enumerate(pairwise(edges)):
        inside = sum(low / 1.02 <= n < high if number == 0 else low <= n <= high * 1.02 for n in speeds)
        want = max(1, inside - rng.choice([0, 0, 1]))
        wide = rng.random() < 0.1 and number + 2 < len(edges)
        lines += ["[[band]]", f'name = "band {number + 1}"', f"from = {low}"]
        lines += [f"to = {near(high * 1.05) if wide else high}", f"want = {want}", ""]
    return lines


def _series(draft: Draft) -> list[str]:
    rng = draft.rng
    lines = []
    if rng.random() < 0.25:
        lines.append(f"never_above = {ceil(draft.speeds[-1] * rng.uniform(0.97 if draft.hard else 1.0, 1.2))}")
    if rng.random() < 0.15:
        lines.append(f"ends = {rng.choice(['0.01', '0.05', '0.02'])}")
    if rng.random() < 0.15:
        lines.append(f"distinct = {rng.choice(['0.03', '0.05', '0'])}")
    if draft.hard or rng.random() < 0.15:
        lines.append(f"end_miss = {rng.choice(['0.005', '0.01', '0.02'] if draft.hard else ['0.05', '0.2', '0.08'])}")
    if draft.hard or rng.random() < 0.15:
        lines.append(f"unevenness = {rng.choice(['0.003', '0.01', '0.02'] if draft.hard else ['0.05', '0.2', '0.15'])}")
    if rng.random() < 0.15:
        lines += [f"end_weight = {rng.choice(['0.5', '2', '0.25'])}"]
    if rng.random() < 0.1:
        lines += [f"unevenness_weight = {rng.choice(['0.5', '3', '0'])}"]
    return ["[series]", *lines, ""] if lines else []


def _making(draft: Draft) -> list[str]:
    rng, w, bench = draft.rng, draft.length, draft.bench
    lines = [f"turn_to = {w(bench.tick)}", f"grid = {w(bench.grid)}"]
    if bench.rise != bench.tick:
        lines.append(f"rise = {w(bench.rise)}")
    if rng.random() < 0.3:
        largest = max(max(a, b) for drive in draft.drives for a, b in drive.outside)
        blank = F(ceil(largest + 4 + rng.uniform(0, 30)))
        smallest_discs = [min(_discs(half)) for drive in draft.drives for half in drive.halves if "blanks" in half.kind]
        lines.append(f"largest_blank = {w(max([blank, *smallest_discs]))}")
    if rng.random() < 0.2:
        lines.append(f"layer = {w(F('17.7') if not bench.inches else INCH * 3 / 4)}")
    if rng.random() < 0.15:
        lines.append(f"wall = {w(F(3))}")
    return ["[making]", *lines, ""]


def _stage(draft: Draft, number: int, ends: tuple[str, str], moved: set[str]) -> list[str]:
    rng, w, drive = draft.rng, draft.length, draft.drives[number]
    spread = max(drive.centres) - min(drive.centres)
    lines = ["[[stage]]", f'from = "{ends[0]}"', f'to = "{ends[1]}"']
    count = len(drive.offsets)
    tried = (
        [count, rng.choice([c for c in (1, 2, 3, 4) if c != count])] if rng.random() < 0.1 and count > 1 else [count]
    )
    if any("kept" in kind for kind in drive.kinds):
        tried = [count]
    lines.append(f"positions = {sorted(tried) if len(tried) > 1 else count}")
    turned = all(half.turned for half in drive.halves)
    # behind a geared jackshaft the shaft between two belts is moved for the first of them, so that the second must give
    geared = number > 0 and draft.gear is not None and draft.gear[0] == 0
    locked = turned and drive.lengths == "any" and not geared and rng.random() < 0.35
    room = rng.choice([0, 3, 10, 30])
    low, high = floor(min(drive.centres) - room), ceil(max(drive.centres) + rng.choice([0, 3, 10, 30]))
    lines.append(f"centres = [{w(F(low))}, {w(F(high))}]")
    if locked:
        lines.append(f"fit = {w(F(rng.choice(['0.2', '0.5', '1'])))}")
    else:
        moved.add(ends[0] if number == 0 and ends[0] == "motor" else ends[1])
        lines += _travel(draft, drive, spread)
    lines.append(f"slip = {_plain(drive.slip)}")
    lines += ['run = "crossed"'] * drive.crossed
    lines.append(f"belt = {_belt(draft, drive)}")
    rpm = draft.motor_rpm * 1.0
    for before in draft.drives[:number]:
        rpm *= max(before.ratios)
    if draft.gear and draft.gear[0] <= number:
        rpm *= float(draft.gear[1])
    fastest = (rpm, rpm * max(drive.ratios))
    for name, half, at, speed in zip(("driver", "driven"), drive.halves, (0, 1), fastest, strict=True):
        rim = pi * max(pair[at] for pair in drive.outside) * speed / 60_000
        lines.append(f"{name} = {_side(draft, drive, half, rim > 18)}")
    return [*lines, ""]


def _travel(draft: Draft, drive: Drive, spread: float) -> list[str]:
    """Write travel that leaves a window as wide as the drive needs, or sometimes a narrower one."""
    rng, w = draft.rng, draft.length
    length, tolerance = float(drive.length), 0.0
    if drive.lengths != "any":
        tolerance = 20.4 if isinstance(drive.lengths, str) else 0.005 * length
    lines = tolerance + 0.034 * length + float(drive.section.height)
    said = []
    if rng.random() < 0.3:
        tolerance, climb = rng.choice([2, 5]), rng.choice([8, 12])
        lines = tolerance + 0.025 * length + climb
        said = [f"budget = {{ tolerance = {w(F(tolerance))}, climb = {w(F(climb))} }}"]
    enough = 1.0 if rng.random() < 0.75 and not draft.hard else rng.uniform(0.1, 0.9)
    spare = rng.uniform(0, 2 if draft.hard else 12)
    return [f"travel = {w(F(ceil(lines + spread * enough + spare)))}", *said]


def _belt(draft: Draft, drive: Drive) -> str:
    rng, w = draft.rng, draft.length
    parts = [f'section = "{drive.section_name}"']
    if isinstance(drive.lengths, tuple):
        parts.append(f"lengths = [{', '.join(w(length) for length in drive.lengths)}]")
        parts.append(f'measured = "{drive.length_measured}"')
    else:
        parts.append(f'lengths = "{drive.lengths}"')
        near = F(floor(drive.length) - rng.choice([1, 20, 60])), F(ceil(drive.length) + rng.choice([1, 20, 60]))
        parts += [f"shortest = {w(near[0])}", f"longest = {w(near[1])}"] * (drive.lengths == "any")
    return "{ " + ", ".join(parts) + " }"


def _side(draft: Draft, drive: Drive, half: Half, metal: bool) -> str:
    rng, w, bench = draft.rng, draft.length, draft.bench
    parts: list[str] = []
    step = INCH / 4 if bench.inches else F(10)
    if "kept" in half.kind and half.turned:
        steps = [w(size) if stands else '"open"' for size, stands in zip(half.sizes, half.stands, strict=True)]
        steps += ['"open"'] * all(half.stands)
        parts.append(f"kept = [{', '.join(steps)}]")
    elif half.kind == "kept":
        extra = [max(half.sizes) + step] * (not draft.known and rng.random() < 0.3)
        sizes = half.sizes + extra if half is drive.halves[0] else extra + half.sizes
        if not draft.known and rng.random() < 0.3:
            parts.append("reversible = true")
            sizes = sizes[::-1] if rng.random() < 0.5 else sizes
        parts.append(f"kept = [{', '.join(w(size) for size in sizes)}]")
    if "ready" in half.kind:
        more = {max(half.sizes) + step, min(half.sizes) + step / 2}
        own = [size for size in half.sizes if "hand" not in half.kind or rng.random() < 0.5]
        sizes = sorted({*own, *rng.sample(sorted(more), 1 if not own else rng.randint(0, 2))})
        parts.append(f"ready = [{', '.join(w(size) for size in sizes)}]")
    if "free" in half.kind:
        low = half.start if half.start else min(half.sizes) - bench.tick
        top = max(half.sizes) + bench.tick * rng.randint(0, 30)
        parts.append(f"free = [{w(min(low, min(half.sizes)))}, {w(max(top, low + bench.grid))}]")
    parts += ["sheaves_in_hand = true"] * ("hand" in half.kind)
    parts += ["discs_in_hand = true"] * ("discs" in half.kind)
    if "blanks" in half.kind:
        parts.append(f"blanks = [{', '.join(w(disc) for disc in _discs(half))}]")
    parts.append(f'measured = "{half.measured}"')
    if half.groove != "v":
        parts.append(f'groove = "{half.groove}"')
    if metal and (half.turned or "kept" in half.kind):
        parts.append('material = "metal"')
    return "{ " + ", ".join(parts) + " }"


def _discs(half: Half) -> list[Fraction]:
    """Return discs that the steps of a cone can be turned from, and one larger, ascending."""
    needed = [size - half.shift + half.rim + 4 for size in half.sizes]
    return sorted({F(ceil(need / 10) * 10) for need in needed} | {F(ceil(max(needed) / 10) * 10 + 20)})


def _decimal(value: Fraction) -> bool:
    """Tell whether a number ends within twelve decimals."""
    return (value * 10**12).denominator == 1


def _plain(value: Fraction) -> str:
    """Write a number as a decimal."""
    text = f"{float(value):.12f}".rstrip("0").rstrip(".")
    return text or "0"
