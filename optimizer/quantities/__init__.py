"""Lengths, speeds, powers, angles, shares as a maker writes them."""

from optimizer.quantities.kinds import (
    ANGLE,
    COORDINATE,
    LENGTH,
    NUMBER,
    POWER,
    RIM_SPEED,
    SHARE,
    SPEED,
    Kind,
    QuantityError,
)
from optimizer.quantities.reading import (
    angle_deg,
    length_mm,
    number,
    power_kw,
    quantity,
    rim_speed_m_s,
    share,
    speed_rpm,
)
from optimizer.quantities.written import as_key, as_written, show_length

__all__ = [
    "ANGLE",
    "COORDINATE",
    "LENGTH",
    "NUMBER",
    "POWER",
    "RIM_SPEED",
    "SHARE",
    "SPEED",
    "Kind",
    "QuantityError",
    "angle_deg",
    "as_key",
    "as_written",
    "length_mm",
    "number",
    "power_kw",
    "quantity",
    "rim_speed_m_s",
    "share",
    "show_length",
    "speed_rpm",
]
