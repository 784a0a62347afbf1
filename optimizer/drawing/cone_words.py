"""What is said of a cone on its papers: its name, the table of its steps, notes, cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.catalogue.parts import cone_material
from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.cones import CutCone, CutStep, cone_name, cut_cones, facing_steps
from optimizer.drawing.cone_profile import crown_mm
from optimizer.drawing.lettering import one_line
from optimizer.pipeline.job import Job

__all__ = ["cone_caution", "cone_title", "gathered", "notes", "numbers", "step_rows", "units_words"]

GUARDS = (
    "No guard is shown: belt, cone and shaft ends need fixed guards, by the rules that hold where the machine stands."
)
TIMBER = "Turn sound, glued stock only, stand aside at the first run, true it again after a week."
MEASURE = "Measure the belt, the shaft and every bought part before the first cut; they decide, not this sheet."
SOURCES = {"turned": "turned", "ready": "bought", "kept": "kept", "in hand": "in hand"}


def cone_title(cone: CutCone) -> str:
    """Return what a cone is called, such as ``stage 2, driver on countershaft``."""
    return one_line(cone_name(cone))


def cone_caution(cone: CutCone) -> str:
    """Return what those who make and run the cone are to heed."""
    timber = [TIMBER] if cone.material == "timber" and cone.turned else []
    return " ".join([GUARDS, *timber, MEASURE])


def numbers(values: Sequence[int]) -> str:
    """Return numbers as they are read, runs of three and more from the first to the last.

    Examples
    --------
    >>> numbers([1, 2]), numbers([1, 2, 3, 5]), numbers([4])
    ('1, 2', '1 to 3, 5', '4')
    """
    runs: list[list[int]] = []
    for value in sorted(values):
        if runs and value == runs[-1][-1] + 1:
            runs[-1].append(value)
        else:
            runs.append([value])
    parts = [f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs]
    return ", ".join(parts)


def units_words(sizes: BenchWords) -> str:
    """Return in what sizes are given."""
    if sizes.units == "in":
        return "sizes in inches: the nearest fraction, in brackets the true value"
    return f"sizes in {sizes.units}"


def step_rows(job: Job, cone: CutCone) -> list[list[str]]:
    """Return the table of a cone's steps: a row for every kind of size, a column for every step."""
    sizes = BenchWords.of(job.scenario)
    rows = [["step", *(str(step.position) for step in cone.steps)]]

    def row(name: str, cells: Sequence[str | None]) -> None:
        if any(cells):
            rows.append([name, *(cell or "-" for cell in cells)])

    def lengths(name: str, values: Sequence[float | None], diameter: bool = False) -> None:
        write = sizes.diameter if diameter else sizes.bare
        row(name, [None if value is None else write(value) for value in values])

    steps = cone.steps
    if cone.second_stage is not None:
        row(f"position of belt {cone.stage}", [str(step.position) for step in steps])
        row(f"position of belt {cone.second_stage}", [str(step.second_position) for step in steps])
    grooved = [step.rim not in ("flat", "crowned") for step in steps]
    lengths("outside", [step.outside_mm for step in steps], True)
    lengths("over two pins", [step.over_pins_mm for step in steps], True)
    lengths("pins", [step.pin_mm for step in steps], True)
    lengths("root", [step.root_mm if g else None for step, g in zip(steps, grooved, strict=True)], True)
    row("angle of groove", [f"{step.groove_deg:g}°" if step.groove_deg else None for step in steps])
    lengths("width at rim", [step.top_width_mm if g else None for step, g in zip(steps, grooved, strict=True)])
    lengths("width of belt", [None if g else step.top_width_mm for step, g in zip(steps, grooved, strict=True)])
    lengths("depth", [step.groove_depth_mm if g else None for step, g in zip(steps, grooved, strict=True)])
    lengths("width of floor", [step.floor_width_mm or None for step in steps])
    lengths("crown", [crown_mm(step.outside_mm) if step.rim == "crowned" else None for step in steps])
    lengths("width of step", [step.to_mm - step.from_mm for step in steps])
    lengths("belt's middle", [step.middle_mm for step in steps])
    for faced, sizes_there in zip(cone.faces, _facing(job, cone), strict=True):
        belt = f", belt {faced.stage}" if len(cone.faces) > 1 else ""
        lengths(f"faces outside{belt}", sizes_there, True)
    lengths("disc", [step.blank_mm for step in steps], True)
    row("layers", [_layers(cone, step) for step in steps])
    row("mass", [f"{step.mass_kg:.2f} kg" if step.mass_kg is not None else None for step in steps])
    row("made", [SOURCES[step.source] for step in steps])
    return rows


