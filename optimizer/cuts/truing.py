"""How fast a rough blank may run while it is trued, and which temporary pulleys would give that from this motor."""

from __future__ import annotations

from math import ceil, isfinite
from typing import Literal

from optimizer.catalogue.lines import pitch_length_mm, shifts
from optimizer.cuts.cones import CutCone
from optimizer.geometry.belts import centre_for_length_mm
from optimizer.layouts.budget import Reach, stated_belts
from optimizer.layouts.sizes import SideStated, smallest_bound
from optimizer.mechanics.surface_speed import WOOD_TURNING_RPM_MM
from optimizer.pipeline.job import Job
from optimizer.records.sheet import MachineSheet, StageSheet
from optimizer.scenario import BeltStage, FixedStage, Side
from optimizer.scenario.base import Model
from optimizer.scenario.chain import MOTOR

__all__ = ["TRUING_SOURCE", "TemporaryPair", "Truing", "truing", "truing_rpm"]

TRUING_SOURCE = "speed times diameter at most 6000 rpm·in, 8 m/s at the rim; common practice, no source"
MOST_MARKINGS = 4
"""Belts named for a temporary pair at the most."""
TOUCH = 1e-9

Drive = Literal["own shaft", "temporary pulley", "mandrel"]


class TemporaryPair(Model):
    """A pulley put on the cone's shaft for truing only, with what drives it."""

    driver_shaft: str
    driver_rpm: float
    """Slowest speed of that shaft."""
    driver_mm: float
    """Diameter over the rim of the smallest pulley that may be put there."""
    driver_words: str
    """Where that pulley comes from."""
    driven_mm: float
    """Least diameter over the rim of the temporary pulley on the cone's shaft."""
    rim: Literal["v", "flat", "crowned"]
    """The kind of rim of the temporary pulley."""
    rpm: float
    """Speed that the pair gives."""
    section: str
    lengths_mm: tuple[float, float]
    """Belts of these datum lengths go round it within the centre distances of the stage."""
    own_centre_mm: float | None
    """Centre distance at which the stage's own belt goes round it; nothing where it does not within the limits."""
    markings: tuple[str, ...]
    """Other belts that the maker may take which do, the shortest first; nothing where the stage's own does."""
    most_mm: float | None
    """Largest pulley that can be turned from the largest blank; nothing where no largest blank is stated."""

    @property
    def too_large(self) -> bool:
        """Whether the temporary pulley is larger than the shop can turn."""
        return self.most_mm is not None and self.driven_mm > self.most_mm + TOUCH


class Truing(Model):
    """Truing the rough blank of one cone."""

    blank_mm: float
    """Diameter of the largest rough disc."""
    most_rpm: float
    """Greatest speed at which it may run."""
    shaft: str
    shaft_rpm: float
    """Slowest speed of its own shaft in the finished machine."""
    drive: Drive
    """What it is trued on: its own shaft as the machine drives it, that shaft with a temporary pulley, a mandrel."""
    first: str = ""
    """The cone that must be finished and on the shaft before; its place in the scenario."""
    pair: TemporaryPair | None = None


def truing_rpm(blank_mm: float) -> float:
    """Return the greatest speed at which a rough disc may run [rpm], `6000·25.4/d`.

    Common practice, no source: rpm times diameter in inches at most 6000 until the work runs true, which is 8 m/s at
    the rim.

    Examples
    --------
    A disc of 240 mm is 9.449 in, 6000/9.449 = 635:

    >>> round(truing_rpm(240.0), 1)
    635.0
    """
    return WOOD_TURNING_RPM_MM[0] / blank_mm


