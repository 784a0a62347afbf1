"""What weight or a spring pulls a belt to, and what remedies there are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import cos, hypot, pi, radians, sin
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.checks.carrying import BeltLoad, loads
from optimizer.checks.levers import (
    WORN,
    Levers,
    Scene,
    effort_of,
    levers_of,
    missing_weight,
    scene_for,
    senses,
    unit_efforts,
)
from optimizer.checks.stands import Stand, belts_of_mounts, followers, stands_of
from optimizer.checks.stated import Machine
from optimizer.checks.verdict import Check, Rule, Skipped, at_least, at_most
from optimizer.mechanics.hanging import balanced_strands, least_effort
from optimizer.quantities.digits import first_least
from optimizer.scenario import Shaft
from optimizer.scenario.chain import SPINDLE

__all__ = [
    "MOST_SHARE",
    "OFFSET_MM",
    "Balance",
    "Load",
    "Span",
    "balances",
    "does",
    "hanging_checks",
    "hinge_spans",
    "mass_span",
    "pull_span",
    "state_place",
]

Floats = NDArray[np.float64]
NAME = "pull of the mount"
MOST_SHARE = 2.0
"""Pull of a strand over the pretension for all that its belt carries, above which belt and bearings wear; judgement."""
ENOUGH = "statics; GOST 1284.3-96, equation 16, or friction, as for the belt's own pretension"
JUDGED = "twice the pretension for all that the belt carries there; this project's own judgement"
FLAT_OUT = 1e9
"""Ratio of pulls of a belt that would hold without a slack strand's pull."""


class Load(NamedTuple):
    """What a belt asks for in every state, one row a state; not a number where nobody says what it must carry."""

    rpm: Floats
    """Speed of the spindle."""
    difference_n: Floats
    """Tight less slack, for what it must carry, or can where that is less."""
    ratio: Floats
    """Greatest tight over slack pull."""
    press_n: Floats
    """Mean pull of both strands that just carries it, without the centrifugal one."""
    centrifugal_n: Floats
    most_n: Floats
    """Greatest mean pull of both strands, the centrifugal one included."""
    must_kw: Floats
    speed_m_s: Floats


@dataclass(frozen=True)
class Balance:
    """One mount with its own belt."""

    scene: Scene
    levers: Levers
    load: Load
    unstated: str
    """What is missing of weights or pull; nothing where all is stated."""
    at_rest: Floats
    """Effort at rest, counted the way it tightens, other belts' pulls included: N·m about a hinge, N on a slide."""
    loaded: Floats
    """The same while all belts carry."""
    rest_n: Floats
    """Pull of each strand at rest."""
    tight_n: Floats
    """Pulls while it carries, without the centrifugal one."""
    slack_n: Floats

    @property
    def locked(self) -> bool:
        """Whether a screw holds the mount where it is."""
        return self.scene.mount.locked

    @property
    def needed_slack_n(self) -> Floats:
        """Least pull of the slack strand while it carries, without the centrifugal one."""
        return self.load.press_n - self.load.difference_n / 2

    @property
    def mean_n(self) -> Floats:
        """Greatest mean pull of both strands, at rest or while it carries, the centrifugal one included."""
        moving = (self.tight_n + self.slack_n) / 2 + self.load.centrifugal_n
        return np.asarray(np.fmax(self.rest_n, moving))

    def least_effort(self) -> Floats:
        """Return the effort that the belt asks for, counted the way it tightens."""
        load = self.load
        if self.locked:
            return self.levers.both * (load.press_n + load.centrifugal_n)
        return least_effort(load.difference_n, self.levers.tight, self.levers.slack, load.ratio)

    def most_efforts(self) -> tuple[Floats, Floats]:
        """Return the greatest effort at rest, and while the belt carries, counted the way they tighten."""
        load, both = self.load, self.levers.both
        rest = both * load.most_n
        if self.locked:
            return rest, np.full_like(rest, np.inf)
        tight = -self.levers.sense * self.levers.tight
        return rest, both * (load.most_n - load.centrifugal_n) + load.difference_n * (tight - both / 2)

    def carries_kw(self) -> Floats:
        """Return the power at which the belt slips, infinite where every load tightens it by itself."""
        load, levers = self.load, self.levers
        if self.locked:
            press = np.maximum(self.rest_n - load.centrifugal_n, 0.0)
            return 2 * press * (load.ratio - 1) / (load.ratio + 1) * load.speed_m_s / 1000
        # Other belts pull while they carry what they must, so that only this one is let slip.
        tight, slack = (-levers.sense * lever for lever in (levers.tight, levers.slack))
        asked = load.ratio * tight + slack
        slips = np.maximum(self.loaded, 0.0) * (load.ratio - 1) / np.where(asked > 0, asked, 1.0)
        slips = np.where(asked > 0, slips, np.where(self.loaded > 0, np.inf, 0.0))
        slips = np.where(self.at_rest > 0, slips, 0.0)
        return np.asarray(np.where(np.isnan(load.difference_n), np.nan, slips * load.speed_m_s / 1000))


