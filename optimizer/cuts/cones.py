"""Every cone as it is made: steps along the shaft, layers, bore, hub, mass; how it faces the cones of other shafts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple

from optimizer.catalogue.grooves import alignment_mm, groove, step_volume_mm3
from optimizer.catalogue.parts import cone_material
from optimizer.catalogue.sections import section
from optimizer.cuts.bench_words import BenchWords, listed
from optimizer.geometry.grooves import floor_width_mm
from optimizer.pipeline.job import Job
from optimizer.records.design import CheckSheet
from optimizer.records.mechanics import FlatSheet, KeySheet
from optimizer.records.sheet import PositionSheet, StageSheet, StepSheet, StepSource
from optimizer.scenario import BeltStage, Making, Shaft, Side
from optimizer.scenario.base import Model

__all__ = [
    "CutCone",
    "CutLayer",
    "CutStep",
    "Faced",
    "FacingStep",
    "cone_name",
    "cut_cones",
    "doing_words",
    "ends_words",
    "facing_steps",
    "large_end",
    "line_words",
    "off_line_left_mm",
    "step_words",
    "turned_parts",
]

OTHER: dict[str, Literal["driver", "driven"]] = {"driver": "driven", "driven": "driver"}
End = Literal["first", "last"]
LINE = "belts in line"
SAME_MM = 1e-6


class CutLayer(Model):
    """One disc that is glued into a cone."""

    number: int
    """Counted from the face beside the step of position 1."""
    position: int
    """Position of the step that it belongs to."""
    thickness_mm: float
    round_mm: float
    """Diameter of the disc, truing allowance included."""
    square_mm: float
    """Side of the square it is sawn from."""
    grain: Literal["along", "across"]
    """Which way its face grain runs, the first layer's being along."""


class CutStep(Model):
    """One step as it goes to the lathe, or into the buying list."""

    position: int
    """Counted from 1, the slowest first; on which step of the other cone it faces, see the cone."""
    second_position: int | None = None
    """On a cone that two belts share, the position of the second belt that lies on it."""
    outside_mm: float
    datum_mm: float
    pitch_mm: float
    over_pins_mm: float | None
    """Size over two gauge pins in the groove: what sets where the belt runs; nothing where no pins are known."""
    pin_mm: float | None
    """Diameter of those pins."""
    rim: Literal["v", "ribbed", "round", "flat", "crowned"]
    groove_deg: float | None
    """Angle of the groove; nothing without flanks."""
    top_width_mm: float
    """Width of the groove at the rim, of the belt's track on a plain rim."""
    groove_depth_mm: float
    floor_width_mm: float
    """Width of the groove at its bottom."""
    root_mm: float
    """Diameter at the bottom of the groove."""
    from_mm: float
    """Where the step begins, from the face beside the step of position 1."""
    to_mm: float
    middle_mm: float
    """Where the middle of the belt runs."""
    off_line_mm: float
    """How far the facing belt's middle lies to the side of it where the middles of both cones are set in line."""
    off_line_most_mm: float
    """How far it may: 2 mm per metre of centre distance, GOST 20889-88, read."""
    source: StepSource
    blank_mm: float | None
    """Disc to cut it from, truing allowance included; nothing where it is used as it is."""
    layers: int | None
    """Layers it is glued from; nothing where the thickness of a layer is not stated, or nothing is glued."""
    mass_kg: float | None
    """Mass when finished; nothing where it is not turned from timber."""
    volume_mm3: float | None
    """Volume when finished; nothing where it is not turned."""


class Faced(Model):
    """A cone that a cone faces, step by step."""

    stage: int
    """The stage whose belt joins the two, counted from 1 along the chain."""
    shaft: str
    backward: bool = False
    """Whether its steps are numbered the other way: step 1 faces the last, as where two belts share a cone."""

    def number(self, position: int, count: int) -> int:
        """Return the number of the step there that a step faces, of so many."""
        return count + 1 - position if self.backward else position


