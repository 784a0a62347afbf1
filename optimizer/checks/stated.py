"""The machine as the scenario states it, read apart from the search."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import product
from math import atan2, isnan, log, nan, pi, prod, sqrt
from typing import NamedTuple, TypeVar, cast

from optimizer.catalogue.entry import Section
from optimizer.catalogue.grooves import groove
from optimizer.catalogue.lines import pitch_length_mm, shifts
from optimizer.catalogue.sections import section
from optimizer.quantities.digits import meaningful
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.plate import Plate, PlateRules, Way, chosen_plate
from optimizer.records.problem import BandTarget
from optimizer.scenario import Band, BeltStage, FixedStage, Scenario, Shaft, Side
from optimizer.scenario.chain import MOTOR

__all__ = [
    "EDGE",
    "Cone",
    "Machine",
    "Pair",
    "band_edges",
    "both_speeds",
    "counts_between",
    "length_at_mm",
    "own_centre_mm",
    "read_machine",
    "wanted_bands",
    "wraps_deg",
]

T = TypeVar("T")

EDGE = 1e-9


def band_edges(band: Band, bands: tuple[Band, ...], ends: float) -> tuple[float, float, bool]:
    """Return a band's edges, the outermost widened, with whether the upper edge counts."""
    bottom, top = min(b.from_rpm for b in bands), max(b.to_rpm for b in bands)
    low = band.from_rpm / (1 + ends) if band.from_rpm == bottom else band.from_rpm
    closed = band.to_rpm == top
    return low, band.to_rpm * (1 + ends) if closed else band.to_rpm, closed


def counts_between(rpm: float, low: float, high: float, closed: bool) -> bool:
    """Tell whether a speed counts between two edges; an edge speed counts in the upper band."""
    if rpm < low * (1 - EDGE):
        return False
    return rpm <= high * (1 + EDGE) if closed else rpm < high * (1 - EDGE)


def wanted_bands(scenario: Scenario) -> tuple[BandTarget, ...]:
    """Return what a plate must keep of every band: its edges, with the number of speeds wanted."""
    found = []
    for band in scenario.bands:
        low, high, closed = band_edges(band, scenario.bands, scenario.series.ends)
        found.append(BandTarget(name=band.name, low_rpm=low, high_rpm=high, top=closed, want=band.want))
    return tuple(found)


HALVINGS = 200
"""More than enough to bring any interval down to neighbouring floats."""


def length_at_mm(driver_mm: float, driven_mm: float, centre_mm: float, crossed: bool) -> float:
    """Return the length of a taut belt along its pitch line [mm].

    ``L = 2·t + π·(R + r) + 2·s·arctan(s/t)`` with the free span ``t = sqrt(C² − s²)`` and ``s = R − r`` for
    an open belt, ``R + r`` for a crossed one.

    Examples
    --------
    U. C. Jindal, Machine Design, example 20-3, p. 567, prints 6.0733 m:

    >>> round(length_at_mm(200, 600, 2400, crossed=False), 1)
    6073.3
    """
    half_sum = (driver_mm + driven_mm) / 2
    offset = half_sum if crossed else abs(driver_mm - driven_mm) / 2
    span = sqrt(max((centre_mm - offset) * (centre_mm + offset), 0.0))
    return 2 * span + pi * half_sum + 2 * offset * atan2(offset, span)


def own_centre_mm(driver_mm: float, driven_mm: float, length_mm: float, crossed: bool) -> float:
    """Return the centre distance at which a belt is just taut, not a number where there is none [mm].

    The length grows with the centre distance and is at least twice of it, so the answer lies between the
    least centre distance the pulleys allow and half the length; the interval is halved until it cannot be.

    Examples
    --------
    T. H. Wentzell, Machine Design (2007), example 14.2, p. 310, prints 19.12 in:

    >>> round(own_centre_mm(4, 6, 54, crossed=False), 2)
    19.12
    """
    low = (driver_mm + driven_mm) / 2 if crossed else abs(driver_mm - driven_mm) / 2
    high = length_mm / 2
    if low > high or length_at_mm(driver_mm, driven_mm, low, crossed) > length_mm:
        return nan
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if not low < middle < high:
            break
        if length_at_mm(driver_mm, driven_mm, middle, crossed) < length_mm:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def wraps_deg(driver_mm: float, driven_mm: float, centre_mm: float, crossed: bool) -> tuple[float, float]:
    """Return the arcs of contact on driver and driven [degrees].

    Examples
    --------
    >>> [round(arc, 3) for arc in wraps_deg(4, 6, 19.12, crossed=False)]
    [174.004, 185.996]
    """
    offset = (driver_mm + driven_mm) / 2 if crossed else (driver_mm - driven_mm) / 2
    span = sqrt(max((centre_mm - offset) * (centre_mm + offset), 0.0))
    lean = 2 * atan2(offset, span) * 180 / pi
    return 180 + lean, 180 + (lean if crossed else -lean)


