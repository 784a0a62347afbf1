"""A metal band saw stated by the speed of its blade, in metres and in feet a minute; its figures are invented."""

from __future__ import annotations

from tests.jobs import HOSTILE

__all__ = ["BAND_SAW", "INCH_SAW", "SAWS"]

BAND_SAW = """\
title = "Metal band saw, tool room"
units = "mm"

[motor]
speed = "1390 rpm"
power = "0.37 kW"

[[band]]
name = "tool steel"
work = 300                    # the wheel that the blade runs on
of = "blade"
surface_speed = ["25 m/min", "50 m/min"]
want = 2

[[band]]
name = "mild steel and brass"
work = 300
of = "blade"
surface_speed = ["50 m/min", "100 m/min"]
want = 2

[[shaft]]
name = "motor"
diameter = 15
mount = "slide"

[[shaft]]
name = "worm"
diameter = 20

[[stage]]
from = "motor"
to = "worm"
positions = 4
centres = [250, 350]
travel = 60
belt = "A"
driver = { free = [70, 170], material = "metal" }
driven = { free = [65, 170], material = "metal" }

[[stage]]
from = "worm"
to = "spindle"
ratio = 0.04
"""
"""25 to 100 m/min on 300 mm are 26.526 to 106.103 rpm: 25 000 / (pi * 300), 100 000 / (pi * 300)."""

INCH_SAW = (
    BAND_SAW.replace('units = "mm"', 'units = "in"')
    .replace("work = 300 ", "work = 12 ")
    .replace("work = 300\n", "work = 12\n")
    .replace('["25 m/min", "50 m/min"]', '["80 ft/min", "160 fpm"]')
    .replace('["50 m/min", "100 m/min"]', '["160 sfm", "320 sfm"]')
    .replace("diameter = 15", 'diameter = "19/32"')
    .replace("diameter = 20", 'diameter = "3/4"')
    .replace("centres = [250, 350]", "centres = [10, 14]")
    .replace("travel = 60", 'travel = "2 1/2"')
    .replace("[70, 170]", '["2 3/4", "6 3/4"]')
    .replace("[65, 170]", '["2 1/2", "6 3/4"]')
    .replace("[[shaft]]", '[making]\nturn_to = "1/64"\n\n[[shaft]]', 1)
)
"""80 to 320 ft/min on 12 in are 25.465 to 101.859 rpm: 80 / (pi * 1), 320 / (pi * 1), as 12 in are 1 ft."""
TWO_WHEELS = BAND_SAW.replace("work = 300\n", "work = 280\n").replace('50 m/min", "100', '50 m/min", "95')
SAWS = {
    "metric saw": BAND_SAW,
    "inch saw": INCH_SAW,
    "saw of two wheels": TWO_WHEELS,
    "hostile saw": TWO_WHEELS.replace("mild steel and brass", HOSTILE).replace("Metal band saw, tool room", HOSTILE),
}
"""Saws whose bands are stated by the speed of the blade."""