def balances(
    machine: Machine, known: tuple[BeltLoad, ...] | None = None
) -> tuple[tuple[Balance, ...], tuple[Skipped, ...]]:
    """Return the balance of every mount whose place is known, last moved first, and what is missing for the others.

    A belt that hangs loose at rest is taken to stay loose, though its load would draw it tight once it gripped. The
    mount that is moved last changes its own belt alone. Its pulls known, they act on the next mount as far as that
    has one of the belt's pulleys, and so on. A belt of which nothing tells how it is drawn is taken to pull as it must.
    What the belts carry can be given where it is `known` already.
    """
    owners, tangled = belts_of_mounts(machine)
    numbers = {pair.key: number for number, pair in enumerate(machine.pairs)}
    stands = stands_of(machine, WORN)
    belts = loads(machine) if known is None else known
    found: dict[int, Balance] = {}
    missing = [Skipped(name=NAME, where=name, why="several mounts change the same belts at once") for name in tangled]
    sharing = set(followers(machine).values())
    for key, name in reversed(owners.items()):
        if name in sharing:
            why = "its one movement draws several belts taut, and how they share its pull is not worked out"
            missing.append(Skipped(name=NAME, where=name, why=why))
            continue
        mount, number = machine.scenario.shaft(name), numbers[key]
        scene = scene_for(machine, mount, number, stands)
        if isinstance(scene, str):
            missing.append(Skipped(name=NAME, where=name, why=scene))
        else:
            found[number] = _balance(scene, found, belts)
    for shaft in machine.scenario.shafts:
        if shaft.slides and shaft.name not in (*owners.values(), *tangled):
            why = "every belt that it changes is drawn taut by another mount, or it changes none"
            missing.append(Skipped(name=NAME, where=shaft.name, why=why))
    return tuple(found.values()), tuple(missing)


def _balance(scene: Scene, known: dict[int, Balance], belts: tuple[BeltLoad, ...]) -> Balance:
    load, levers = _load(scene, scene.number, belts), levers_of(scene, scene.number)
    rest = loaded = effort_of(scene)
    for number in scene.crossing:
        if number != scene.number:
            pulls = _pulls(scene, number, known, belts)
            other = levers_of(scene, number)
            rest = rest + pulls[0] * (other.tight + other.slack)
            loaded = loaded + pulls[1] * other.tight + pulls[2] * other.slack
    loaded = loaded + _reaction(scene, belts)
    at_rest = balanced_strands(rest, levers.tight, levers.slack).tight_n
    if scene.mount.locked:
        press = np.maximum(at_rest - load.centrifugal_n, 0.0)
        slack = np.maximum(press - load.difference_n / 2, 0.0)
        tight = slack + load.difference_n
    else:
        slack = balanced_strands(loaded, levers.tight, levers.slack, load.difference_n).slack_n
        slack = np.where(at_rest > 0, slack, 0.0 * slack)
        tight = slack + load.difference_n
    sense = levers.sense
    pulls = (_finite(at_rest), _finite(tight), _finite(slack))
    return Balance(scene, levers, load, missing_weight(scene), sense * rest, sense * loaded, *pulls)


def _finite(pulls: Floats) -> Floats:
    """Return pulls with those of a dead point, which pass all bounds, as not known."""
    return np.asarray(np.where(np.isfinite(pulls), pulls, np.nan))


def _pulls(
    scene: Scene, number: int, known: dict[int, Balance], belts: tuple[BeltLoad, ...]
) -> tuple[Floats, Floats, Floats]:
    """Return the pulls of another belt at rest, tight, slack: as its own mount draws it, else as it must."""
    other = known.get(number)
    if other is not None and not other.unstated and other.scene.states == scene.states:
        return other.rest_n, other.tight_n, other.slack_n
    load = _load(scene, number, belts)
    half = load.difference_n / 2
    return load.press_n + load.centrifugal_n, load.press_n + half, load.press_n - half


