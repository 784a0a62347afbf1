"""Two machines of our own that the tests of the pipeline, the papers, the commands share."""

from __future__ import annotations

__all__ = ["GRINDER", "MIXER", "OLD_SAW"]

GRINDER = """
title = "Wet grinder"
units = "mm"

[motor]
speed = "1420 rpm"

[[band]]
name = "stropping"
from = 500
to = 900
want = 2

[[band]]
name = "grinding"
from = 900
to = 1700
want = 2

[making]
largest_blank = 240

[[shaft]]
name = "motor"
diameter = 26
mount = "slide"

[[stage]]
from = "motor"
to = "spindle"
positions = 4
centres = [300, 380]
travel = 90
belt = "A"
driver = { free = [75, 200] }
driven = { free = [75, 230] }
"""
"""One cone of four steps on either shaft, all turned, any stock belt."""

MIXER = """
title = "Clay mixer, =SUM(A1) in its name"
units = "in"

[motor]
speed = "1725 rpm"
turns = "clockwise"

[[band]]
name = "wedging"
from = 100
to = 220
want = 2

[[band]]
name = "slip"
from = 220
to = 700
want = 3

[making]
largest_blank = 12
turn_to = "1/32 in"
grid = "1/4 in"

[[shaft]]
name = "countershaft"
diameter = "3/4 in"
mount = "hinge"

[[shaft]]
name = "spindle"
diameter = 1
mount = "slide"

[[stage]]
from = "motor"
to = "countershaft"
positions = [1, 2]
centres = [12, 18]
travel = 4
belt = "4L"
driver = { ready = [2.5, 3, 3.5, 4], measured = "outside" }
driven = { blanks = [8, 10, 12], measured = "outside" }

[[stage]]
from = "countershaft"
to = "spindle"
positions = [3, 4]
centres = [12, 18]
travel = 4
belt = "4L"
driver = { free = [3, 8], measured = "outside" }
driven = { free = [3, 10], measured = "outside" }
"""
"""A bought cone side and blanks before a turned pair of cones, in inches."""

OLD_SAW = """
title = "Old jig saw"
units = "mm"

[motor]
speed = "1420 rpm"

[[shaft]]
name = "motor"
mount = "slide"

[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = [300, 400]
travel = 80
belt = { section = "A", lengths = [1120] }
driver = { kept = [80, 110, 140], pitch = 25 }
driven = { kept = [172, 145.5, 114.5], pitch = 25 }
"""
"""Two cones that exist, one belt: a fully known machine, no bands."""