SAME_SHARE = 1e-4
"""Speeds nearer than this are one."""


@dataclass(frozen=True)
class Cone:
    """One side of a belt stage with its final diameters, positions from the slowest."""

    key: str
    """Place in the scenario, such as `stage[0].driver`."""
    side: Side
    shaft: Shaft
    section: Section
    outside_mm: tuple[float, ...]
    turned: tuple[bool, ...]

    @property
    def positions(self) -> int:
        """Number of steps."""
        return len(self.outside_mm)

    @cached_property
    def datum_mm(self) -> tuple[float, ...]:
        """Datum diameter of every step."""
        shift = shifts(self.section, self.side.groove).outside_less_datum
        return tuple(size - shift for size in self.outside_mm)

    @cached_property
    def pitch_mm(self) -> tuple[float, ...]:
        """Pitch diameter of every step."""
        return tuple(size + self.section.pitch_shift_mm for size in self.datum_mm)

    @cached_property
    def given_less_outside_mm(self) -> float:
        """What is added to an outside diameter to get the one the maker measures."""
        lines = shifts(self.section, self.side.groove)
        return lines.of(self.side.measured) - lines.outside_less_datum

    @cached_property
    def root_mm(self) -> tuple[float, ...]:
        """Diameter at the bottom of every step's groove."""
        return tuple(
            outside - 2 * groove(self.section, datum, self.side.groove).depth_mm
            for outside, datum in zip(self.outside_mm, self.datum_mm, strict=True)
        )

    @cached_property
    def top_width_mm(self) -> float:
        """Width at the rim of the widest groove."""
        return max(groove(self.section, size, self.side.groove).top_width_mm for size in self.datum_mm)


@dataclass(frozen=True)
class Pair:
    """One belt stage as built."""

    key: str
    """Place in the scenario, such as `stage[0]`."""
    stage: BeltStage
    built: BuiltStage
    section: Section
    driver: Cone
    driven: Cone
    entering_rpm: float
    """Greatest speed of the driver's shaft under full load."""
    idle_rpm: float
    """Greatest speed of the driver's shaft without load."""
    before: Pair | None = None
    """The stage whose driven cone this stage's driver is; nothing where it has a driver of its own."""
    facing: tuple[Cone, ...] = ()
    """All cones that face each other step by step, where those are more than its own two."""

    @property
    def cones(self) -> tuple[Cone, ...]:
        """Its cones, without a driver that the stage before has already."""
        return (self.driver, self.driven) if self.before is None else (self.driven,)

    @property
    def faced(self) -> tuple[Cone, ...]:
        """The cones that must have one step pitch."""
        return self.facing or (self.driver, self.driven)

    @property
    def crossed(self) -> bool:
        """Whether the belt is crossed."""
        return self.stage.crossed

    @property
    def positions(self) -> range:
        """Places of the positions, from 0."""
        return range(self.driver.positions)

    def place(self, position: int) -> str:
        """Return the name of a position, counted from 1."""
        return f"{self.key}, position {position + 1}" if self.driver.positions > 1 else self.key

    @cached_property
    def length_mm(self) -> float:
        """Length of the belt along its pitch line."""
        return pitch_length_mm(self.section, self.built.datum_length_mm)

    @cached_property
    def centres_mm(self) -> tuple[float, ...]:
        """Every position's own centre distance, not a number where the belt does not go round."""
        return tuple(
            own_centre_mm(driver, driven, self.length_mm, self.crossed)
            for driver, driven in zip(self.driver.pitch_mm, self.driven.pitch_mm, strict=True)
        )

    @property
    def fits(self) -> bool:
        """Whether the belt goes round at every position."""
        return not any(map(isnan, self.centres_mm))

    @cached_property
    def ratios(self) -> tuple[float, ...]:
        """Speed of the driven over that of the driver at every position, slip included."""
        return tuple(
            driver / driven * (1 - self.stage.slip)
            for driver, driven in zip(self.driver.pitch_mm, self.driven.pitch_mm, strict=True)
        )


class MadeSpeed(NamedTuple):
    """A spindle speed with how it is made."""

    rpm: float
    positions: tuple[int, ...]
    """Of every belt, from 0."""
    settings: tuple[int, ...]
    """Of every switch, from 0, the slowest."""


