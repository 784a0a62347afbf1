"""What a result says in words: its layout, proof, refinement, checks."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.design import CheckSheet, ClosingSheet, Design, ProofSheet, RefinementSheet, SeriesSheet
from optimizer.records.hand_belts import HandBelts
from optimizer.records.refined import SolverReport
from optimizer.records.sheet import MachineSheet, StageSheet
from optimizer.report.figures import Units, percent, unit_and_size
from optimizer.report.tables import place_words

__all__ = [
    "check_summary",
    "closing_words",
    "evenness_words",
    "hand_belt_words",
    "layout_words",
    "line_words",
    "pitch_words",
    "proof_words",
    "refinement_words",
    "solver_words",
    "troubles",
]

ROUGH = frozenset({"kW", "times", "s", "N m", "1/s"})
"""Units in which nothing is known to more than three digits."""
BURSTS = ("fastest speed", "shaft speed", "marked surface speed", "rim speed, ")
"""How the names of checks begin of what can burst by speed; it is told how near they come."""
NEAR = 0.1
NAMES = {"j": "J", "f": "F"}


def layout_words(design: Design) -> str:
    """Return the layout with what it asks of the maker."""
    layout, machine = design.layout, design.machine
    shown = sum(speed.on_plate for speed in machine.speeds)
    on_plate = f", {shown} of them on the plate" if shown < len(machine.speeds) else ""
    order = "" if layout.order == "one stage" else f", {layout.order}"
    return (
        f"Layout {layout.name}{order}: {_count(len(machine.speeds), 'speed')}{on_plate}, "
        f"{_count(layout.turned_steps, 'step')} to turn, "
        f"{_count(layout.belt_moves, 'belt move')} from the slowest speed to the fastest"
    )


def evenness_words(series: SeriesSheet) -> str:
    """Return end miss, unevenness, and whether they are within what is advised."""
    beyond = [
        words
        for within, words in ((series.ends_advised, "the end miss"), (series.evenness_advised, "the unevenness"))
        if not within
    ]
    advice = f"; {' and '.join(beyond)} beyond what is advised" if beyond else "; both within what is advised"
    if series.largest_gap is not None:
        return (
            f"End miss {percent(series.end_miss)}, largest step of all speeds {percent(series.largest_gap, 1)}; those "
            f"on the plate: unevenness {percent(series.unevenness)}, ratio {series.ratio:.4f}, widest step "
            f"{percent(series.widest_gap, 1)}{advice}"
        )
    return (
        f"End miss {percent(series.end_miss)}, unevenness {percent(series.unevenness)}, "
        f"ratio of the series {series.ratio:.4f}, widest step {percent(series.widest_gap, 1)}{advice}"
    )


def proof_words(proof: ProofSheet, series: SeriesSheet) -> Iterator[str]:
    """Yield the figures of what was made best, and what they prove."""
    if series.largest_gap is None:
        what = f"J, the weighted sum of both: ideal {percent(proof.ideal, 3)}, "
    else:
        what = "F, the weighted sum of end miss and largest step, as logarithms: "
    yield (
        f"{what}structural {percent(proof.structural, 3)}, listed {percent(proof.listed, 3)}, "
        f"final {percent(proof.final, 3)}; final less structural {percent(proof.end_to_end_gap, 3)}"
    )
    if proof.status == "proved":
        yield (
            f"Proved over the listed sizes: of {proof.combinations:,} combinations {proof.examined:,} were looked at, "
            f"the bound ruled out the rest; {proof.held_bytes / 1e6:.1f} MB were held at most"
        )
    else:
        yield f"Not proved, gap {percent(proof.gap, 3)}: {proof.reason}"


def hand_belt_words(told: tuple[HandBelts, ...]) -> Iterator[str]:
    """Yield what belts in hand cost in J, or would cost, a sentence each set of stages."""
    for entry in told:
        where = f"on stage{'s' * (len(entry.stages) > 1)} {' and '.join(map(str, entry.stages))}"
        if entry.j is None or entry.cost is None:
            yield f"Belts in hand {where}: no design; {entry.why}"
            continue
        sure = "" if entry.proved else ", not proved"
        said = "used" if entry.used else f"not used: {entry.why}"
        yield (
            f"Belts in hand {where} ({', '.join(entry.markings)}): J {percent(entry.j, 3)} over the listed "
            f"sizes{sure}, {100 * entry.cost:.3f} points more than on any belts; {said}"
        )


def closing_words(closing: ClosingSheet) -> str:
    """Return what the closing search over sizes on whole ticks said."""
    covered = (
        f" ({closing.combinations:,} combinations, {closing.examined:,} looked at)" if closing.combinations else ""
    )
    return f"Closing proof: {closing.said}{covered}"


def refinement_words(refinement: RefinementSheet) -> str:
    """Return what refinement brought, and which sizes are the final ones."""
    origin = {
        "refined": "the refined sizes, rounded",
        "candidate": "the listed sizes",
        "ticks": "those of the closing search",
    }[refinement.kept]
    rounded = "none can be turned" if refinement.rounded_j is None else f"{percent(refinement.rounded_j, 3)} rounded"
    name = NAMES.get(refinement.goal, "J")
    figures = (
        f"{name} {percent(refinement.candidate_j, 3)} listed, {percent(refinement.smooth_j, 3)} refined, {rounded}; "
        f"{_met_words(refinement)}{_binding_words(refinement)}"
    )
    made = {
        "j": "",
        "f": "",
        "timber": " for least timber within the slack",
        "disc": " for the smallest largest disc within the slack",
    }
    return f"Refinement{made[refinement.goal]}: {figures}. Final sizes: {origin}; {refinement.why}"


def _met_words(refinement: RefinementSheet) -> str:
    if refinement.goal not in NAMES:
        return "found, not proved"
    return "the structural bound is met" if refinement.structural_met else "the structural bound is not met"


def _binding_words(refinement: RefinementSheet) -> str:
    """Return which limits bind, with what a little more of each would bring."""
    name = {**NAMES, "timber": "timber", "disc": "the largest disc"}[refinement.goal]
    said = []
    for limit in refinement.binding:
        where = f", {' and '.join(limit.places)}" if limit.places else ""
        cost = f" ({name} falls {percent(limit.falls)} for each {limit.unit})" if limit.falls is not None else ""
        said.append(f"{limit.limit}{where}{cost}")
    return f"; what binds: {'; '.join(said)}" if said else ""


def solver_words(solver: SolverReport) -> str:
    """Return what the solver of the refinement said of itself."""
    return f"Solver {solver.method}, status {solver.status}: {solver.message.rstrip('.')}"


def line_words(stage: StageSheet) -> str:
    """Return on which line the diameters were given."""
    own = stage.lines[1:] if stage.shared_driver else stage.lines  # the stage before tells of the cone it shares
    given = "; ".join(f"{line.side} on the line: {line.measured}, groove {line.groove}" for line in own)
    return f"Diameters given: {given}. Slip {percent(stage.slip, 1)}. {pitch_words(stage)}."


def pitch_words(stage: StageSheet) -> str:
    """Return on which line speeds are computed, with how much the outside diameters would change them."""
    change = percent(stage.other_line_change, 1)
    return f"Speeds are computed on the pitch line; by outside diameters ratios would differ by up to {change}"


def check_summary(checks: tuple[CheckSheet, ...]) -> str:
    """Return how many checks were passed, warned, failed."""
    failed = sum(not c.passed and c.kind != "advice" for c in checks)
    warned = sum(not c.passed and c.kind == "advice" for c in checks)
    passed = len(checks) - failed - warned
    return (
        f"Checks: {passed} passed, {_count(warned, 'warning')}, {failed} FAILED"
        if failed
        else (f"Checks: {passed} passed, {_count(warned, 'warning')}")
    )


def troubles(checks: tuple[CheckSheet, ...], machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield one sentence for every check not passed, what cannot be first, then for what can burst near its limit."""
    order = {"impossible": 0, "limit": 1, "advice": 2}
    told = [c for c in checks if not c.passed or _near(c)]
    for c in sorted(told, key=lambda c: (c.passed, order[c.kind], c.where, c.name)):
        word = "near its limit" if c.passed else "warning" if c.kind == "advice" else f"FAILED ({c.kind})"
        note = f": {c.note}" if c.note else ""
        unit, size = unit_and_size(c.unit, units)
        digits = 3 if c.unit in ROUGH else 6
        value = f"{_figure(c.value, size, digits)} {unit}, limit {_figure(c.limit, size, digits)} {unit}"
        yield f"{word}: {place_words(c.where, machine)}: {c.name} is {value}{note}"


def _near(check: CheckSheet) -> bool:
    """Tell whether something that can burst comes nearer than a tenth to its limit."""
    return (
        check.passed
        and check.kind == "limit"
        and check.name.startswith(BURSTS)
        and (check.margin or 0.0) < NEAR * check.limit
    )


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _figure(value: float | None, size: float, digits: int) -> str:
    return "unknown" if value is None else f"{value / size:.{digits}g}"
