"""What the bands ask of the spindle speeds."""

from __future__ import annotations

from math import inf

from optimizer.mechanics.gears import torque_nm
from optimizer.records.problem import BandTarget, Targets
from optimizer.scenario import Band, FixedStage, Scenario
from optimizer.scenario.losses import passed_on

__all__ = ["band_targets", "targets_of"]


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
                driven_rpm = torque_nm(power_kw * passed_on(chain, 0, here + 1), 1.0) / stage.torque_nm
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
