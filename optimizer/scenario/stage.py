"""A stage: its belt, ratios that are fixed in the chain, and what is lost on the way."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import inf, isinf, prod
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field

from optimizer.catalogue.grooves import groove
from optimizer.catalogue.lines import shifts
from optimizer.errors import Fault
from optimizer.quantities import (
    ANGLE,
    LENGTH,
    NUMBER,
    RIM_SPEED,
    SHARE,
    SPEED,
    TORQUE,
    QuantityError,
    as_written,
    show_length,
)
from optimizer.scenario.belt import Belt
from optimizer.scenario.chain import slower_faults
from optimizer.scenario.side import Side
from optimizer.scenario.stated import Stated, rule
from optimizer.scenario.values import (
    LONGEST_MM,
    PRACTICE,
    SAME_MM,
    Default,
    Flag,
    Name,
    Note,
    Quantity,
    Whole,
    as_counts,
    as_pair,
    as_several,
)

__all__ = [
    "LEAST_RATIO",
    "MOST_RATIO",
    "BeltStage",
    "Budget",
    "FixedStage",
    "Stage",
    "as_ratio",
    "fixed_words",
    "other_ratio_faults",
    "passed_on",
    "ratio_words",
    "unslipped",
]

LEAST_RATIO, MOST_RATIO = 0.001, 1000.0
SAME = 1e-3
"""Ratios closer than this share are one."""
MOST_OTHERS = 12
"""Other ratios of one gear: every one takes a search."""
_TURNS = re.compile(r"\s*(\d{1,6}(?:\.\d{1,6})?)\s*:\s*(\d{1,6}(?:\.\d{1,6})?)\s*", re.ASCII)


def as_ratio(value: object) -> object:
    """Read turns in to turns out, as the trade writes reducers: `"20:1"` is 20 turns in for one out, ratio 0.05.

    `"1:20"` is written for the same reducer by some and for a step-up by others, so that it is refused; a bare number
    is driven speed over driving speed, whatever it is.

    Raises
    ------
    QuantityError
        The second number is the larger one, or either is 0.

    Examples
    --------
    >>> as_ratio("20:1"), as_ratio("7.5 : 2"), as_ratio("1:1"), as_ratio(0.05), as_ratio("0.05")
    (0.05, 0.26666666666666666, 1.0, 0.05, '0.05')
    """
    if not isinstance(value, str) or ":" not in value:
        return value
    found = _TURNS.fullmatch(value)
    turns = (float(found[1]), float(found[2])) if found else (0.0, 0.0)
    if not all(turns):
        raise QuantityError(
            "these are not turns in to turns out", as_written(value), 'two numbers above 0, as in "20:1"'
        )
    before, behind = turns
    if before < behind:
        raise QuantityError(
            "some read this as slower, some as faster",
            as_written(value),
            'turns in before turns out, as in "20:1", or driven speed over driving speed as a number',
            f'write "{behind:g}:{before:g}" where the driven shaft turns slower, {behind / before:.6g} where faster',
        )
    return behind / before


def ratio_words(ratio: float) -> str:
    """Return a ratio as papers show it, with the turns of a reducer beside it where they are short.

    Examples
    --------
    >>> ratio_words(0.05), ratio_words(2 / 15), ratio_words(1.9), ratio_words(0.3141)
    ('0.05 (20:1)', '0.133333 (7.5:1)', '1.9', '0.3141')
    """
    turns = 1 / ratio
    short = ratio < 1 and abs(turns - round(turns, 2)) < 1e-6 * turns
    return f"{ratio:.6g}" + (f" ({round(turns, 2):g}:1)" if short else "")


def fixed_words(ratio: float, reverses: bool) -> str:
    """Return what joins two shafts at a fixed ratio.

    Examples
    --------
    >>> fixed_words(1.0, False), fixed_words(0.05, False), fixed_words(0.5, True)
    ('direct coupling', 'fixed ratio 0.05 (20:1)', 'fixed ratio 0.5 (2:1), reversing')
    """
    if ratio == 1 and not reverses:
        return "direct coupling"
    return f"fixed ratio {ratio_words(ratio)}{', reversing' if reverses else ''}"


def other_ratio_faults(others: Sequence[float], ratio: float, *, switched: bool) -> Iterator[Fault]:
    """Yield what is wrong with the ratios that a gear can be had with, with places relative to its table."""
    if others and switched:
        what = "ratios to choose from stand beside ratios to engage"
        yield Fault(
            "other_ratios", what, as_written(list(others)), "one of other_ratios and slower", "leave other_ratios out"
        )
    if len(others) > MOST_OTHERS:
        yield Fault("other_ratios", "there are too many", str(len(others)), f"at most {MOST_OTHERS}")
    for index, value in enumerate(others):
        if any(abs(value / other - 1) < SAME for other in (ratio, *others[:index])):
            yield Fault(f"other_ratios[{index}]", "this ratio is stated already", f"{value:g}", "every ratio once")


MOST_POSITIONS = 6
G3 = "GOST 1284.3-96"
Positions = Annotated[int, Whole(1, MOST_POSITIONS)]
Centre = Annotated[float, Quantity(LENGTH, least=10.0, most=LONGEST_MM)]
Line = Annotated[float, Quantity(LENGTH, most=1000.0, limit=True)] | None
Ratio = Annotated[float, Quantity(NUMBER, least=LEAST_RATIO, most=MOST_RATIO), BeforeValidator(as_ratio)]
Run = Literal["open", "crossed"]
Onward = Literal["outward", "inward"]


class Budget(Stated):
    """Lines of the travel budget that the maker sets otherwise, each a length along the line of centres."""

    header: ClassVar[str] = "the budget of a [[stage]]"

    tolerance_mm: Line = Field(None, alias="tolerance")
    """For the tolerance of the belt's length."""
    stretch_mm: Line = Field(None, alias="stretch")
    """For the stretch of the belt over its life."""
    climb_mm: Line = Field(None, alias="climb")
    """For fitting the belt, or climbing it one step."""


