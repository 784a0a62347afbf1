"""How good a design is: evenness, what was searched and proved, refinement, layouts that stood for choice."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.blocks import Table
from optimizer.documents.changes import buy_words, ratio_sentence, ratio_table, spare_table
from optimizer.documents.figures import Units, counted, length
from optimizer.documents.html import Markup, html_table, listing, part, tag
from optimizer.quantities.written import percent
from optimizer.records.changes import HandBelts
from optimizer.records.design import ClosingSheet, Design, ExtremeSheet, ProofSheet, RefinementSheet, SeriesSheet
from optimizer.records.refined import SolverReport

__all__ = [
    "closing_words",
    "evenness_words",
    "extreme_amount",
    "hand_belt_words",
    "layout_words",
    "proof_part",
    "proof_words",
    "refinement_words",
    "solver_words",
    "tried_part",
    "tried_table",
]


NAMES = {"j": "J", "f": "F"}


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


def tried_table(design: Design) -> Table:
    """Return the layouts that stood for choice, with what became of them."""
    rows = (
        (
            entry.title,
            entry.outcome,
            "" if entry.j is None else percent(entry.j, 3),
            "" if entry.turned_steps is None else str(entry.turned_steps),
            str(entry.belt_moves),
            entry.said,
        )
        for entry in design.tried
    )
    judged = "J" if design.series.largest_gap is None else "F"
    return Table(("layout", "outcome", judged, "turned steps", "belt moves", "why"), tuple(rows))


def extreme_amount(extreme: ExtremeSheet, units: Units) -> str:
    """Return timber in litres, a disc in the maker's units, grip as it is."""
    if extreme.best_at == "least timber":
        return f"{extreme.value / 1e6:.3f} litres"
    return f"{extreme.value:.2f}" if extreme.best_at == "best grip" else f"{length(extreme.value, units)} {units}"


def proof_part(design: Design) -> Markup:
    """Return the section of what was searched and proved."""
    said = [evenness_words(design.series), *hand_belt_words(design.hand_belts)]
    said += proof_words(design.proof, design.series)
    said += [closing_words(design.closing), refinement_words(design.refinement), solver_words(design.refinement.solver)]
    return part("proof", "What was searched and proved", [listing(f"{line}." for line in said), *_more(design)])


def tried_part(design: Design) -> Markup:
    """Return the section of layouts that stood for choice."""
    table = tried_table(design)
    return part("layouts", "Layouts that stood for choice", [html_table(table, "Layouts with what became of them")])


def _more(design: Design) -> Iterator[Markup]:
    units = design.scenario.units
    if design.extremes:
        rows = (
            (e.best_at, extreme_amount(e, units), "proved" if e.proved else "found, not proved", percent(e.j, 3))
            for e in design.extremes
        )
        table = Table(("best at", "value", "how sure", "J"), tuple(rows))
        yield html_table(table, "Extremes within the slack of the best J")
    if design.other_ratios:
        yield tag("h3", "Other ratios of gears")
        yield tag("p", f"{ratio_sentence(design.other_ratios)}.")
        yield html_table(ratio_table(design.other_ratios), "Best listed design of each ratio, all else as it is")
    if design.changes:
        yield tag("h3", "What every limit could give up")
        yield html_table(
            spare_table(design.changes.spare, units), "One limit at a time, before the last design is lost"
        )
        yield listing(buy_words(buy, units) for buy in design.changes.buys)