class CutCone(Model):
    """One side of a stage, or of two where their belts share it."""

    key: str
    """Place in the scenario, such as `stage[0].driver`."""
    stage: int
    """The stage, counted from 1 along the chain."""
    side: Literal["driver", "driven"]
    second_stage: int | None = None
    """The stage whose driver it is too; nothing where it carries one belt."""
    shaft: str
    other_shaft: str
    faces: tuple[Faced, ...]
    """The cone that it faces, on the other shaft; two where two belts share it."""
    section: str
    material: Literal["timber", "metal", "not stated"]
    width_mm: float
    """Of all its steps together, along the shaft."""
    bore_mm: float | None
    """Of the timber: over the hub where one is stated, else over the shaft; nothing where neither is."""
    shaft_mm: float | None
    hub_mm: float | None
    """Outside diameter of a hub that is larger than the shaft; nothing where none is stated."""
    key_seat: KeySheet | None
    """The usual key of the shaft with its seats, which go into metal, never into timber alone."""
    flat: FlatSheet | None = None
    """The flat of a motor's shaft that has one in place of a keyway."""
    rpm: float
    """Greatest speed of the shaft."""
    mass_kg: float | None
    """Mass of all that is turned from timber; nothing where nothing is."""
    layer_mm: float | None
    steps: tuple[CutStep, ...]
    """Position 1 first."""
    layers: tuple[CutLayer, ...]
    """Of all steps that are glued up, in their order along the shaft."""

    @property
    def slug(self) -> str:
        """Its name in the names of files, such as `stage-1-driver`."""
        return f"stage-{self.stage}-{self.side}"

    @property
    def turned(self) -> tuple[CutStep, ...]:
        """The steps that are turned."""
        return tuple(step for step in self.steps if step.source == "turned")


def cut_cones(job: Job) -> tuple[CutCone, ...]:
    """Return every cone, motor first, the driver of each stage before the driven; one that two belts share once."""
    return job.once("cones", lambda: _cones(job))


def _cones(job: Job) -> tuple[CutCone, ...]:
    stages = {job.scenario.place_of(s): s for s in job.scenario.chain if isinstance(s, BeltStage)}
    sides: tuple[Literal["driver", "driven"], ...] = ("driver", "driven")
    cones = [
        _cone(job, number, stages[sheet.key], side)
        for number, sheet in enumerate(job.design.machine.stages, 1)
        for side in sides
    ]
    shared = {number for number, sheet in enumerate(job.design.machine.stages, 1) if sheet.shared_driver}
    found: list[CutCone] = []
    for cone in cones:
        if cone.stage in shared:
            cone = _turned_about(cone)
            if cone.side == "driver":
                found[-1] = _joined(found[-1], cone)
                continue
        found.append(cone)
    return tuple(found)


def _turned_about(cone: CutCone) -> CutCone:
    """Return a cone of a belt that shares the cone of the stage before, where steps are numbered the other way."""
    faces = tuple(faced.model_copy(update={"backward": True}) for faced in cone.faces)
    return cone.model_copy(update={"faces": faces})


def _joined(cone: CutCone, second: CutCone) -> CutCone:
    """Return a driven cone as the one that is the driver of the next stage too."""
    steps = tuple(
        step.model_copy(
            update={
                "second_position": other.position,
                "off_line_mm": max(step.off_line_mm, other.off_line_mm),
                "off_line_most_mm": min(step.off_line_most_mm, other.off_line_most_mm),
            }
        )
        for step, other in zip(cone.steps, second.steps[::-1], strict=True)
    )
    faces = (*cone.faces, *second.faces)
    return cone.model_copy(update={"second_stage": second.stage, "faces": faces, "steps": steps})


def _cone(job: Job, number: int, stage: BeltStage, side: Literal["driver", "driven"]) -> CutCone:
    """Return one side of a stage."""
    sheet, making = job.design.machine.stages[number - 1], job.scenario.making
    names = {"driver": sheet.driver_shaft, "driven": sheet.driven_shaft}
    own: Side = getattr(stage, side)
    facing: Side = getattr(stage, OTHER[side])
    shaft = job.scenario.shaft(names[side])
    steps = tuple(_step(sheet, position, side, (own, facing, making, shaft)) for position in sheet.positions)
    made_of = own.made_of(turned=own.turned)
    masses = [step.mass_kg for step in steps if step.mass_kg is not None]
    return CutCone(
        key=f"{sheet.key}.{side}",
        stage=number,
        side=side,
        shaft=names[side],
        other_shaft=names[OTHER[side]],
        faces=(Faced(stage=number, shaft=names[OTHER[side]]),),
        section=sheet.section,
        material="not stated" if made_of is None else "timber" if made_of == "timber" else "metal",
        width_mm=_width_mm(sheet, own) * len(steps),
        bore_mm=shaft.hub_mm or shaft.diameter_mm,
        shaft_mm=shaft.diameter_mm,
        hub_mm=shaft.hub_mm if shaft.hub_mm and shaft.hub_mm > (shaft.diameter_mm or 0.0) else None,
        key_seat=next((key for key in job.design.shafts.keys if key.shaft == names[side]), None),
        flat=next((flat for flat in job.design.shafts.flats if flat.shaft == names[side]), None),
        rpm=max(cone.rpm for cone in job.design.shafts.cones if cone.shaft == names[side]),
        mass_kg=sum(masses) if masses else None,
        layer_mm=making.layer_mm,
        steps=steps,
        layers=_layers(steps, making),
    )


