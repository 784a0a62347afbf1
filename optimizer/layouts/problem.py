"""A layout of a scenario as plain figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf
from typing import NamedTuple

from optimizer.catalogue.lines import pitch_length_mm, shifts
from optimizer.catalogue.ratings import ratings_of
from optimizer.errors import NoDesignError
from optimizer.layouts.budget import (
    EPSILON_MM,
    Reach,
    StatedBelt,
    budget_lines,
    fit_mm,
    inward_mm,
    outward_mm,
    stated_belts,
    with_belts_in_hand,
)
from optimizer.layouts.coupling import with_couplings, within_reach
from optimizer.layouts.room import in_line, refuse_crowding, step_pitch_mm
from optimizer.layouts.sizes import (
    SideStated,
    belts_for,
    discs_of,
    least_and_most_mm,
    pieces_of,
    sheaves_for,
    side_sizes,
    turned_bounds,
    with_overhang,
)
from optimizer.mechanics.carrying import Rating
from optimizer.mechanics.shafts import torque_nm
from optimizer.records.layout import Layout
from optimizer.records.problem import BandTarget, BeltChoice, Problem, SideSizes, StageProblem, SwitchProblem, Targets
from optimizer.scenario import Band, BeltInHand, BeltStage, FixedStage, Scenario
from optimizer.scenario.chain import MOTOR
from optimizer.scenario.stage import passed_on

__all__ = ["band_targets", "belt_stages", "problem_for", "targets_of", "widths_mm"]


def band_targets(scenario: Scenario) -> tuple[BandTarget, ...]:
    """Return the bands in the order of the file, the outermost edges widened.

    The lowest edge is divided, the highest multiplied by one plus the share stated as `ends`; only a band that
    reaches the highest edge counts a speed on it, so that an inner edge speed counts once.
    """
    if not scenario.bands:
        return ()
    wide = 1 + scenario.series.ends
    lo, hi = min(band.from_rpm for band in scenario.bands), max(band.to_rpm for band in scenario.bands)
    return tuple(
        BandTarget(
            name=band.name,
            low_rpm=band.from_rpm / wide if band.from_rpm == lo else band.from_rpm,
            high_rpm=band.to_rpm * wide if band.to_rpm == hi else band.to_rpm,
            top=band.to_rpm == hi,
            want=band.want,
            power_kw=_must_kw(scenario, band) * scenario.work.duty,
            least_grip=1.0 if band.carry == "limit" else 0.0,
        )
        for band in scenario.bands
    )


def _must_kw(scenario: Scenario, band: Band) -> float:
    """Return the power that belts must carry at a band's speeds: that of its work, with what fixed stages lose.

    Where nothing is stated of the work it is the motor's, the greatest where it has several speeds with their powers.
    """
    if band.work_power_kw:
        return band.work_power_kw / passed_on(scenario.chain)
    return scenario.motor.most_power_kw or 0.0


def _least_rpm(scenario: Scenario) -> float:
    """Return the slowest speed of the spindle at which the gears behind all belts bear the motor's rated power.

    ``P·η/T`` of a gear is the least speed of its driven shaft. The slowest speed of the spindle has the slowest setting
    of everything that is switched; of a motor with several powers each setting has its own slowest speed, as many times
    as fast as the motor then is.
    """
    chain, least, behind = scenario.chain, 0.0, 1.0
    slowest_rpm = scenario.motor.settings[0][0]
    for here in range(len(chain) - 1, -1, -1):
        stage = chain[here]
        if not isinstance(stage, FixedStage):
            break
        for rpm, power_kw in scenario.motor.settings:
            if power_kw and stage.torque_nm < inf:
                driven_rpm = float(torque_nm(power_kw * passed_on(chain, 0, here + 1), 1.0)) / stage.torque_nm
                least = max(least, driven_rpm * behind * slowest_rpm / rpm)
        behind *= min((stage.ratio, *stage.slower))
    return least


def targets_of(scenario: Scenario) -> Targets:
    """Return what the speeds should be."""
    series, bands = scenario.series, scenario.bands
    hi, gain = max(band.to_rpm for band in bands), scenario.idle_gain()
    marked = (scenario.marked_rpm(band) for band in bands if band.to_rpm == hi)
    return Targets(
        bands=band_targets(scenario),
        lo_rpm=min(band.from_rpm for band in bands),
        hi_rpm=hi,
        never_above_rpm=min(series.never_above_rpm / gain, *marked),
        never_below_rpm=_least_rpm(scenario),
        idle_gain=gain,
        one_range=series.one_range,
        distinct=series.distinct,
        end_miss_most=series.end_miss,
        unevenness_most=series.unevenness,
        end_weight=series.end_weight,
        unevenness_weight=series.unevenness_weight,
        slack=series.slack,
        power_kw=(scenario.motor.most_power_kw or 0.0) * scenario.work.duty,
        least_grip=series.least_grip,
        grip_slack=series.grip_slack,
    )


def problem_for(scenario: Scenario, layout: Layout) -> Problem:
    """Return everything the search and the refinement know of one layout.

    Raises
    ------
    NoDesignError
        A stage has no size, no belt, or a shaft no room: with the limit that binds.
    """
    stages, gain = belt_stages(scenario)
    _refuse_unrated(scenario, stages)
    widths = widths_mm(layout, stages)
    refuse_crowding(scenario, widths)
    stages = in_line(scenario, layout, within_reach(scenario, stages))
    pieces = pieces_of(scenario, stages)
    whole = Problem(
        layout=layout,
        motor_rpm=scenario.motor.speed_rpm,
        stages=with_overhang(scenario, stages, widths, pieces) if pieces else tuple(stages),
        gain_out=gain,
        switches=_switches(scenario),
        targets=targets_of(scenario),
        pieces=pieces,
        discs=discs_of(scenario) if any(_takes_discs(stage) for stage in stages) else (),
    )
    return with_couplings(scenario, whole)


def belt_stages(scenario: Scenario) -> tuple[list[StageProblem], float]:
    """Return what every belt stage may be, motor first, and the fixed ratio between the last of them and the spindle.

    Raises
    ------
    NoDesignError
        A stage has no size, no belt: with the limit that binds.
    """
    if not scenario.bands:
        raise NoDesignError("no band is stated, so that no speed is wanted; add [[band]] with name, from, to")
    _refuse_fast_shafts(scenario)
    _refuse_weak_gears(scenario)
    stages: list[StageProblem] = []
    gain = 1.0
    for number, stage in enumerate(scenario.chain):
        if isinstance(stage, FixedStage):
            gain *= stage.ratio
            continue
        problem = _stage_problem(scenario, stage, gain)
        stages.append(problem.model_copy(update={"driven_rpm": _shaft_limit_rpm(scenario, number)}))
        gain = 1.0
    return stages, gain


def _switches(scenario: Scenario) -> tuple[SwitchProblem, ...]:
    belts = [isinstance(stage, BeltStage) for stage in scenario.chain]
    return tuple(
        SwitchProblem(key=switch.key, before=sum(belts[: switch.before]), shares=switch.shares)
        for switch in scenario.switches
    )


def _takes_discs(stage: StageProblem) -> bool:
    return min(stage.driver.scarce_above_mm, stage.driven.scarce_above_mm) < inf


def _stage_problem(scenario: Scenario, stage: BeltStage, gain: float) -> StageProblem:
    key, making = scenario.place_of(stage), scenario.making
    place = next(number for number, other in enumerate(scenario.chain) if other is stage)
    sides = []
    for name, side, shaft in (("driver", stage.driver, stage.from_shaft), ("driven", stage.driven, stage.to_shaft)):
        hub_mm = scenario.shaft(shaft).hub_mm or 0.0
        swing_mm = scenario.motor_swing_mm(side) if shaft == MOTOR else inf
        idle_gain = scenario.idle_gain(place + (name == "driven"))
        stated = SideStated(f"{key}.{name}", side, stage.belt.data, hub_mm, making, swing_mm=swing_mm)
        sides.append(stated._replace(idle_gain=idle_gain))
    pitch_mm = step_pitch_mm(key, stage, making, max(_most_datum_mm(stated) for stated in sides))
    driver, driven = (
        side_sizes(stated._replace(step_pitch_mm=pitch_mm, sheaves=sheaves_for(scenario, stage, stated.side, pitch_mm)))
        for stated in sides
    )
    belts = _belts(key, stage, (driver, driven), belts_for(scenario, stage))
    rims_mm = (driver.outside_shift_mm + driven.outside_shift_mm) / 2
    return StageProblem(
        key=key,
        driver=driver,
        driven=driven,
        belts=belts.choices,
        centre_mm=_own_centres_mm(stage, belts.choices),
        crossed=stage.crossed,
        slip=stage.slip,
        gain=gain,
        least_wrap_deg=stage.wrap_deg,
        clearance_mm=max(stage.clearance_mm, belts.inward_mm) + rims_mm,
        belt_speed_m_s=stage.belt_speed_m_s,
        fit_mm=stage.fit_mm,
        ratings=_ratings(stage),
    )


def _ratings(stage: BeltStage) -> tuple[Rating, ...]:
    flat_rim = stage.driver.groove != "v" or stage.driven.groove != "v"
    return ratings_of(stage.belt.data, flat_rim=flat_rim, grade=stage.belt.grade)


def _refuse_unrated(scenario: Scenario, stages: list[StageProblem]) -> None:
    """Raise if grip is a limit of a belt of which nobody says what it carries."""
    if scenario.series.least_grip == 0 and all(band.carry == "advice" for band in scenario.bands):
        return
    for stage in stages:
        if not stage.ratings:
            raise NoDesignError(
                f"{stage.key}: grip is a limit, but no source is known that tells what a belt of its section carries; "
                "take another section, or leave series.least_grip and carry out"
            )


def _own_centres_mm(stage: BeltStage, belts: tuple[BeltChoice, ...]) -> tuple[float, float]:
    """Return what the positions' own centre distances may be.

    Around a single figure they may lie half as far either way as the belt forgives: no sizes on whole ticks take a
    belt at just one figure.
    """
    low, high = stage.centres_mm
    if low < high:
        return low, high
    half = min((min(stage.fit_mm, 0.001 * belt.length_mm) for belt in belts), default=0.0) / 2
    return low - half, high + half


def widths_mm(layout: Layout, stages: Sequence[StageProblem]) -> dict[str, float]:
    """Return what every cone takes along its shaft; a kept cone sits there with all its steps."""
    return {
        side.key: max(positions, len(side.standing_mm)) * side.width_mm
        for positions, stage in zip(layout.positions, stages, strict=True)
        for side in (stage.driver, stage.driven)
    }


class Belts(NamedTuple):
    """The belts that can be used, with what fitting them asks of the mount."""

    choices: tuple[BeltChoice, ...]
    inward_mm: float
    """How far inward of the running centre distance a belt goes on, the greatest of all."""


def _belts(
    key: str,
    stage: BeltStage,
    sides: tuple[SideSizes, SideSizes],
    in_hand: Mapping[float, tuple[BeltInHand, int]],
) -> Belts:
    reach = Reach.of(least_and_most_mm(sides[0]), least_and_most_mm(sides[1]), stage.centres_mm, stage.crossed)
    section = stage.belt.data
    stated = with_belts_in_hand(stage.belt, stated_belts(stage.belt, reach), in_hand)
    within = [b for b in stated if reach.holds(pitch_length_mm(section, b.datum_length_mm))]
    if not within:
        raise NoDesignError(_no_length(key, stage, stated, reach))
    choices: list[BeltChoice] = []
    inward, missing_mm = 0.0, inf
    for belt in within:
        lines = budget_lines(stage, belt)
        left = stage.travel_mm - sum(line.amount_mm for line in lines)
        if left < -EPSILON_MM:
            missing_mm = min(missing_mm, -left)
            continue
        window_mm = left + fit_mm(stage, belt.datum_length_mm)
        length_mm = pitch_length_mm(section, belt.datum_length_mm)
        choices.append(
            BeltChoice(
                section=section.name,
                marking=belt.marking,
                length_mm=length_mm,
                window_mm=window_mm,
                in_hand=belt.in_hand,
                sold=belt.sold,
                forgives_mm=fit_mm(stage, belt.datum_length_mm),
                inward_mm=inward_mm(lines),
                outward_mm=outward_mm(lines),
            )
        )
        inward = max(inward, inward_mm(lines))
    if not choices:
        raise NoDesignError(
            f"{key}: the travel of {stage.travel_mm:.4g} mm is {missing_mm:.3g} mm too short for length tolerance, "
            f"stretch and fitting of any belt; allow more travel, or state `budget` where less is known to do"
        )
    return Belts(tuple(choices), inward)


def _no_length(key: str, stage: BeltStage, stated: tuple[StatedBelt, ...], reach: Reach) -> str:
    asked = (
        f"sizes and centre distances from {stage.centres_mm[0]:.4g} to {stage.centres_mm[1]:.4g} mm "
        f"take belts from {reach.least_mm:.4g} to {reach.most_mm:.4g} mm along the pitch line"
    )
    if not stated:
        return f"{key}: no belt has a length that is allowed; {asked}"
    lengths = [belt.datum_length_mm for belt in stated]
    return f"{key}: no belt fits: {asked}, those that can be had run from {min(lengths):.4g} to {max(lengths):.4g} mm"


def _most_datum_mm(stated: SideStated) -> float:
    side, section = stated.side, stated.section
    lines = shifts(section, side.groove)
    most = [size - lines.of(side.measured) for size in (*side.pulleys_mm, *side.kept_fixed_mm)]
    if side.turned:
        most.append(turned_bounds(stated)[1].outside_mm - lines.outside_less_datum)
    return max(most)


def _shaft_limit_rpm(scenario: Scenario, number: int) -> float:
    """Return the greatest speed of the shaft a belt stage drives, with those it drives by fixed ratios."""
    chain = scenario.chain
    limit, gain = _most_rpm(scenario, number), 1.0
    for place in range(number + 1, len(chain)):
        stage = chain[place]
        if not isinstance(stage, FixedStage):
            break
        gain *= stage.ratio
        limit = min(limit, _most_rpm(scenario, place) / gain)
    return limit


def _most_rpm(scenario: Scenario, place: int) -> float:
    """Return the greatest speed of the shaft that a stage of the chain drives, with that of a gear it leads into."""
    chain = scenario.chain
    behind = chain[place + 1] if place + 1 < len(chain) else None
    into = behind.input_speed_rpm if isinstance(behind, FixedStage) else inf
    return min(into, scenario.shaft(chain[place].to_shaft).never_above_rpm / scenario.idle_gain(place + 1))


def _refuse_weak_gears(scenario: Scenario) -> None:
    """Raise if the motor's rated power is more than a gear before all belts may pass on at its slowest."""
    slowest = 1.0
    for here, stage in enumerate(scenario.chain):
        if not isinstance(stage, FixedStage):
            return
        slowest *= min((stage.ratio, *stage.slower))
        worst = max((float(torque_nm(kw, rpm * slowest)) for rpm, kw in scenario.motor.settings if kw), default=0.0)
        torque = worst * passed_on(scenario.chain, 0, here + 1)
        if torque > stage.torque_nm * (1 + 1e-9):
            raise NoDesignError(
                f"{scenario.place_of(stage)}: the motor's rated power brings {torque:.4g} N m out of it whatever is "
                f"turned, above its torque of {stage.torque_nm:.4g} N m; take a smaller motor or a stronger gear"
            )


def _refuse_fast_shafts(scenario: Scenario) -> None:
    """Raise if a shaft that no belt comes before runs faster than it may."""
    rpm = scenario.motor.speed_rpm
    idle_gain = scenario.motor.idle_gain
    for stage in scenario.chain:
        if not isinstance(stage, FixedStage):
            return
        if rpm > stage.input_speed_rpm * (1 + 1e-9):
            raise NoDesignError(
                f"{scenario.place_of(stage)}: {stage.from_shaft} drives it at {rpm:.4g} rpm whatever is turned, above "
                f"its input_speed of {stage.input_speed_rpm:.4g} rpm"
            )
        rpm *= stage.ratio
        most = scenario.shaft(stage.to_shaft).never_above_rpm
        if rpm * idle_gain > most * (1 + 1e-9):
            raise NoDesignError(
                f"shaft {stage.to_shaft} runs at {rpm * idle_gain:.4g} rpm without load whatever is turned, above its "
                f"{most:.4g} rpm"
            )