class BeltStage(Stated):
    """Two shafts joined by one belt on facing step cones."""

    header: ClassVar[str] = "a [[stage]] with a belt"
    stand_ins: ClassVar[Mapping[str, Any]] = {
        "from": "motor",
        "to": "spindle",
        "centres": "1 m",
        "belt": "A",
        "driver": {"free": ["50 mm", "100 mm"]},
        "driven": {"free": ["50 mm", "100 mm"]},
    }

    from_shaft: Name = Field(alias="from")
    """The driving shaft."""
    to_shaft: Name = Field(alias="to")
    """The driven shaft."""
    positions: Annotated[
        tuple[Positions, ...], BeforeValidator(as_counts), Default("1, or the steps of a kept cone")
    ] = (1,)
    """Numbers of positions that may be tried."""
    centres_mm: Annotated[tuple[Centre, Centre], BeforeValidator(as_pair)] = Field(alias="centres")
    """Smallest and largest centre distance of any position."""
    travel_mm: Annotated[float, Quantity(LENGTH, most=LONGEST_MM), Default("a locked pair unless travel is stated")] = (
        Field(0.0, alias="travel")
    )
    """How far the mount lets the centre distance change; 0 is a locked pair."""
    fit_mm: Annotated[float, Quantity(LENGTH, most=5.0, limit=True), Default()] = Field(0.2, alias="fit")
    """Difference in centre distance that the belt itself forgives."""
    slip: Annotated[float, Quantity(SHARE, most=0.2), Default("belts creep about 1 %; " + PRACTICE)] = 0.01
    """Share of the speed that the belt loses."""
    wrap_deg: Annotated[float, Quantity(ANGLE, most=180.0, limit=True), Default(G3 + ", least arc of contact")] = Field(
        90.0, alias="wrap"
    )
    """Least arc of contact on either pulley."""
    clearance_mm: Annotated[float, Quantity(LENGTH, most=1000.0, limit=True), Default()] = Field(
        10.0, alias="clearance"
    )
    """Least gap between facing rims."""
    run: Annotated[Run, Default()] = "open"
    """Whether the belt runs open, or crossed, which turns the driven shaft the other way."""
    slackened: Note = ""
    """How the belt of a locked pair is slackened, or what takes it up where its mount follows another belt."""
    onward: Onward = "outward"
    """Whether the steps follow the slowest position's away from the motor's body, or inward, toward it."""
    belt: Belt
    """The belt, or its section alone."""
    driver: Side
    """Diameters that the pulling side may have."""
    driven: Side
    """Diameters that the pulled side may have."""
    budget: Budget = Field(default_factory=Budget)
    """Lines of the travel budget that are set otherwise."""
    belt_speed_m_s: Annotated[float, Quantity(RIM_SPEED, most=100.0, above=True, limit=True), Default(G3)] = Field(
        30.0, alias="belt_speed"
    )
    """Greatest speed of the belt."""

    @property
    def moves(self) -> bool:
        """Whether some mount changes the centre distance."""
        return self.travel_mm > 0

    @property
    def crossed(self) -> bool:
        """Whether the belt runs crossed."""
        return self.run == "crossed"

    def completed(self) -> None:
        """Take rim and line from the belt's section, and the number of positions from a kept cone."""
        section = self.belt.data
        for name in ("driver", "driven"):
            side: Side = getattr(self, name)
            side = side.filled(groove="flat" if section.kind == "flat" else "v")
            plain = side.groove != "v"
            self.__dict__[name] = side.filled(measured="outside" if plain else section.default_measured)
        places = self.driver.along_mm, self.driven.along_mm
        self.__dict__["driver"] = self.driver.filled(along_mm=places[1])
        self.__dict__["driven"] = self.driven.filled(along_mm=places[0])
        kept = [len(side.kept_mm) for side in (self.driver, self.driven) if side.kept_mm]
        self.fill(positions=(min(kept),) if kept and min(kept) <= MOST_POSITIONS else (1,))

    @rule("positions")
    def _numbers_differ(self, _: str) -> Iterator[Fault]:
        for index, count in enumerate(self.positions):
            if count in self.positions[:index]:
                yield Fault(f"positions[{index}]", "this number stands there already", str(count), "every number once")

    @rule("centres_mm")
    def _centres_rise(self, units: str) -> Iterator[Fault]:
        low, high = self.centres_mm
        if low > high:
            yield Fault(
                "centres[1]",
                "the largest centre distance is below the smallest",
                show_length(high, units),
                f"{show_length(low, units)} or more",
                "write the smaller value first",
            )

    @rule("positions", "driver.kept_mm", "driven.kept_mm")
    def _kept_cones_are_long_enough(self, _: str) -> Iterator[Fault]:
        for name, side in (("driver", self.driver), ("driven", self.driven)):
            if side.kept_mm and max(self.positions) > len(side.kept_mm):
                yield Fault(
                    f"{name}.kept",
                    f"the kept cone has fewer steps than the {max(self.positions)} positions",
                    as_written(side.kept_mm),
                    f"{max(self.positions)} steps or more",
                    f"ask for at most {len(side.kept_mm)} positions",
                )

    @rule("driver.pitch_mm", "driven.pitch_mm")
    def _facing_cones_share_a_pitch(self, units: str) -> Iterator[Fault]:
        one, other = self.driver.pitch_mm, self.driven.pitch_mm
        if one is not None and other is not None and abs(one - other) > SAME_MM:
            yield Fault(
                "driven.pitch",
                "facing cones must have one step pitch, or no belt runs in line",
                show_length(other, units),
                show_length(one, units),
            )

    @rule("belt.section", "run")
    def _may_cross(self, _: str) -> Iterator[Fault]:
        if self.crossed and self.belt.data.kind not in ("flat", "round"):
            yield Fault(
                "run",
                f"a belt of section {self.belt.section} cannot run crossed",
                '"crossed"',
                '"open"; "crossed" for flat and round belts',
                "take a round or flat belt, or leave it out",
            )

    @rule("belt.section", "driver.groove", "driven.groove")
    def _flat_belts_have_no_groove(self, _: str) -> Iterator[Fault]:
        for name, side in (("driver", self.driver), ("driven", self.driven)):
            if self.belt.data.kind == "flat" and side.groove == "v":
                yield Fault(f"{name}.groove", "a flat belt does not run in a groove", '"v"', '"flat", "crowned"')

    @rule("belt.section", "driver.groove", "driver.measured", "driven.groove", "driven.measured")
    def _pins_need_a_groove(self, _: str) -> Iterator[Fault]:
        for name, side in (("driver", self.driver), ("driven", self.driven)):
            if side.measured == "over pins" and (not self.belt.data.pins_measured or side.groove != "v"):
                rim = f"a groove of section {self.belt.section}" if side.groove == "v" else f"a {side.groove} rim"
                what = f"no gauge pins are known for {rim}"
                yield Fault(f"{name}.measured", what, '"over pins"', '"outside", "datum"', "measure over the rim")

    @rule(
        "belt.section",
        *(f"{side}.{key}" for side in ("driver", "driven") for key in ("groove", "measured", "kept_mm", "ready_mm")),
    )
    def _pulleys_have_something_under_the_groove(self, units: str) -> Iterator[Fault]:
        """Yield a fault for every pulley that exists of which the groove, or the belt's line, would leave nothing."""
        for name, side in (("driver", self.driver), ("driven", self.driven)):
            if side.measured == "over pins" and (not self.belt.data.pins_measured or side.groove != "v"):
                continue
            lines = shifts(self.belt.data, side.groove)
            cut = groove(self.belt.data, self.belt.data.smallest_datum_mm, side.groove).depth_mm
            to_rim = lines.outside_less_datum - lines.of(side.measured)
            least = max(2 * cut - to_rim, lines.of(side.measured) - lines.pitch_less_datum)
            for key, sizes in (("kept", side.kept_mm), ("ready", side.ready_mm)):
                for index, size in enumerate(sizes):
                    if size is not None and size <= least:
                        yield Fault(
                            f"{name}.{key}[{index}]",
                            f"nothing is left under the groove of section {self.belt.section}",
                            show_length(size, units),
                            f"above {show_length(least, units)} {side.measured}",
                        )

    @rule("travel_mm", "slackened", "belt.section", "belt.lengths")
    def _locked_pairs_can_be_fitted(self, _: str) -> Iterator[Fault]:
        if not self.moves and not self.belt.joined and not self.slackened:
            yield Fault(
                "travel",
                "a locked pair cannot take a belt of a set length",
                "0",
                'above 0, or belt lengths = "any"',
                "or say under slackened how this belt is slackened",
            )


