"""How good a design is: evenness, what was searched and proved, refinement, layouts that stood for choice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimizer.documents.blocks import MARKDOWN, PAGE, TERMINAL, Block, Lines, Rank, Rows, Section, Text, table_of
from optimizer.documents.changes import change_sections, ratio_sections
from optimizer.documents.checks import check_section
from optimizer.documents.figures import Units, counted, length, percent
from optimizer.records.design import ClosingSheet, Design, ExtremeSheet, ProofSheet, RefinementSheet, SeriesSheet
from optimizer.records.hand_belts import HandBelts
from optimizer.records.refined import SolverReport

__all__ = ["layout_words", "proof_answer", "proof_sections", "proof_words", "refinement_words"]

NAMES = {"j": "J", "f": "F"}


def proof_answer(design: Design) -> Section:
    """Return what the terminal says of how good a design is."""
    return Section("", [Lines(_proof_lines(design), rank=Rank.ANSWER)], only=TERMINAL)


def proof_sections(design: Design) -> Iterator[Section]:
    """Yield how good a design is and how that is known, layouts that stood for choice, checks."""
    units = design.scenario.units
    lines = [f"{line}." for line in (*_proof_lines(design), _solver_words(design.refinement.solver))]
    blocks: list[Block] = [Lines(lines, rank=Rank.PROOF)]
    if design.extremes:
        extremes = table_of(
            design.extremes,
            ("best at", lambda e: e.best_at),
            ("value", lambda e: _extreme_amount(e, units)),
            ("how sure", lambda e: "proved" if e.proved else "found, not proved"),
            ("J", lambda e: percent(e.j, 3)),
        )
        blocks += [
            Text("Within the slack of the best J:", only=MARKDOWN),
            Lines([f"{best}: {value}, {sure}, J {j}" for best, value, sure, j in extremes.rows], only=MARKDOWN),
            Rows(extremes, "Extremes within the slack of the best J", only=PAGE),
        ]
    more = [*ratio_sections(design.other_ratios), *(change_sections(design.changes, units) if design.changes else ())]
    tried = table_of(
        design.tried,
        ("layout", lambda entry: entry.title),
        ("outcome", lambda entry: entry.outcome),
        (
            "J" if design.series.largest_gap is None else "F",
            lambda entry: "" if entry.j is None else percent(entry.j, 3),
        ),
        ("turned steps", lambda entry: "" if entry.turned_steps is None else str(entry.turned_steps)),
        ("belt moves", lambda entry: str(entry.belt_moves)),
        ("why", lambda entry: entry.said),
    )
    stood = Rows(tried, "Layouts with what became of them", rank=Rank.PROOF)
    layouts, checks = Section("Layouts that stood for choice", [stood], anchor="layouts"), check_section(design)
    yield Section("How good it is", [*blocks, *more, layouts, checks], only=MARKDOWN)
    page = (checks, Section("What was searched and proved", [*blocks, *more], anchor="proof"), layouts)
    yield from (replace(section, only=PAGE) for section in page)


def _proof_lines(design: Design) -> list[str]:
    """Return evenness, belts in hand, proof, closing proof, refinement, a sentence each without its full stop."""
    return [
        _evenness_words(design.series),
        *_hand_belt_words(design.hand_belts),
        *proof_words(design.proof, design.series),
        _closing_words(design.closing),
        refinement_words(design.refinement),
    ]


def layout_words(design: Design) -> str:
    """Return the layout with what it asks of the maker."""
    layout, machine = design.layout, design.machine
    shown = sum(speed.on_plate for speed in machine.speeds)
    on_plate = f", {shown} of them on the plate" if shown < len(machine.speeds) else ""
    order = "" if layout.order == "one stage" else f", {layout.order}"
    return (
        f"Layout {layout.name}{order}: {counted(len(machine.speeds), 'speed')}{on_plate}, "
        f"{counted(layout.turned_steps, 'step')} to turn, "
        f"{counted(layout.belt_moves, 'belt move')} from the slowest speed to the fastest"
    )


def _evenness_words(series: SeriesSheet) -> str:
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


def _hand_belt_words(told: tuple[HandBelts, ...]) -> Iterator[str]:
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


def _closing_words(closing: ClosingSheet) -> str:
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


def _solver_words(solver: SolverReport) -> str:
    """Return what the solver of the refinement said of itself."""
    return f"Solver {solver.method}, status {solver.status}: {solver.message.rstrip('.')}"


def _extreme_amount(extreme: ExtremeSheet, units: Units) -> str:
    """Return timber in litres, a disc in the maker's units, grip as it is."""
    if extreme.best_at == "least timber":
        return f"{extreme.value / 1e6:.3f} litres"
    return f"{extreme.value:.2f}" if extreme.best_at == "best grip" else f"{length(extreme.value, units)} {units}"
