"""Bands told by surface speeds that do not hold together."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, Broken, broken

__all__ = ["SURFACES"]

EDGES = "from = 700\nto = 2800\n"


def bad(name: str, lines: str, *faults: str) -> Broken:
    """Return the machine with other lines in place of the edges of its band."""
    return broken(name, ONE, [(EDGES, lines + "\n")], *faults)


SURFACES: tuple[Broken, ...] = (
    bad(
        "band without ends",
        "",
        "band[0]: no span of speeds is stated; allowed: from and to, or work and surface_speed; try: add from and to "
        'in rpm, or work = 150 and surface_speed = ["10 m/s", "20 m/s"], from which they follow',
    ),
    bad(
        "sizes without a surface speed",
        "work = 200",
        "band[0]: no span of speeds is stated; allowed: from and to, or work and surface_speed; try: add from and to "
        'in rpm, or surface_speed = ["10 m/s", "20 m/s"] beside work',
    ),
    bad(
        "surface speeds of nothing",
        'surface_speed = ["25 m/min", "100 m/min"]',
        "band[0]: no span of speeds is stated; allowed: from and to, or work and surface_speed; try: add from and to "
        "in rpm, or work beside surface_speed, the diameter that is to run so fast",
    ),
    bad(
        "a band with a start alone",
        "from = 700",
        'band[0].to: this is missing; try: add to in rpm, or work = 150 and surface_speed = ["10 m/s", "20 m/s"], '
        "from which they follow",
    ),
    bad(
        "one surface speed on one wheel",
        'work = 200\nof = "blade"\nsurface_speed = "25 m/min"',
        'band[0].surface_speed: one surface speed on one diameter is a single speed, and no band; got "25 m/min"; '
        'allowed: [least, greatest]; try: write two, such as surface_speed = ["10 m/s", "20 m/s"], or two diameters '
        "as work",
    ),
    bad(
        "sizes and surface speeds upside down",
        'work = [300, 200]\nsurface_speed = ["100 m/min", "25 m/min"]',
        "band[0].work[1]: the second value is below the first; got 200; allowed: 300 mm or more; try: write it first",
        'band[0].surface_speed[1]: the second value is below the first; got "25 m/min"; allowed: 100 m/min or more; '
        "try: write it first",
    ),
    bad(
        "a wheel of nothing that does not move",
        'work = 0\nsurface_speed = [0, "100 m/min"]',
        "band[0].work: this is too small; got 0; allowed: 0.1 mm to 5000 mm; try: check the unit: a bare number is in "
        "mm here",
        "band[0].surface_speed[0]: this must be above 0; got 0; allowed: above 0 m/s up to 300 m/s",
    ),
    bad(
        "faster than any shaft turns",
        'work = 0.5\nsurface_speed = ["10 m/s", "20 m/s"]',
        'band[0].surface_speed: so fast on so small a diameter is 763944 rpm; got ["10 m/s", "20 m/s"]; '
        "allowed: at most 60000 rpm; try: check the units of work and surface_speed",
    ),
    bad(
        "a start above the end that follows",
        'from = 200\nwork = 200\nsurface_speed = ["25 m/min", "100 m/min"]',
        "band[0].to: the band ends at or below its start; got 159.2 rpm; allowed: above 200 rpm; try: state from and "
        "to both, or neither: one follows from surface_speed",
    ),
    bad(
        "a wheel marked below what is wanted of it",
        'work = 200\nof = "wheel"\nsurface_speed = ["25 m/s", "30 m/s"]\nsurface_limit = "20 m/s"',
        'band[0].surface_limit: what is marked is below the least speed that is wanted; got "20 m/s"; allowed: above '
        "25 m/s; try: want less, or take one that is marked for more",
    ),
    bad(
        "a wheel marked below what is wanted of it, in rpm",
        'from = 700\nto = 2800\nwork = 200\nsurface_speed = "1500 m/min"\nsurface_limit = "20 m/s"',
        'band[0].surface_limit: what is marked is below the least speed that is wanted; got "20 m/s"; allowed: '
        "1500 m/min or more; try: want less, or take one that is marked for more",
    ),
    bad(
        "a wheel with no diameter",
        'from = 700\nto = 2800\nof = "wheel"',
        'band[0].of: no diameter is stated; got "wheel"; allowed: work beside it; try: add work, its diameter',
    ),
    bad(
        "something that is none of the four",
        'from = 700\nto = 2800\nwork = 200\nof = "blades"',
        'band[0].of: this is none of the words allowed here; got "blades"; allowed: "work", "tool", "wheel" or '
        '"blade"; try: did you mean "blade"?',
    ),
    bad(
        "a field that the program keeps for itself",
        'work = 200\nsurface_speed = ["25 m/min", "100 m/min"]\nsurface_unit = "m/min"',
        'band[0].surface_unit: there is no such key; got "m/min"; allowed: carry, from, name, of, surface_limit, '
        "surface_speed, to, want, work, work_power; try: did you mean surface_limit?",
    ),
)