class FixedStage(Stated):
    """Two shafts joined at a given ratio: gears, a reducer, a coupling."""

    header: ClassVar[str] = "a [[stage]] with a fixed ratio"
    stand_ins: ClassVar[Mapping[str, Any]] = {"from": "motor", "to": "spindle", "ratio": 1}

    from_shaft: Name = Field(alias="from")
    """The driving shaft."""
    to_shaft: Name = Field(alias="to")
    """The driven shaft."""
    ratio: Ratio
    """Speed of the driven shaft over that of the driving one, or turns in to turns out: `"20:1"` is a reducer."""
    slower: Annotated[tuple[Ratio, ...], BeforeValidator(as_several)] = ()
    """Smaller ratios that can be engaged in its place, such as a back gear's."""
    other_ratios: Annotated[tuple[Ratio, ...], BeforeValidator(as_several)] = ()
    """Ratios that it can be had with instead; each is searched too, and the result says which would suit better."""
    efficiency: Annotated[
        float,
        Quantity(SHARE, least=0.01, most=1.0),
        Default("losses left out; worm reducers often 0.5 to 0.9; " + PRACTICE),
    ] = 1.0
    """Share of the power that it passes on."""
    input_speed_rpm: Annotated[float, Quantity(SPEED, most=60_000, above=True, limit=True)] = Field(
        inf, alias="input_speed"
    )
    """Greatest speed of its driving shaft."""
    torque_nm: Annotated[float, Quantity(TORQUE, most=1e6, above=True, limit=True)] = Field(inf, alias="torque")
    """Torque that its driven shaft may give; the gear maker's service factor is yours to count."""
    peak_torque_nm: (
        Annotated[float, Quantity(TORQUE, most=1e6, above=True), Default("2 times torque; " + PRACTICE)] | None
    ) = Field(None, alias="peak_torque")
    """Torque that its driven shaft stands for a moment, as when the work jams."""
    reverses: Annotated[Flag, Default()] = False
    """Whether the driven shaft turns the other way."""

    @property
    def peak_nm(self) -> float:
        """Torque that its driven shaft stands for a moment: stated, or twice what it permits."""
        return 2 * self.torque_nm if self.peak_torque_nm is None else self.peak_torque_nm

    @rule("torque_nm", "peak_torque_nm")
    def _peak_is_no_less(self, _: str) -> Iterator[Fault]:
        if self.peak_torque_nm is not None and self.peak_torque_nm < self.torque_nm:
            allowed = "torque beside it" if isinf(self.torque_nm) else f"{self.torque_nm:g} N m or more"
            what = "a gear stands for a moment no less than what it permits for good"
            yield Fault("peak_torque", what, f"{self.peak_torque_nm:g} N m", allowed)

    @property
    def direct(self) -> bool:
        """Whether it is a coupling: both shafts turn as one."""
        return self.ratio == 1 and not self.reverses and not self.slower

    @rule("ratio", "slower", "other_ratios")
    def _other_ratios_differ(self, _: str) -> Iterator[Fault]:
        yield from other_ratio_faults(self.other_ratios, self.ratio, switched=bool(self.slower))

    @rule("ratio", "slower")
    def _slower_ratios_are_smaller(self, _: str) -> Iterator[Fault]:
        yield from slower_faults(self.slower, self.ratio, lambda ratio: f"{ratio:g}")


