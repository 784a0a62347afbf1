"""A machine whose swinging countershaft draws both its belts taut, in one file; its figures are invented."""

from __future__ import annotations

__all__ = ["SWINGING"]

SWINGING = """\
title = "Polishing head with a swinging countershaft"
units = "mm"

[motor]
speed = "1400 rpm"
power = "0.55 kW"

[[band]]
name = "slow"
from = 300
to = 650
want = 2

[[band]]
name = "fast"
from = 650
to = 1400
want = 2

[making]
largest_blank = 260
truing = 4
turn_to = 0.5

[[shaft]]
name = "motor"
at = [0, 0]

[[shaft]]
name = "countershaft"          # an arm hinged at the back; both belts hang from it
diameter = 20
mount = "hinge"
at = [150, 280]
hinge = { at = [450, 250] }

[[shaft]]
name = "spindle"
at = [430, 0]

[[stage]]
from = "motor"
to = "countershaft"
positions = 2
centres = [290, 345]
travel = 60
belt = { section = "A", lengths = "metric stock" }
driver = { ready = [80, 90, 100, 112, 125, 140, 150] }
driven = { free = [100, 220] }

[[stage]]
from = "countershaft"
to = "spindle"
positions = 2
centres = [360, 430]
belt = { section = "A", link = true }      # made up to what the other belt leaves it
driver = { free = [90, 200] }
driven = { free = [90, 220] }
"""