def _reaction(scene: Scene, belts: tuple[BeltLoad, ...]) -> Floats:
    """Return the moment by which the work holds back a spindle that moves with the mount about its hinge [N·m]."""
    if SPINDLE not in scene.moved or scene.mount.mount != "hinge":
        return np.zeros(len(scene.states))
    load = _load(scene, len(scene.machine.pairs) - 1, belts)
    torque = np.nan_to_num(load.difference_n * load.speed_m_s) / (2 * pi * load.rpm / 60)
    return np.asarray(-senses(scene.machine)[1] * torque)


def _load(scene: Scene, number: int, belts: tuple[BeltLoad, ...]) -> Load:
    """Return what a belt asks for in every state, with the setting of the switches at which it is pressed most."""
    machine = scene.machine
    at = {load.number: load for load in belts if load.key == machine.pairs[number].key}
    rows = {index: _row(at.get(index), speed.rpm) for index, speed in enumerate(machine.speeds, 1)}
    speeds: dict[tuple[int, ...], int] = {}
    for index, speed in enumerate(machine.speeds, 1):
        known = speeds.setdefault(speed.positions, index)
        if rows[index][3] > rows[known][3]:
            speeds[speed.positions] = index
    most: dict[int, float] = {}
    for index, load in at.items():
        most[load.position] = np.fmax(most.get(load.position, np.nan), rows[index][5])
    second = {speed.positions: speed.rpm for _, speed in machine.ways}
    table = []
    for state in scene.states:
        chosen = tuple(stand.position for stand in state)
        # a second way of making a speed is on no plate, and nothing but that speed is told of it
        row = rows[speeds[chosen]] if chosen in speeds else _row(None, second[chosen])
        table.append((*row[:5], most.get(state[number].position + 1, np.nan), *row[6:]))
    return Load(*np.array(table, float).T)


def _row(load: BeltLoad | None, rpm: float) -> tuple[float, ...]:
    """Return the figures of one belt at one speed in the order of `Load`."""
    if load is None or load.pull is None:
        return (rpm, *(np.nan,) * 7)
    pull = load.pull
    power = min(load.must_kw, load.carries_kw)
    difference = 1000 * power / load.speed_m_s
    press = pull.pretension_n - pull.centrifugal_n
    slack = press - difference / 2
    ratio = min(1 + difference / slack, FLAT_OUT) if slack > 0 else FLAT_OUT
    most = MOST_SHARE * (press * load.carries_kw / power + pull.centrifugal_n)
    return (rpm, difference, ratio, press, pull.centrifugal_n, most, load.must_kw, load.speed_m_s)


def state_place(balance: Balance, row: int) -> str:
    """Return the place of a state of a mount: its belt, position, speed, worn where it is."""
    stand: Stand = balance.scene.states[row][balance.scene.number]
    worn = ", worn belt" if any(s.when == "worn out" for s in balance.scene.states[row]) else ""
    key = balance.scene.machine.pairs[balance.scene.number].key
    return f"{key}, position {stand.position + 1} at {balance.load.rpm[row]:.0f} rpm{worn}"


def hanging_checks(machine: Machine) -> Iterator[Check | Skipped]:
    """Yield, for each mount, whether its slack strand pulls enough, and whether no strand pulls too much."""
    found, missing = balances(machine)
    yield from missing
    for balance in found:
        yield from _verdict(balance)


def _verdict(balance: Balance) -> Iterator[Check | Skipped]:
    mount = balance.scene.mount
    if balance.unstated:
        yield Skipped(name=NAME, where=mount.name, why=balance.unstated)
        return
    spare = balance.slack_n - balance.needed_slack_n
    if np.all(np.isnan(spare)):
        why = "what its belt must carry is not known, or no place of the mount is one where weight sets the pull"
        yield Skipped(name=NAME, where=mount.name, why=why)
        return
    worst = first_least(spare)
    note = f"slack strand under full load, drawn by the {mount.mount} of {mount.name}; below it the belt slips"
    enough = Rule(f"{NAME}, least", "advice", float(balance.needed_slack_n[worst]), "N", ENOUGH)
    yield at_least(enough, state_place(balance, worst), float(balance.slack_n[worst]), note)
    over = balance.load.most_n - balance.mean_n
    if np.all(np.isnan(over)):
        return
    worst = first_least(over)
    note = f"mean of both strands, drawn by the {mount.mount} of {mount.name}; above it belt and bearings wear"
    most = Rule(f"{NAME}, greatest", "advice", float(balance.load.most_n[worst]), "N", JUDGED)
    yield at_most(most, state_place(balance, worst), float(balance.mean_n[worst]), note)