@dataclass(frozen=True)
class Machine:
    """A whole machine as built."""

    scenario: Scenario
    pairs: tuple[Pair, ...]
    gain: float
    """Product of the fixed ratios, of each the greatest."""
    fastest_rpm: tuple[tuple[str, float], ...]
    """Greatest speed of every shaft under full load, the motor's first."""
    idle_rpm: tuple[tuple[str, float], ...]
    """Greatest speed of every shaft without load, the motor turning as fast as its field, no belt slipping."""
    known: dict[str, object] = field(default_factory=dict, compare=False, repr=False)
    """What several checks ask of the machine and is worked out once, by the name of what works it out."""

    @property
    def built(self) -> BuiltMachine:
        """Return its outside diameters with the belts."""
        return BuiltMachine(stages=tuple(pair.built for pair in self.pairs))

    def once(self, name: str, work_out: Callable[[], T]) -> T:
        """Return what is known by a name, worked out where it is not known yet."""
        if name not in self.known:
            self.known[name] = work_out()
        return cast(T, self.known[name])

    @cached_property
    def speeds(self) -> tuple[MadeSpeed, ...]:
        """Every spindle speed, slowest first; one with several ways by the way that is shown.

        That is the first of their settings and positions; where speeds are free, as the plate has it.
        """
        found: dict[int, list[MadeSpeed]] = {}
        for place, speed in self.ways:
            found.setdefault(place, []).append(speed)
        if self.plate is None:
            return tuple(min(alike, key=lambda speed: (speed.settings, speed.positions)) for alike in found.values())
        shown = {speed.position for speed in self.plate.speeds}
        return tuple(next((s for s in alike if s.positions in shown), alike[0]) for alike in found.values())

    @cached_property
    def plate(self) -> Plate | None:
        """What stands on the plate where speeds are free; nothing where they make a series, all of which does."""
        if not self.scenario.free:
            return None
        ways = [Way(log(speed.rpm), self._two(speed), *self._ease(speed)) for _, speed in self.ways]
        return chosen_plate(ways, PlateRules(wanted_bands(self.scenario), self.scenario.series.distinct))

    @cached_property
    def shown(self) -> tuple[MadeSpeed, ...]:
        """The speeds on the plate: all of them, but where they are free."""
        if self.plate is None:
            return self.speeds
        places = {speed.position for speed in self.plate.speeds}
        return tuple(speed for speed in self.speeds if speed.positions in places)

    def can_be(self, chosen: tuple[int, ...]) -> bool:
        """Tell whether belts can lie on these positions together: not on one step of a cone that they share.

        The second belt's slowest position is on the step of the first one's fastest.
        """
        if not self.scenario.shared_cone:
            return True
        first, second = chosen
        return first + second != self.pairs[0].driver.positions - 1

    @staticmethod
    def _two(speed: MadeSpeed) -> tuple[int, int]:
        first, second = speed.positions
        return first, second

    def _ease(self, speed: MadeSpeed) -> tuple[float, float]:
        """Return the smallest arc of contact [°] and pulley [mm] of a way of making a speed."""
        wraps: list[float] = []
        pulleys: list[float] = []
        for pair, p in zip(self.pairs, speed.positions, strict=True):
            sizes = pair.driver.pitch_mm[p], pair.driven.pitch_mm[p]
            own = pair.centres_mm[p]
            wraps.append(0.0 if isnan(own) else min(wraps_deg(*sizes, own, pair.crossed)))
            pulleys += sizes
        return min(wraps), min(pulleys)

    @cached_property
    def ways(self) -> tuple[tuple[int, MadeSpeed], ...]:
        """Every way of making a speed with its place in the series; near ones are one where the maker lets them be.

        They always are where speeds are free.
        """
        near = 1 + self.scenario.series.distinct if self.scenario.series.shared or self.scenario.free else 1.0
        found: list[tuple[int, MadeSpeed]] = []
        first = 0.0
        for speed in self._every:
            begins = not found or speed.rpm >= first * near * (1 - EDGE)
            first = speed.rpm if begins else first
            found.append((found[-1][0] + begins if found else 0, speed))
        return tuple(found)

    @cached_property
    def _every(self) -> tuple[MadeSpeed, ...]:
        """Every way of making a speed, slowest first."""
        base = self.scenario.motor.speed_rpm * self.gain
        switches = self.scenario.switches
        return tuple(
            sorted(
                MadeSpeed(
                    base
                    * prod(pair.ratios[p] for pair, p in zip(self.pairs, chosen, strict=True))
                    * self.share(settings),
                    chosen,
                    settings,
                )
                for chosen in product(*(pair.positions for pair in self.pairs))
                if self.can_be(chosen)
                for settings in product(*(range(len(switch.values)) for switch in switches))
            )
        )

    def idle(self, speed: MadeSpeed) -> float:
        """Return how fast the spindle turns without load where it turns at a speed under full load [rpm].

        Every setting of the motor gains its own.
        """
        motor = self.scenario.motor
        own = motor.idle_gains[speed.settings[0] if motor.slower_rpm else 0] / motor.idle_gain
        return speed.rpm * own * self.idle_rpm[-1][1] / self.fastest_rpm[-1][1]

    def idles_fastest(self, speeds: Iterable[MadeSpeed]) -> MadeSpeed:
        """Return the one of some speeds at which the spindle turns fastest without load."""
        return max(speeds, key=lambda speed: meaningful(self.idle(speed)))

    def setting_rpm(self, speed: MadeSpeed) -> float:
        """Return the motor's full-load speed as it is switched at a spindle speed."""
        motor = self.scenario.motor
        return motor.settings[speed.settings[0]][0] if motor.slower_rpm else motor.speed_rpm

    def motor_kw(self, settings: tuple[int, ...]) -> float | None:
        """Return the motor's rated power at a setting of the switches; nothing where none is stated."""
        motor = self.scenario.motor
        return motor.settings[settings[0]][1] if motor.slower_rpm else motor.power_kw

    def share(self, settings: tuple[int, ...], before: BeltStage | None = None) -> float:
        """Return what the settings of the switches make of a speed, of those alone that come before a stage."""
        chain = self.scenario.chain
        end = len(chain) if before is None else next(i for i, stage in enumerate(chain) if stage is before)
        return prod(
            switch.values[setting] / switch.values[-1]
            for switch, setting in zip(self.scenario.switches, settings, strict=True)
            if switch.before <= end
        )