Stage = BeltStage | FixedStage


def passed_on(chain: Sequence[BeltStage | FixedStage], first: int = 0, last: int | None = None) -> float:
    """Return the share of the power that fixed stages pass on, those of a run of the chain.

    Losses of belts and bearings are not counted: a belt loses speed by its slip, which is, and a few per cent more.

    Parameters
    ----------
    chain
        All stages, motor first.
    first, last
        The first stage that counts, the first that does not; all to the spindle where no last one is given.

    Examples
    --------
    >>> gears = FixedStage(from_shaft="motor", to_shaft="worm", ratio=0.1, efficiency=0.8)
    >>> more = FixedStage(from_shaft="worm", to_shaft="spindle", ratio=0.5, efficiency=0.95)
    >>> passed_on((gears, more)), passed_on((gears, more), 1)
    (0.76, 0.95)
    """
    return prod(stage.efficiency for stage in chain[first:last] if isinstance(stage, FixedStage))


def unslipped(stages: Iterable[BeltStage | FixedStage]) -> float:
    """Return how many times as fast the shaft behind some stages turns where no belt slips, ``Π 1/(1 − s)``.

    Parameters
    ----------
    stages
        All stages between the motor and that shaft; fixed ones slip never.

    Examples
    --------
    >>> unslipped([FixedStage(from_shaft="motor", to_shaft="spindle", ratio=0.1)])
    1.0
    """
    return 1 / prod(1 - stage.slip for stage in stages if isinstance(stage, BeltStage))
