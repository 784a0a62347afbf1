"""What machines are for, with the sizes of work and the surface speeds that are usual there."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["OTHER", "PURPOSES", "Purpose", "UsualWork", "purpose_named"]

MEMORY = "from memory"
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class UsualWork:
    """Usual work of a machine: a span of sizes, or a span of speeds where the machine has no round work."""

    name: str
    sizes_mm: tuple[float, float] | None = None
    surface_m_s: tuple[float, float] | None = None
    """Where it differs from that of all work of the machine."""
    speeds_rpm: tuple[float, float] | None = None


@dataclass(frozen=True)
class Purpose:
    """What a machine is for."""

    name: str
    title: str
    """What such a machine may be called."""
    means: str
    """What the word means here."""
    work: tuple[UsualWork, ...] = ()
    surface_m_s: tuple[float, float] | None = None
    """Usual surface speeds of its work or tool."""
    surface_unit: str = "m/s"
    """Unit that such speeds are given in."""
    because: str = ""
    """Where the figures come from."""
    duty: float = 1.0
    """Duty factor: GOST 1284.3-96, read, 1.0 for lathes, drills, grinders; milling, wood saws 1.1; heavy woodworking
    1.2.
    """
    caution: str = ""
    """What must be said where the speeds of such a machine are chosen."""


OTHER = Purpose("other", "Shop machine", "anything else; speeds around the motor's own are suggested")
_WHEEL = (
    "A wheel that is run faster than the speed marked on it can burst. State the marked speed as the greatest speed, "
    "keep the guard closed."
)
PURPOSES = (
    Purpose(
        "drill",
        "Bench drill",
        "twist drills in steel and wood",
        (UsualWork("large drills", (6.0, 13.0)), UsualWork("small drills", (3.0, 6.0))),
        (20 / 60, 30 / 60),
        "m/min",
        f"20 to 30 m/min along the edge of plain twist drills in mild steel, {PRACTICE}",
    ),
    Purpose(
        "mill",
        "Bench mill",
        "end mills in metal",
        (UsualWork("large cutters", (16.0, 32.0)), UsualWork("small cutters", (6.0, 16.0))),
        (20 / 60, 30 / 60),
        "m/min",
        f"20 to 30 m/min along the edge of plain steel cutters in mild steel, {PRACTICE}",
        duty=1.1,
    ),
    Purpose(
        "shaper",
        "Bench shaper",
        "a metal shaper; speeds of the shaft before the ram's own gears",
        (UsualWork("long strokes", speeds_rpm=(300.0, 600.0)), UsualWork("short strokes", speeds_rpm=(600.0, 1200.0))),
        because="300 to 1200 rpm before the ram's own gears, judgement; the machine's own plate knows better",
    ),
    Purpose(
        "faceplate",
        "Faceplate head",
        "wood turned on a faceplate",
        (UsualWork("large work", (200.0, 400.0)), UsualWork("small work", (80.0, 200.0))),
        (8.0, 12.0),
        because=f"rim speeds of 8 to 12 m/s on sound wood that runs true, {PRACTICE}",
        caution="Rough or glued-up work starts at the slowest speed, and stays there until it runs true.",
    ),
    Purpose(
        "grinder",
        "Tool grinder",
        "a dry grinding wheel",
        (UsualWork("wheel", (150.0, 150.0)),),
        (15.0, 25.0),
        because=f"rims of vitrified wheels at 15 to 25 m/s, {MEMORY}",
        caution=_WHEEL,
    ),
    Purpose(
        "wet stone",
        "Wet grindstone",
        "a slow grindstone in water",
        (UsualWork("stone", (250.0, 250.0)),),
        (1.5, 4.0),
        because=f"rims of wet stones at 1.5 to 4 m/s, so that the water stays on, {PRACTICE}",
        caution=_WHEEL,
    ),
    Purpose(
        "polisher",
        "Polishing head",
        "polishing mops",
        (UsualWork("sisal mops", (200.0, 200.0), (14.0, 22.0)), UsualWork("cotton mops", (200.0, 200.0), (22.0, 30.0))),
        (14.0, 30.0),
        because=f"rims of sisal mops at 14 to 22 m/s, of cotton mops at 22 to 30 m/s, {PRACTICE}",
        caution=_WHEEL,
    ),
    Purpose(
        "sander",
        "Drum sander",
        "a sanding drum on wood",
        (UsualWork("drum", (120.0, 120.0)),),
        (8.0, 16.0),
        because=f"abrasive cloth on wood at 8 to 16 m/s, {PRACTICE}",
        duty=1.2,
    ),
    Purpose(
        "band saw",
        "Band saw",
        "a band saw for wood; sizes are those of its wheels",
        (UsualWork("wheels", (350.0, 350.0)),),
        (10.0, 15.0),
        because=f"blades in wood at 10 to 15 m/s on small saws, {PRACTICE}",
        duty=1.1,
        caution="No faster than the makers of the blade and of the wheels allow.",
    ),
    OTHER,
)


def purpose_named(name: str) -> Purpose:
    """Return a purpose; the one for anything else where the name is none.

    Examples
    --------
    >>> purpose_named("mill").duty, purpose_named("").name
    (1.1, 'other')
    """
    return next((purpose for purpose in PURPOSES if purpose.name == name), OTHER)