def _width_mm(sheet: StageSheet, side: Side) -> float:
    """Return the width of a step: a kept cone's own pitch, else the stage's."""
    return side.pitch_mm or sheet.step_width_mm


def _step(sheet: StageSheet, position: PositionSheet, side: str, shop: tuple[Side, Side, Making, Shaft]) -> CutStep:
    own, facing, making, shaft = shop
    step: StepSheet = getattr(position, side)
    width = _width_mm(sheet, own)
    start = (position.number - 1) * width
    places = position.number - (len(sheet.positions) + 1) / 2
    volume = None
    if step.source == "turned":
        cut = groove(section(sheet.section), step.datum_mm, own.groove)
        volume = step_volume_mm3(cut, step.outside_mm, width, shaft.hub_mm or shaft.diameter_mm or 0.0)
    timber = volume is not None and own.material == "timber"
    nearest = min((p.centre_mm for p in sheet.positions if p.centre_mm), default=sheet.centres.limits_mm[0])
    return CutStep(
        position=position.number,
        outside_mm=step.outside_mm,
        datum_mm=step.datum_mm,
        pitch_mm=step.pitch_mm,
        over_pins_mm=step.over_pins_mm,
        pin_mm=step.pin_mm,
        rim=step.rim,
        groove_deg=step.groove_deg,
        top_width_mm=step.top_width_mm,
        groove_depth_mm=step.groove_depth_mm,
        floor_width_mm=(
            floor_width_mm(step.top_width_mm, step.groove_deg, step.groove_depth_mm)
            if step.rim == "v" and step.groove_deg
            else 0.0
        ),
        root_mm=step.outside_mm - 2 * step.groove_depth_mm,
        from_mm=start,
        to_mm=start + width,
        middle_mm=start + width / 2,
        off_line_mm=abs(places * (width - _width_mm(sheet, facing))),
        off_line_most_mm=alignment_mm(nearest),
        source=step.source,
        blank_mm=step.blank_mm,
        layers=_layer_count(width, making) if timber else None,
        mass_kg=volume * 1e-9 * cone_material("timber").mass_kg_m3 if volume is not None and timber else None,
        volume_mm3=volume,
    )


