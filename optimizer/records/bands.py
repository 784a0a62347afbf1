"""Which band a speed counts in, with what belts must carry there."""

from __future__ import annotations

from math import log

from optimizer.records.problem import BandTarget, Targets

__all__ = ["LOG_TOLERANCE", "counts", "least_power_kw", "limits_grip", "must_carry_kw"]

LOG_TOLERANCE = 1e-9
"""How far speeds and ratios may pass a limit before it counts as broken, as a natural logarithm."""


def counts(band: BandTarget, speed_rpm: float) -> bool:
    """Tell whether a speed counts in a band; an edge speed counts in the upper of two bands only.

    Examples
    --------
    >>> band = BandTarget(name="middle", low_rpm=450, high_rpm=900)
    >>> counts(band, 450.0), counts(band, 900.0)
    (True, False)
    """
    value = log(speed_rpm)
    edge = LOG_TOLERANCE if band.top else -LOG_TOLERANCE
    return log(band.low_rpm) - LOG_TOLERANCE <= value <= log(band.high_rpm) + edge


def limits_grip(targets: Targets) -> bool:
    """Tell whether grip is a limit at any speed.

    Examples
    --------
    >>> limits_grip(Targets(bands=(), lo_rpm=100, hi_rpm=400, power_kw=0.75))
    False
    """
    asked = [band.power_kw * max(band.least_grip, targets.least_grip) for band in targets.bands]
    return max([targets.power_kw * targets.least_grip, *asked]) > 0


def must_carry_kw(targets: Targets, speed_rpm: float) -> float:
    """Return the power [kW] that every belt must carry at a spindle speed, duty included; 0 where it is not known.

    In several bands it is the greatest of theirs.

    Examples
    --------
    >>> rough = BandTarget(name="rough", low_rpm=100, high_rpm=400, power_kw=0.5)
    >>> targets = Targets(bands=(rough,), lo_rpm=100, hi_rpm=400, power_kw=0.75)
    >>> must_carry_kw(targets, 200), must_carry_kw(targets, 500)
    (0.5, 0.75)
    """
    within = [band.power_kw for band in targets.bands if counts(band, speed_rpm)]
    return max(within, default=targets.power_kw)


def least_power_kw(targets: Targets, speed_rpm: float) -> float:
    """Return the power [kW] below which a belt breaks a limit of grip at a spindle speed.

    Examples
    --------
    >>> rough = BandTarget(name="rough", low_rpm=100, high_rpm=400, power_kw=0.5, least_grip=1.0)
    >>> targets = Targets(bands=(rough,), lo_rpm=100, hi_rpm=400, power_kw=0.75, least_grip=0.8)
    >>> least_power_kw(targets, 200), round(least_power_kw(targets, 500), 9)
    (0.5, 0.6)
    """
    within = [band for band in targets.bands if counts(band, speed_rpm)]
    if not within:
        return targets.power_kw * targets.least_grip
    return max(band.power_kw * max(band.least_grip, targets.least_grip) for band in within)