def truing(cone: CutCone, job: Job) -> Truing | None:
    """Return how the rough blank of a cone is trued; nothing where no step is turned from timber.

    It may run on its own shaft where the machine drives that slowly enough with what is finished before it, else with a
    temporary pulley there. A cone on the motor's shaft, and one for which even that pulley would be too large to turn,
    is trued on a mandrel.
    """
    blanks = [step.blank_mm for step in cone.turned if step.blank_mm is not None]
    if not blanks or cone.material != "timber":
        return None
    most = truing_rpm(max(blanks))
    own = _slowest_rpm(job.design.machine, cone.shaft)
    found = Truing(blank_mm=max(blanks), most_rpm=most, shaft=cone.shaft, shaft_rpm=own, drive="mandrel")
    before = next((stage for stage in job.scenario.chain if stage.to_shaft == cone.shaft), None)
    runs = own <= most * (1 + TOUCH)
    if cone.shaft == MOTOR or before is None or isinstance(before, FixedStage):
        return found.model_copy(update={"drive": "own shaft" if runs else "mandrel"})
    feeding = next(s for s in job.design.machine.stages if s.key == job.scenario.place_of(before))
    if runs and cone.key != f"{feeding.key}.driven":
        return found.model_copy(update={"drive": "own shaft", "first": f"{feeding.key}.driven"})
    tried = [_pair(job, before, feeding, driver, most) for driver in _drivers(job, before, feeding)]
    pair = next((each for each in tried if not each.too_large), tried[-1])
    return found.model_copy(update={"drive": "mandrel" if pair.too_large else "temporary pulley", "pair": pair})


def _slowest_rpm(machine: MachineSheet, shaft: str) -> float:
    """Return the least speed of a shaft."""
    return min(s.rpm for speed in machine.speeds for s in speed.shafts if s.shaft == shaft)


def _pair(job: Job, stage: BeltStage, sheet: StageSheet, driver: tuple[float, str], most_rpm: float) -> TemporaryPair:
    """Return a driver with the least pulley that keeps the speed."""
    belt, making = stage.belt.data, job.scenario.making
    rpm = _slowest_rpm(job.design.machine, stage.from_shaft)
    over = [
        lines.outside_less_datum - lines.pitch_less_datum
        for lines in (shifts(belt, side.groove) for side in (stage.driver, stage.driven))
    ]
    left = 1 - stage.slip
    least = rpm * (driver[0] - over[0]) * left / most_rpm + over[1]
    smallest = smallest_bound(_stated(job, stage.driven, stage, f"{sheet.key}.driven")).outside_mm
    driven = max(ceil(least / making.turn_to_mm - TOUCH) * making.turn_to_mm, smallest)
    pitch = driver[0] - over[0], driven - over[1]
    reach = Reach.of((pitch[0], pitch[0]), (pitch[1], pitch[1]), stage.centres_mm, stage.crossed)
    fits = reach.holds(sheet.pitch_length_mm)
    shift = pitch_length_mm(belt, 0.0)
    others = [b.marking for b in stated_belts(stage.belt, reach) if reach.holds(b.datum_length_mm + shift)]
    most = making.largest_blank_mm - making.truing_mm
    return TemporaryPair(
        driver_shaft=stage.from_shaft,
        driver_rpm=rpm,
        driver_mm=driver[0],
        driver_words=driver[1],
        driven_mm=driven,
        rim=stage.driven.groove,
        rpm=rpm * pitch[0] / pitch[1] * left,
        section=belt.name,
        lengths_mm=(reach.least_mm - shift, reach.most_mm - shift),
        own_centre_mm=centre_for_length_mm(*pitch, sheet.pitch_length_mm, crossed=stage.crossed) if fits else None,
        markings=() if fits or stage.belt.joined else tuple(others[:MOST_MARKINGS]),
        most_mm=most if isfinite(most) else None,
    )


def _drivers(job: Job, stage: BeltStage, sheet: StageSheet) -> list[tuple[float, str]]:
    """Return the pulleys that may drive, over the rim, with where they come from: what is there before what is not."""
    side = stage.driver
    lines = shifts(stage.belt.data, side.groove)
    over = lines.outside_less_datum - lines.of(side.measured)
    bound = smallest_bound(_stated(job, side, stage, f"{sheet.key}.driver"))
    ready = [size + over for size in side.pulleys_mm if size + over >= bound.outside_mm - TOUCH]
    if ready:
        return [(min(ready), "the smallest ready sheave stated")]
    finished = min(position.driver.outside_mm for position in sheet.positions)
    if side.kept_mm:
        return [(finished, "the smallest step of the kept cone that is used")]
    return [(finished, "the smallest step of the facing cone, finished before"), (bound.outside_mm, bound.name)]


def _stated(job: Job, side: Side, stage: BeltStage, key: str) -> SideStated:
    return SideStated(key, side, stage.belt.data, 0.0, job.scenario.making)
