"""What the speed on a motor's plate tells of its poles, of the mains, and of its speed without load."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Plate", "field_speed", "fields_above_rpm", "idle_speed_rpm", "plate_of"]

POLES = (2, 4, 6, 8)
MAINS_HZ = (50, 60)
FULL_LOAD = (0.85, 0.995)
"""Full-load speed of an induction motor as a share of the field's speed; small ones slip most, a six-pole
0.09 kW motor runs at 850 of 1000 rpm; from memory."""


class Plate(NamedTuple):
    """The motor that a full-load speed belongs to."""

    mains_hz: int
    poles: int
    field_rpm: float
    """Speed of the field, `120 · Hz / poles`, which a motor under load never reaches."""


def plate_of(speed_rpm: float) -> Plate | None:
    """Return the motor that a full-load speed belongs to, the one of least slip; nothing where none does,
    or where it is the speed of a field.

    Examples
    --------
    >>> plate_of(1420), plate_of(1725)
    (Plate(mains_hz=50, poles=4, field_rpm=1500.0), Plate(mains_hz=60, poles=4, field_rpm=1800.0))
    >>> plate_of(1500) is None, plate_of(4000) is None
    (True, True)
    """
    if field_speed(speed_rpm) is not None:
        return None
    low, high = FULL_LOAD
    fits = [plate for plate in _plates() if low * plate.field_rpm <= speed_rpm <= high * plate.field_rpm]
    return min(fits, key=lambda plate: plate.field_rpm, default=None)


def field_speed(speed_rpm: float) -> Plate | None:
    """Return the motor whose field turns at this speed, within what a full-load speed is never nearer to.

    Examples
    --------
    >>> field_speed(1800), field_speed(1725) is None
    (Plate(mains_hz=60, poles=4, field_rpm=1800.0), True)
    """
    share = 1 - FULL_LOAD[1]
    return next((plate for plate in _plates() if abs(speed_rpm / plate.field_rpm - 1) < share), None)


def fields_above_rpm(speed_rpm: float) -> tuple[float, ...]:
    """Return the speeds of the fields behind which a motor may turn at this speed at full load, least first.

    Examples
    --------
    >>> fields_above_rpm(1420), fields_above_rpm(880), fields_above_rpm(4000), fields_above_rpm(1500)
    ((1500.0,), (900.0, 1000.0), (), ())
    """
    fields = {plate.field_rpm for plate in _plates()}
    return tuple(sorted(field for field in fields if FULL_LOAD[0] * field <= speed_rpm < field))


def idle_speed_rpm(speed_rpm: float) -> float | None:
    """Return the speed of an induction motor without load, nearly that of its field; nothing where it can be none.

    Where the speed may belong to two fields the faster one counts, as what bursts is held to it.

    Examples
    --------
    >>> idle_speed_rpm(1420), idle_speed_rpm(1725), idle_speed_rpm(3000), idle_speed_rpm(880), idle_speed_rpm(4000)
    (1500.0, 1800.0, 3000.0, 1000.0, None)
    """
    turning = field_speed(speed_rpm)
    fields = list(fields_above_rpm(speed_rpm))
    if turning is not None:
        fields.append(max(turning.field_rpm, speed_rpm))
    return max(fields, default=None)


def _plates() -> tuple[Plate, ...]:
    return tuple(Plate(hz, poles, 120.0 * hz / poles) for hz in MAINS_HZ for poles in POLES)
