"""Bands told by the speed along a surface: the spindle speeds they come to, their faults, their words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf, pi
from typing import TYPE_CHECKING, Any, Literal

from optimizer.errors import Fault
from optimizer.quantities import RIM_SPEED, SurfaceUnit, show_length, show_rpm, surface_figure, written_unit

if TYPE_CHECKING:
    from optimizer.scenario.band import Band

__all__ = [
    "Of",
    "edge_faults",
    "edges_rpm",
    "limit_faults",
    "marked_rpm",
    "show_surface",
    "shown_unit",
    "span_words",
    "with_unit",
]

Of = Literal["work", "tool", "wheel", "blade"]
"""What runs as fast as the surface: round work, a tool, a wheel, or the blade that runs on a wheel."""
MOST_RPM = 60_000.0
"""No shaft of a shop machine is stated to run faster."""
EXAMPLE = 'surface_speed = ["10 m/s", "20 m/s"]'


def with_unit(data: object, *keys: str) -> object:
    """Return a table with the unit of the first of its speeds that has one, as `surface_unit`.

    Examples
    --------
    >>> with_unit({"surface_speed": [25, "100 m/min"]}, "surface_speed")
    {'surface_speed': [25, '100 m/min'], 'surface_unit': 'm/min'}
    """
    if not isinstance(data, dict):
        return data
    written = [value for key in keys for value in _each(data.get(key))]
    unit = next((unit for unit in (written_unit(value, RIM_SPEED) for value in written) if unit), None)
    return {**data, "surface_unit": unit} if unit else data


def _each(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list | tuple) else [value]


def shown_unit(units: str, *stated: SurfaceUnit | None) -> SurfaceUnit:
    """Return the first unit that was stated, else the one that goes with the lengths.

    Examples
    --------
    >>> shown_unit("mm", None, "m/min"), shown_unit("in", None), shown_unit("cm")
    ('m/min', 'ft/min', 'm/s')
    """
    return next((unit for unit in stated if unit is not None), "ft/min" if units == "in" else "m/s")


def show_surface(unit: SurfaceUnit | None) -> Callable[[float], str]:
    """Return what writes a stated speed along a surface [m/s] in a unit, m/s where none was stated."""
    known: SurfaceUnit = unit or "m/s"
    return lambda speed_m_s: f"{surface_figure(speed_m_s, known, 6)} {known}"


def edges_rpm(band: Band) -> tuple[float, float] | None:
    """Return the slowest and fastest speed that a band's surface speeds want [rpm]; nothing where they are not stated.

    `optimizer.mechanics.surface_speed.wanted_rpm`, the fastest no faster than what is marked allows on the largest.
    """
    if band.work_mm is None or band.surface_speed_m_s is None:
        return None
    from optimizer.mechanics.surface_speed import wanted_rpm  # needs numpy, which most files can be read without

    slowest, fastest = wanted_rpm(band.work_mm, band.surface_speed_m_s)
    return slowest, min(fastest, marked_rpm(band))


def marked_rpm(band: Band) -> float:
    """Return the speed at which a band's largest wheel or tool runs at what is marked on it; infinity without one."""
    if band.surface_limit_m_s is None or band.work_mm is None:
        return inf
    return band.surface_limit_m_s * 60_000 / (pi * max(band.work_mm))


def edge_faults(band: Band) -> Iterator[Fault]:
    """Yield a fault where edges are neither stated nor follow, or where those that follow are no span."""
    missing = [key for key, edge in (("from", band.from_rpm), ("to", band.to_rpm)) if edge == inf]
    if missing:
        yield from _missing_faults(band, missing)
        return
    size, speed = band.work_mm, band.surface_speed_m_s
    if not band.by_surface or size is None or speed is None or any(limit_faults(band)):
        return
    if size[0] > size[1] or speed[0] > speed[1]:
        return
    show = show_surface(band.surface_unit)
    if band.to_rpm > MOST_RPM:
        yield Fault(
            "surface_speed",
            f"so fast on so small a diameter is {show_rpm(band.to_rpm)} rpm",
            show(speed[1]),
            f"at most {MOST_RPM:g} rpm",
            "check the units of work and surface_speed",
        )
    elif band.from_rpm == band.to_rpm:
        yield Fault(
            "surface_speed",
            "one surface speed on one diameter is a single speed, and no band",
            show(speed[0]),
            "[least, greatest]",
            f"write two, such as {EXAMPLE}, or two diameters as work",
        )


def _missing_faults(band: Band, missing: list[str]) -> Iterator[Fault]:
    if band.work_mm is not None:
        other = f"{EXAMPLE} beside work"
    elif band.surface_speed_m_s is not None:
        other = "work beside surface_speed, the diameter that is to run so fast"
    else:
        other = f"work = 150 and {EXAMPLE}, from which they follow"
    if len(missing) == 2:
        allowed = "from and to, or work and surface_speed"
        advice = f"add from and to in rpm, or {other}"
        yield Fault("", "no span of speeds is stated", allowed=allowed, advice=advice)
    else:
        yield Fault(missing[0], "this is missing", advice=f"add {missing[0]} in rpm, or {other}")


def limit_faults(band: Band) -> Iterator[Fault]:
    """Yield a fault where the speed marked on a wheel or tool rules out all that is wanted of it."""
    limit, wanted = band.surface_limit_m_s, band.surface_speed_m_s
    if limit is None or wanted is None or band.work_mm is None:
        return
    follows = "to_rpm" not in band.model_fields_set
    if limit < wanted[0] or (follows and limit == wanted[0]):
        show = show_surface(band.surface_unit)
        yield Fault(
            "surface_limit",
            "what is marked is below the least speed that is wanted",
            show(limit),
            f"above {show(wanted[0])}" if follows else f"{show(wanted[0])} or more",
            "want less, or take one that is marked for more",
        )


def span_words(
    of: Of, sizes_mm: tuple[float, float], speeds_m_s: tuple[float, float], unit: SurfaceUnit, units: str
) -> str:
    """Return surface speeds wanted on diameters, as a maker says it.

    Examples
    --------
    >>> span_words("blade", (200.0, 200.0), (25 / 60, 100 / 60), "m/min", "mm")
    'blade 25 to 100 m/min on a 200 mm wheel'
    >>> span_words("work", (25.4, 101.6), (0.508, 0.508), "ft/min", "in")
    'work of 1 to 4 in at 100 ft/min'
    """
    low, high = (surface_figure(speed, unit, 6) for speed in speeds_m_s)
    speeds = f"{low if low == high else f'{low} to {high}'} {unit}"
    least, most = (show_length(size, units) for size in sizes_mm)
    sizes = least if least == most else f"{least.partition(' ')[0]} to {most}"
    if of != "blade":
        return f"{of} of {sizes} at {speeds}"
    return f"blade {speeds} on {f'wheels of {sizes}' if least != most else f'{_a(sizes)} {sizes} wheel'}"


def _a(size: str) -> str:
    """Return the article that goes with a figure."""
    whole = size.partition(" ")[0].partition(".")[0]
    return "an" if whole in ("11", "18") or whole.startswith("8") else "a"