def notes(job: Job, cone: CutCone) -> list[str]:
    """Return what belongs to the section of a cone beside its sizes."""
    sizes = BenchWords.of(job.scenario)
    said = [
        f"Half section and outside view, 1:1, {units_words(sizes)}. "
        "Places are counted from the face next to step 1, at the left.",
        f"{_faces(cone)} {_ends(cone)}".strip(),
        f"Greatest speed of the shaft {cone.rpm:.0f} rpm. {_stuff(cone)}",
    ]
    if any(step.over_pins_mm is not None for step in cone.turned):
        said.append(
            "The size over two pins laid in the groove sets where the belt runs; it comes before the size over the rim."
        )
    if any(step.rim == "crowned" for step in cone.steps):
        said.append(
            "Crowned rims: the outside size is that of their middle, the edges lie lower by the crown, all round; its "
            "height is that of ISO 22, from memory."
        )
    if any(step.rim == "round" for step in cone.steps):
        said.append("The seats are half-round, their middle at the rim.")
    if any(step.rim == "ribbed" for step in cone.steps):
        said.append("The grooves are drawn as plain V's; rims and roots are rounded as the maker of the belt states.")
    if rest := [step for step in cone.steps if step.source != "turned"]:
        made = gathered(SOURCES[step.source] for step in rest)
        said.append(
            f"Dashed: {_steps(rest)}, {made}, not turned; grooves and widths are drawn as the belt needs them, "
            "not as they were measured."
        )
    said.append(_seat(cone, sizes))
    return said


def gathered(words: Iterator[str] | Sequence[str]) -> str:
    """Return different words once, in order.

    Examples
    --------
    >>> gathered(["bought", "kept", "bought"])
    'bought or kept'
    """
    return " or ".join(dict.fromkeys(words))


def _steps(steps: Sequence[CutStep]) -> str:
    return f"step{'s' * (len(steps) > 1)} {numbers([step.position for step in steps])}"


def _ends(cone: CutCone) -> str:
    first, last = cone.steps[0], cone.steps[-1]
    if first.outside_mm == last.outside_mm:
        return ""
    small, large = sorted((first, last), key=lambda step: step.outside_mm)
    return f"Small end: step {small.position}. Large end: step {large.position}."


def _stuff(cone: CutCone) -> str:
    if not cone.turned:
        return "Nothing of it is turned."
    if cone.mass_kg is None:
        return "Turned from metal."
    layers = (
        "the thickness of a layer is not stated"
        if cone.layer_mm is None
        else "the grain of layers 1, 3 and so on runs one way, that of the others across it"
    )
    return (
        f"Timber: {cone.mass_kg:.2f} kg, as birch plywood of {cone_material('timber').mass_kg_m3:.0f} kg/m³; {layers}."
    )


def _seat(cone: CutCone, sizes: BenchWords) -> str:
    """Return what is said of bore, hub and key."""
    key = cone.key_seat
    if cone.bore_mm is None:
        return "The diameter of the shaft is not stated, so that no bore is drawn."
    if cone.flat is not None:
        return cone.flat.words(sizes.bare)
    if key is None:
        return "No usual key is known for this shaft."
    seat = f"key {sizes.bare(key.width_mm)} wide, {sizes.bare(key.height_mm)} high; seat in the metal"
    if key.hub_depth_mm is not None:
        seat += f" {sizes.bare(key.hub_depth_mm)} deep,"
    seat += f" {sizes.bare(key.over_hub_mm)} from its bottom to the far side of the bore"
    if cone.hub_mm is not None:
        return f"Metal hub, {sizes.diameter(cone.hub_mm)} outside: {seat}."
    if cone.material == "metal":
        return f"For the shaft of {sizes.diameter(key.diameter_mm)}: {seat}."
    return (
        f"No hub is stated: a metal hub or flange must carry the key, never the timber alone. "
        f"For the shaft of {sizes.diameter(key.diameter_mm)}: {seat}."
    )


def _layers(cone: CutCone, step: CutStep) -> str | None:
    found = [layer.number for layer in cone.layers if layer.position == step.position]
    return numbers(found) if found else None


def _facing(job: Job, cone: CutCone) -> list[list[float | None]]:
    """Return the diameters that the steps face, in order, of every cone that faces them."""
    cones = cut_cones(job)
    faced = [facing_steps(cone, cones, step) for step in cone.steps]
    return [[each.step and each.step.outside_mm for each in one] for one in zip(*faced, strict=True)]


def _faces(cone: CutCone) -> str:
    """Return which steps the steps face, for every belt that runs on the cone."""
    section, last = one_line(cone.section), len(cone.steps)
    told = []
    for faced in cone.faces:
        belt = "Belt" if len(cone.faces) == 1 else f"Belt {faced.stage},"
        way = "every step faces the step of the same number on the cone there"
        if faced.backward:
            way = f"step 1 faces step {last} of the cone there, and so on to step {last}, which faces step 1"
        told.append(f"{belt} {section} to {one_line(faced.shaft)}: {way}.")
    if len(cone.faces) > 1:
        told.append("No step carries both belts at once.")
    return " ".join(told)
