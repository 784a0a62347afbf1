"""Cones as they are cut, for tests of their drawings: those of every machine, and kinds that no shipped machine has."""

from __future__ import annotations

from functools import cache

from optimizer.cuts.cones import CutCone, CutStep, cut_cones
from optimizer.drawing.sheet import Circle, Line, Point, Polyline, Sheet, Text
from optimizer.pipeline.job import Job
from tests.jobs import DIFFERENT, HOSTILE, JOBS, job, job_from

__all__ = ["CONES", "TURNED", "axis_of", "cone_of", "grooved_step", "loops", "placed", "rings", "texts_of"]

KINDS = """title = "{title}"
units = "{units}"
[motor]
speed = 1400
[[band]]
name = "all"
from = 600
to = 2000
want = 3
[series]
end_miss = 0.5
unevenness = 0.5
[making]
layer = "6 mm"
grid = "10 mm"
turn_to = "1 mm"
step_pitch = "layers"
[[shaft]]
name = "motor"
diameter = "14 mm"
hub = "20 mm"
mount = "slide"
[[shaft]]
name = "spindle"
diameter = "14 mm"
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = ["200 mm", "400 mm"]
travel = "100 mm"
belt = {{ section = "{section}", lengths = ["900 mm"] }}
driver = {{ {driver}{groove} }}
driven = {{ {driven} }}
"""
"""A small machine with any belt."""
KEPT = ('kept = ["75 mm", "90 mm", "105 mm"]', 'kept = ["120 mm", "106 mm", "91 mm"]')
FREE = ('free = ["60 mm", "140 mm"]', 'free = ["60 mm", "140 mm"]')
OTHERS = {
    "ribbed": KINDS.format(title="Ribs", units="mm", section="PJ 6", driver=FREE[0], groove="", driven=FREE[1]),
    "ribbed inch": KINDS.format(title="Ribs", units="in", section="PJ 4", driver=FREE[0], groove="", driven=FREE[1]),
    "round": KINDS.format(title="Cord", units="mm", section="round 8", driver=FREE[0], groove="", driven=FREE[1]),
    "thin cord": KINDS.format(title="Cord", units="in", section="round 4", driver=KEPT[0], groove="", driven=KEPT[1]),
    "flat": KINDS.format(
        title="Strap", units="cm", section="flat 2x20", driver=FREE[0], groove=', groove = "crowned"', driven=FREE[1]
    ),
    "hostile turned": KINDS.format(title=HOSTILE, units="in", section="Z", driver=FREE[0], groove="", driven=FREE[1]),
}
"""Machines with belts that no shipped one has."""
TWO_STAGES = ("bench-shaper", "pattern-mill", "eighteen", "middle cone")
ONCE = ("middle cone", 2, "driver")
"""What is the driven of the stage before, and there once."""
MORE = tuple((name, cone) for name in JOBS if name not in DIFFERENT for cone in cut_cones(job(name)))
"""Cones of machines that are only asked for at times, designed here to know them."""
CONES = tuple(
    (name, stage, side)
    for name in (*DIFFERENT, *OTHERS)
    for stage in ((1, 2) if name in TWO_STAGES else (1,))
    for side in ("driver", "driven")
    if (name, stage, side) != ONCE
) + tuple((name, cone.stage, cone.side) for name, cone in MORE)
"""Every cone that drawings are tested with: machine, stage, side."""
NOT_TURNED = {
    ("bench-shaper", 1, "driver"),
    ("bench-shaper", 1, "driven"),
    ("kept-cone-engraver", 1, "driven"),
    ("middle cone", 1, "driver"),
    ("pattern-mill", 1, "driver"),
    ("polishing-head", 1, "driver"),
    ("slot-cutter", 1, "driver"),
    *((name, cone.stage, cone.side) for name, cone in MORE if not cone.turned),
}
KEPT_WHOLE = {"old-drill", "hostile", "hostile shafts", "eighteen", "geared", "thin cord"}
TURNED = tuple(which for which in CONES if which not in NOT_TURNED and which[0] not in KEPT_WHOLE)
"""Those of which something is turned."""


@cache
def _job(name: str) -> Job:
    return job_from(OTHERS[name]) if name in OTHERS else job(name)


def cone_of(name: str, stage: int = 1, side: str = "driver") -> tuple[Job, CutCone]:
    """Return one cone of a machine with its job."""
    found = _job(name)
    cone = next(cone for cone in cut_cones(found) if (cone.stage, cone.side) == (stage, side))
    if name != "hostile turned":
        return found, cone
    faces = tuple(faced.model_copy(update={"shaft": HOSTILE}) for faced in cone.faces)
    return found, cone.model_copy(update={"shaft": HOSTILE, "other_shaft": HOSTILE, "faces": faces})


def grooved_step(outside_mm: float, angle_deg: float, top_mm: float, depth_mm: float) -> CutStep:
    """Return a step 36 mm wide with a V groove in its middle."""
    return CutStep(
        position=1,
        outside_mm=outside_mm,
        datum_mm=outside_mm,
        pitch_mm=outside_mm,
        over_pins_mm=None,
        pin_mm=None,
        rim="v",
        groove_deg=angle_deg,
        top_width_mm=top_mm,
        groove_depth_mm=depth_mm,
        floor_width_mm=0.0,
        root_mm=outside_mm - 2 * depth_mm,
        from_mm=0.0,
        to_mm=36.0,
        middle_mm=18.0,
        off_line_mm=0.0,
        off_line_most_mm=0.0,
        source="turned",
        blank_mm=outside_mm + 4,
        layers=2,
        mass_kg=None,
        volume_mm3=None,
    )


def axis_of(sheet: Sheet) -> Point:
    """Return where the axis of a section meets the face next to step 1, 3 mm from the start of the line drawn."""
    (axis,) = sheet.on("axis")
    assert isinstance(axis, Line)
    return axis.start[0] + 3.0, axis.start[1]


def placed(points: tuple[Point, ...], origin: Point) -> list[Point]:
    """Return points as they lie about an origin, rounded."""
    return [(round(x - origin[0], 6), round(y - origin[1], 6)) for x, y in points]


def loops(sheet: Sheet, layer: str) -> list[Polyline]:
    """Return the closed lines of a layer."""
    return [entity for entity in sheet.on(layer) if isinstance(entity, Polyline) and entity.closed]


def texts_of(sheet: Sheet) -> list[str]:
    """Return all lettering."""
    return [entity.text for entity in sheet.entities if isinstance(entity, Text)]


def rings(sheet: Sheet, layer: str) -> list[Circle]:
    """Return the circles of a layer."""
    return [entity for entity in sheet.on(layer) if isinstance(entity, Circle)]