OFFSET_MM = 10.0
"""Distance of the places along its line at which a hinge is tried."""
FARTHEST_MM = 500.0
"""How far from its place a hinge is tried at the most; no farther than its arm is long."""


class Span(NamedTuple):
    """From the least that is enough to the most that is not too much; the least is above it where none is both."""

    least: float
    most: float

    @property
    def some(self) -> bool:
        """Whether anything is enough and not too much."""
        return self.least <= self.most


def pull_span(balance: Balance) -> Span | None:
    """Return by how much more a spring must draw the shaft [N], below 0 where it is drawn too hard already.

    About a hinge it draws square to the line from hinge to shaft, the way that tightens; along a slide, along it.
    Nothing where no state tells what the belt asks for.
    """
    return _span(balance, unit_efforts(balance.scene)[1])


def mass_span(balance: Balance) -> Span | None:
    """Return how many kilograms more must hang at the mount's centre, below 0 where it hangs too heavy already.

    Nothing on a slide, and where weight at that place would slacken the belt at some position.
    """
    effort, _ = unit_efforts(balance.scene)
    return None if effort is None else _span(balance, balance.levers.sense * effort)


def _span(balance: Balance, unit: Floats) -> Span | None:
    """Return the amounts that keep every state between enough and too much, by their effort for one."""
    known = ~np.isnan(balance.load.difference_n) & ~np.isnan(balance.rest_n)
    if not known.any() or np.any(unit[known] < 1e-6):
        return None
    rest, loaded = balance.most_efforts()
    with np.errstate(invalid="ignore"):
        start = balance.at_rest if balance.locked else balance.loaded
        least = np.fmax((balance.least_effort() - start) / unit, -balance.at_rest / unit)
        most = np.fmin((rest - balance.at_rest) / unit, (loaded - balance.loaded) / unit)
    return Span(float(np.max(least[known])), float(np.min(most[known])))


def does(balance: Balance) -> bool:
    """Tell whether a mount draws its belt enough and not too much in every state."""
    span = pull_span(balance)
    known = ~np.isnan(balance.rest_n)
    return span is not None and bool(known.all()) and span.least <= 1e-9 and span.most >= -1e-9


def hinge_spans(machine: Machine, balance: Balance) -> tuple[Span, ...]:
    """Return how far along its line the hinge could stand for all to be enough and not too much [mm].

    Places are tried every `OFFSET_MM` as far as the arm is long; everything else stays where it is, the centre of the
    mass too. Nothing for a slide, and where weight is not stated.
    """
    mount = balance.scene.mount
    if mount.hinge is None or mount.at_mm is None or balance.unstated or pull_span(balance) is None:
        return ()
    arm = hypot(mount.at_mm[0] - mount.hinge.at_mm[0], mount.at_mm[1] - mount.hinge.at_mm[1])
    steps = int(min(arm, FARTHEST_MM) // OFFSET_MM)
    belts = loads(machine)
    good = [step for step in range(-steps, steps + 1) if _would_do(machine, belts, mount, step * OFFSET_MM)]
    return tuple(Span(first * OFFSET_MM, last * OFFSET_MM) for first, last in _runs(good))


def _runs(steps: list[int]) -> Iterator[tuple[int, int]]:
    """Yield the first and last of every run of neighbouring steps."""
    for index, step in enumerate(steps):
        if index == 0 or steps[index - 1] != step - 1:
            end = next((i for i in range(index, len(steps) - 1) if steps[i + 1] != steps[i] + 1), len(steps) - 1)
            yield step, steps[end]


def _would_do(machine: Machine, belts: tuple[BeltLoad, ...], mount: Shaft, offset_mm: float) -> bool:
    """Tell whether a hinge moved along its line draws the belt enough and not too much."""
    assert mount.hinge is not None and mount.at_mm is not None
    way = radians(mount.hinge.line_deg)
    x, y = mount.hinge.at_mm[0] + offset_mm * cos(way), mount.hinge.at_mm[1] + offset_mm * sin(way)
    if hypot(x - mount.at_mm[0], y - mount.at_mm[1]) < OFFSET_MM:
        return False
    centre = mount.hinge.centre_mm or mount.at_mm
    moved = mount.model_copy(update={"hinge": mount.hinge.model_copy(update={"at_mm": (x, y), "centre_mm": centre})})
    shafts = tuple(moved if shaft.name == mount.name else shaft for shaft in machine.scenario.shafts)
    elsewhere = replace(machine, scenario=machine.scenario.model_copy(update={"shafts": shafts}))
    found = (other for other in balances(elsewhere, belts)[0] if other.scene.mount.name == mount.name)
    return any(map(does, found))