def _layer_count(width_mm: float, making: Making) -> int | None:
    """Return how many whole layers make up a step's width; nothing where no thickness is stated."""
    if making.layer_mm is None:
        return None
    return max(1, -int(-(width_mm / making.layer_mm - 1e-9) // 1))


def _layers(steps: tuple[CutStep, ...], making: Making) -> tuple[CutLayer, ...]:
    """Return the discs of all steps that are glued from layers."""
    found: list[CutLayer] = []
    for step in steps:
        for _ in range(step.layers or 0):
            assert step.blank_mm is not None
            assert making.layer_mm is not None
            number = len(found) + 1
            found.append(
                CutLayer(
                    number=number,
                    position=step.position,
                    thickness_mm=making.layer_mm,
                    round_mm=step.blank_mm,
                    square_mm=step.blank_mm,
                    grain="along" if number % 2 else "across",
                )
            )
    return tuple(found)


class FacingStep(NamedTuple):
    """A step that a step faces."""

    shaft: str
    number: int
    """Of the step there, counted from 1."""
    step: CutStep | None
    """Nothing where that cone is not in the list."""


def cone_name(cone: CutCone) -> str:
    """Return what papers call a cone.

    Such as `stage 2, driver on countershaft`; where two belts share it `stage 1, driven, and stage 2, driver, on
    middle`.
    """
    if cone.second_stage is None:
        return f"stage {cone.stage}, {cone.side} on {cone.shaft}"
    return f"stage {cone.stage}, {cone.side}, and stage {cone.second_stage}, driver, on {cone.shaft}"


def doing_words(cone: CutCone) -> str:
    """Return which stages a cone serves: `driver of stage 2`, `driven of stage 1, driver of stage 2`."""
    second = "" if cone.second_stage is None else f", driver of stage {cone.second_stage}"
    return f"{cone.side} of stage {cone.stage}{second}"


def step_words(cone: CutCone, step: CutStep) -> str:
    """Return which position lies on a step; on a cone that two belts share that of either belt.

    Such as `position 2`; on a shared one `position 2 of belt 1, 3 of belt 2`.
    """
    if step.second_position is None:
        return f"position {step.position}"
    return f"position {step.position} of belt {cone.stage}, {step.second_position} of belt {cone.second_stage}"


def large_end(cone: CutCone) -> End | None:
    """Return at which end the largest step lies: that of position 1, or of the last; nothing where all are equal."""
    first, last = cone.steps[0].outside_mm, cone.steps[-1].outside_mm
    if abs(first - last) < SAME_MM:
        return None
    return "first" if first > last else "last"


def facing_steps(cone: CutCone, cones: tuple[CutCone, ...], step: CutStep) -> tuple[FacingStep, ...]:
    """Return the step on the other cone of the stage that a step faces; two where two belts share the cone."""
    return tuple(_faced_step(cone, cones, step, faced) for faced in cone.faces)


def _faced_step(cone: CutCone, cones: tuple[CutCone, ...], step: CutStep, faced: Faced) -> FacingStep:
    number = faced.number(step.position, len(cone.steps))
    there = (each for each in cones if faced.stage in (each.stage, each.second_stage) and each.key != cone.key)
    steps = next((each.steps for each in there), ())
    return FacingStep(faced.shaft, number, next((each for each in steps if each.position == number), None))


def ends_words(cone: CutCone) -> str:
    """Return, in sentences, which end is the large one and what it faces."""
    if len(cone.steps) == 1:
        return f"One step, which faces the one on {listed([faced.shaft for faced in cone.faces])}."
    end = large_end(cone)
    if end is None:
        return " ".join((f"All steps are equal; {_each_faces(cone)}.", *_backward_words(cone)))
    large = 1 if end == "first" else len(cone.steps)
    small = len(cone.steps) + 1 - large
    said = f"Large end at step {large}, small end at step {small}; {_each_faces(cone)}, so large end faces small end."
    return " ".join((said, *_backward_words(cone)))


def _each_faces(cone: CutCone) -> str:
    """Return which step each step faces, of the cone whose belt comes first."""
    first = cone.faces[0]
    if first.backward:
        last = len(cone.steps)
        return f"step 1 faces step {last} on {first.shaft}, and so on to step {last}, which faces step 1"
    return f"each step faces the one of the same number on {first.shaft}"


def _backward_words(cone: CutCone) -> Iterator[str]:
    """Yield what the second belt of a shared cone faces."""
    last = len(cone.steps)
    for faced in cone.faces[1:]:
        yield (
            f"It is the driver of stage {cone.second_stage} too: step 1 faces step {last} on {faced.shaft}, and so on "
            f"to step {last}, which faces step 1. No step carries both belts at once."
        )


def _line_checks(cone: CutCone, job: Job) -> tuple[CheckSheet, ...]:
    """Return the checks that the belts of a cone's stage, or stages, run in line."""
    return tuple(c for c in job.design.checks if c.name.startswith(LINE) and c.where.startswith(_keys(cone, job)))


def _keys(cone: CutCone, job: Job) -> tuple[str, ...]:
    """Return the places in the scenario of the stages whose belts run on a cone."""
    return tuple(job.design.machine.stages[faced.stage - 1].key for faced in cone.faces)


def line_words(cone: CutCone, job: Job) -> str:
    """Return, in a sentence, what proves that every belt runs in line, or why nothing does."""
    words = BenchWords.of(job.scenario)
    if len(cone.steps) == 1:
        return f"{'One belt' if len(cone.faces) == 1 else 'Two belts'}, set in line on the machine."
    checks = _line_checks(cone, job)
    if not checks:
        keys = _keys(cone, job)
        why = next((s.why for s in job.design.skipped if s.name == LINE and s.where.startswith(keys)), "")
        return f"That the belts run in line could not be checked{': ' + why if why else ''}."
    several = len(cone.faces) > 1
    told = [
        f"{f'belt {_belt(check, cone, job)}, ' if several else ''}{words.most(check.value)} off at most, "
        f"{words.most(check.limit)} allowed, {'passed' if check.passed else 'FAILED'}"
        for check in checks
        if check.value is not None
    ]
    return f"Belts in line, checked for this design: {'; '.join(told)}."


def _belt(check: CheckSheet, cone: CutCone, job: Job) -> int:
    """Return the stage, counted from 1, whose belt a check is of."""
    stages = zip(cone.faces, _keys(cone, job), strict=True)
    return next(faced.stage for faced, key in stages if check.where.startswith(key))


def turned_parts(cone: CutCone) -> tuple[tuple[CutStep, ...], ...]:
    """Return the turned steps in runs that lie side by side, each of which is one piece of timber or metal."""
    parts: list[list[CutStep]] = []
    before = 0
    for step in cone.turned:
        if not parts or step.position != before + 1:
            parts.append([])
        parts[-1].append(step)
        before = step.position
    return tuple(map(tuple, parts))


def off_line_left_mm(cone: CutCone) -> float | None:
    """Return by how much a step's width may differ from the facing cone's before an outer belt runs out of line [mm].

    The middles of both cones being in line, the outer belts of n steps lie `(n − 1)/2` step widths from there, so the
    widths may differ by `2·(most − off)/(n − 1)`. Source: geometry. Nothing for a single step.
    """
    count = len(cone.steps)
    if count == 1:
        return None
    return min(2 * (step.off_line_most_mm - step.off_line_mm) / (count - 1) for step in cone.steps)
