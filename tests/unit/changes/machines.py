"""Small machines, so made that one limit or another leaves them without a design."""

from __future__ import annotations

import json
import random
import tomllib
from collections.abc import Callable, Mapping
from typing import Any

from optimizer.records.changes import Setting, Value

__all__ = ["INCH", "KEPT", "SIEVE", "TWO_STAGES", "broken_at_random", "edited", "with_settings"]

SIEVE = """
title = "Sieve shaker"
units = "mm"
[motor]
speed = 1420
[[band]]
name = "coarse"
from = 500
to = 900
[[band]]
name = "fine"
from = 900
to = 1700
want = 2
[making]
largest_blank = 210
grid = 20
[[shaft]]
name = "motor"
diameter = 19
mount = "slide"
room = 120
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = [280, 360]
travel = 70
belt = { section = "A", lengths = [1000, 1120] }
driver = { free = [75, 200] }
driven = { free = [75, 200] }
"""
"""One cone of three steps on either shaft, all turned."""

INCH = """
title = "Bottle washer"
units = "in"
[motor]
speed = 1725
[[band]]
name = "rinsing"
from = 600
to = 1200
want = 2
[making]
largest_blank = 8
grid = "3/8"
truing = "1/4"
turn_to = "1/32"
[[shaft]]
name = "motor"
mount = "hinge"
[[stage]]
from = "motor"
to = "spindle"
positions = [2, 3]
centres = [10, 14]
travel = 3
belt = { section = "4L", lengths = "inch stock", longest = 46 }
driver = { free = ["2 1/2", 7] }
driven = { blanks = [5, 6, 7, 8] }
"""
"""Two or three steps in inches, the driven ones from discs."""

KEPT = """
title = "Glass drill"
units = "mm"
[motor]
speed = 1380
[[band]]
name = "drilling"
from = 800
to = 2400
want = 3
[making]
largest_blank = 160
[[shaft]]
name = "motor"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
centres = [200, 300]
travel = 60
belt = { section = "Z", lengths = [750, 800, 850] }
driver = { ready = [56, 63, 71, 80, 90, 100, 112, 125, 140] }
driven = { kept = [72, 87, 107, 132], pitch = 20 }
"""
"""Bought pulleys on a cone that exists."""

TWO_STAGES = """
title = "Clay roller"
units = "mm"
[motor]
speed = 1420
[[band]]
name = "slow"
from = 250
to = 450
want = 2
[[band]]
name = "fast"
from = 450
to = 900
want = 2
[making]
largest_blank = 220
grid = 30
[[shaft]]
name = "motor"
mount = "hinge"
on = "countershaft"
[[shaft]]
name = "countershaft"
diameter = 20
mount = "slide"
room = 110
[[stage]]
from = "motor"
to = "countershaft"
positions = [1, 2]
centres = [240, 320]
travel = 70
belt = { section = "A", lengths = [1000] }
driver = { ready = [80, 90, 100, 112] }
driven = { blanks = [180, 220] }
[[stage]]
from = "countershaft"
to = "spindle"
positions = 2
centres = [240, 320]
travel = 70
belt = { section = "A", lengths = [1000] }
driver = { free = [80, 200] }
driven = { free = [80, 200] }
"""
"""Two stages, the countershaft crowded."""


def edited(text: str, values: Mapping[str, Any]) -> str:
    """Return a scenario with keys set, such as `stage[0].driver.free[1]`; tables that are not there are made."""
    data = tomllib.loads(text)
    for key, value in values.items():
        _set(data, key, value)
    return "".join(f"{key} = {_written(value)}\n" for key, value in data.items())


def with_settings(text: str, settings: tuple[Setting, ...], *, short: bool = False) -> str:
    """Return a scenario with what a change says set in it, or with the values one tick short of that."""
    return edited(text, {s.key: _stated(s.short if short else s.value, s.unit) for s in settings})


def broken_at_random(seed: int) -> tuple[str, str]:
    """Return a name and a scenario with one or two limits of a small machine drawn in by a random amount."""
    draw = random.Random(seed)
    ways: dict[str, Callable[[], dict[str, Any]]] = {
        "blank": lambda: {"making.largest_blank": draw.randint(110, 150)},
        "travel": lambda: {"stage[0].travel": draw.randint(5, 40)},
        "near": lambda: {"stage[0].centres": [first := draw.randint(150, 190), first + draw.randint(0, 20)]},
        "far": lambda: {"stage[0].centres": [first := draw.randint(390, 450), first + draw.randint(0, 30)]},
        "bottom": lambda: {"band[0].from": draw.randint(150, 300)},
        "top": lambda: {"band[1].to": draw.randint(3500, 5000)},
        "wrap": lambda: {"stage[0].wrap": draw.randint(165, 179)},
        "rim": lambda: {"making.rim_speed": draw.uniform(4, 8)},
        "belt": lambda: {"stage[0].belt_speed": draw.uniform(3, 6)},
        "room": lambda: {"shaft[0].room": draw.randint(20, 60)},
        "length": lambda: {"stage[0].belt.lengths": [draw.choice((710, 800, 1400, 1600))]},
        "smallest": lambda: {"stage[0].driver.smallest": draw.randint(120, 180)},
        "even": lambda: {"series.unevenness": "0.01 %", "series.end_miss": "0.01 %"},
    }
    names = draw.sample(sorted(ways), draw.choice((1, 1, 2)))
    values: dict[str, Any] = {}
    for name in names:
        values |= ways[name]()
    return " and ".join(names), edited(SIEVE, values)


def _set(data: Any, key: str, value: Any) -> None:
    *path, last = key.replace("]", "").replace("[", ".").split(".")
    for step in path:
        if step.isdigit():
            data = data[int(step)]
            continue
        if isinstance(data.get(step), str):
            data[step] = {"section": data[step]}
        data = data.setdefault(step, {})
    if last.isdigit():
        data[int(last)] = value
    else:
        data[last] = value


def _stated(value: Value, unit: str) -> Any:
    if isinstance(value, tuple):
        return [_stated(item, unit) for item in value]
    return f"{value!r} mm" if unit == "mm" else value


def _written(value: Any) -> str:
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key} = {_written(item)}' for key, item in value.items())} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(_written, value))}]"
    if isinstance(value, bool):
        return str(value).lower()
    return json.dumps(value) if isinstance(value, str) else repr(value)