def read_machine(scenario: Scenario, built: BuiltMachine) -> Machine:
    """Return the statements beside the diameters.

    Raises
    ------
    ValueError
        The machine does not have the belt stages of the scenario.
    """
    by_key = {stage.key: stage for stage in built.stages}
    pairs: list[Pair] = []
    rpm, gain = scenario.motor.speed_rpm, 1.0
    free = rpm * scenario.motor.idle_gain
    fastest, idle = [(MOTOR, rpm)], [(MOTOR, free)]
    for stage in scenario.chain:
        if isinstance(stage, FixedStage):
            rpm, free, gain = rpm * stage.ratio, free * stage.ratio, gain * stage.ratio
        else:
            pair = _pair(scenario, stage, by_key, (rpm, free))
            pairs.append(pair)
            rpm *= max(pair.ratios)
            free *= max(pair.ratios) / (1 - stage.slip)
        fastest.append((stage.to_shaft, rpm))
        idle.append((stage.to_shaft, free))
    if len(pairs) != len(built.stages):
        raise ValueError("the machine has belt stages that the scenario has not")
    return Machine(scenario, _sharing(pairs), gain, tuple(fastest), tuple(idle))


def _sharing(pairs: list[Pair]) -> tuple[Pair, ...]:
    """Return the stages, those that share a cone knowing of each other.

    Raises
    ------
    ValueError
        The steps of a shared cone differ between its belts.
    """
    if not any(pair.stage.driver.shared for pair in pairs):
        return tuple(pairs)
    one, other = pairs
    if one.driven.outside_mm != other.driver.outside_mm[::-1]:
        raise ValueError(f"{other.driver.key} is not the cone that {one.key} drives")
    facing = (one.driver, one.driven, other.driven)
    one = replace(one, facing=facing)
    return one, replace(other, facing=facing, before=one)


def _pair(scenario: Scenario, stage: BeltStage, by_key: dict[str, BuiltStage], rpm: tuple[float, float]) -> Pair:
    key = scenario.place_of(stage)
    if key not in by_key:
        raise ValueError(f"the machine has no sizes for {key}")
    built = by_key[key]
    belt = section(built.section)
    shafts = scenario.shaft(stage.from_shaft), scenario.shaft(stage.to_shaft)
    driver = Cone(f"{key}.driver", stage.driver, shafts[0], belt, built.driver_outside_mm, built.driver_turned)
    driven = Cone(f"{key}.driven", stage.driven, shafts[1], belt, built.driven_outside_mm, built.driven_turned)
    if driver.positions != driven.positions:
        raise ValueError(f"{key}: the two cones have different numbers of steps")
    return Pair(key, stage, built, belt, driver, driven, *rpm)


def both_speeds(idle_rpm: float, loaded_rpm: float) -> str:
    """Return the speed that a limit of what bursts is held to, beside the one under full load where they differ.

    Examples
    --------
    >>> both_speeds(1515.2, 1420.0), both_speeds(1400.0, 1400.0)
    ('1515 rpm without load, 1420 rpm under full load', '1400 rpm')
    """
    if abs(idle_rpm / loaded_rpm - 1) < SAME_SHARE:
        return f"{idle_rpm:.0f} rpm"
    return f"{idle_rpm:.0f} rpm without load, {loaded_rpm:.0f} rpm under full load"
