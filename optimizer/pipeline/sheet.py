"""The record of a design, from what every stage of the work said."""

from __future__ import annotations

from math import exp, pi
from typing import Literal, NamedTuple

from optimizer.checks.stated import Machine
from optimizer.pipeline.choose import Choice, Tried
from optimizer.pipeline.finish import BEST_AT, Finished
from optimizer.pipeline.machine import machine_sheet
from optimizer.pipeline.no_design import RejectedError
from optimizer.pipeline.options import DesignOptions
from optimizer.pipeline.sheets import (
    around_sheet,
    band_surface,
    carrying_sheet,
    cautions_of,
    check_sheets,
    gear_sheets,
    hanging_sheet,
    scenario_sheet,
    shafts_sheet,
    skipped_sheets,
    versions_of,
    work_size_sheet,
)
from optimizer.pipeline.tolerance import tolerance_sheet
from optimizer.records.changes import Changes, HandBelts, RatioTrial
from optimizer.records.design import (
    BandSheet,
    ClosingSheet,
    Design,
    DesignedLayout,
    ExtremeSheet,
    ExtremeStage,
    ProofSheet,
    RefinementSheet,
    SeriesSheet,
    TriedLayout,
)
from optimizer.records.layout import Layout
from optimizer.records.proof import Extreme, Found, Proof
from optimizer.records.sheet import MachineSheet
from optimizer.scenario import Scenario
from optimizer.scoring import Score, score

__all__ = ["Result", "Told", "design_record", "design_sheet", "proof_sheet", "series_sheet"]


class Result(NamedTuple):
    """What the stages of the work said; `changes` where they were asked for."""

    options: DesignOptions
    choice: Choice
    found: Found
    """The search of the chosen layout, extremes included."""
    finished: Finished
    changes: Changes | None = None
    hand_belts: tuple[HandBelts, ...] = ()
    other_ratios: tuple[RatioTrial, ...] = ()
    instead_of: tuple[RejectedError, ...] = ()
    """What better designs of its layout fail, which were found before limits were narrowed to keep clear of that."""


class Told(NamedTuple):
    """What a design tells of how it was found, beside its machine."""

    preferred: Literal["evenness", "timber", "disc", "grip"]
    layout: Layout
    belt_moves: int
    turned_steps: int
    series: SeriesSheet
    proof: ProofSheet
    closing: ClosingSheet
    refinement: RefinementSheet
    tried: tuple[TriedLayout, ...]
    extremes: tuple[ExtremeSheet, ...] = ()
    hand_belts: tuple[HandBelts, ...] = ()
    other_ratios: tuple[RatioTrial, ...] = ()
    changes: Changes | None = None
    remarks: tuple[str, ...] = ()


def design_sheet(machine: Machine, result: Result) -> Design:
    """Return the record of the design, its machine as it was read from the outside diameters and checked."""
    final = result.finished.candidate
    figures = score(final.problem, final.stages)
    told = Told(
        preferred=result.options.prefer,
        layout=final.problem.layout,
        belt_moves=final.problem.layout.belt_moves,
        turned_steps=figures.turned_steps,
        series=series_sheet(figures),
        proof=proof_sheet(result.found.proof, figures.j),
        closing=_closing(result),
        extremes=tuple(map(_extreme, result.found.extremes)),
        refinement=_refinement(result.finished),
        tried=tuple(_tried(entry, final.problem.layout) for entry in result.choice.tried),
        hand_belts=result.hand_belts,
        other_ratios=result.other_ratios,
        changes=result.changes,
        remarks=_remarks(result, figures),
    )
    return design_record(machine, told)


def design_record(machine: Machine, told: Told) -> Design:
    """Return the record of a machine as built, with the checks made from its outside diameters."""
    scenario = machine.scenario
    sheet = machine_sheet(machine)
    return Design(
        scenario=scenario_sheet(scenario),
        preferred=told.preferred,
        layout=_layout(told, sheet),
        machine=sheet,
        bands=_bands(scenario, sheet),
        work_size=work_size_sheet(machine),
        carrying=carrying_sheet(machine),
        gears=gear_sheets(machine),
        hanging=hanging_sheet(machine),
        shafts=shafts_sheet(machine),
        around=around_sheet(machine),
        tolerance=tolerance_sheet(machine),
        series=told.series,
        proof=told.proof,
        closing=told.closing,
        extremes=told.extremes,
        refinement=told.refinement,
        checks=check_sheets(machine),
        skipped=skipped_sheets(machine),
        tried=told.tried,
        hand_belts=told.hand_belts,
        other_ratios=told.other_ratios,
        changes=told.changes,
        remarks=(*scenario.remarks, *told.remarks),
        cautions=cautions_of(scenario),
        versions=versions_of("numpy", "scipy", "pydantic"),
    )


def _layout(told: Told, machine: MachineSheet) -> DesignedLayout:
    """Return the layout, its discs as the machine's steps have them; a shared cone's are those of one stage."""
    discs = [
        (step.blank_mm, stage.step_width_mm)
        for stage in machine.stages
        for position in stage.positions
        for step in ((position.driven,) if stage.shared_driver else (position.driver, position.driven))
        if step.blank_mm is not None
    ]
    return DesignedLayout(
        name=told.layout.name,
        order=told.layout.order,
        offsets=told.layout.offsets,
        switched=told.layout.switched,
        belt_moves=told.belt_moves,
        turned_steps=told.turned_steps,
        timber_mm3=sum(pi / 4 * disc**2 * width for disc, width in discs),
        largest_disc_mm=max((disc for disc, _ in discs), default=0.0),
    )


def _bands(scenario: Scenario, machine: MachineSheet) -> tuple[BandSheet, ...]:
    return tuple(
        BandSheet(
            name=band.name,
            from_rpm=band.from_rpm,
            to_rpm=band.to_rpm,
            want=band.want,
            speeds_rpm=tuple(speed.rpm for speed in machine.speeds if band.name in speed.bands),
            surface=band_surface(scenario, band),
        )
        for band in scenario.bands
    )


def series_sheet(figures: Score) -> SeriesSheet:
    """Return how even speeds are."""
    return SeriesSheet(
        ratio=figures.ratio,
        first_rpm=exp(figures.start),
        end_miss=figures.end_miss,
        unevenness=figures.unevenness,
        j=figures.j,
        ends_advised=figures.ends_advised,
        evenness_advised=figures.evenness_advised,
        widest_gap=exp(figures.widest_gap) - 1,
    )


def proof_sheet(proof: Proof, final: float) -> ProofSheet:
    """Return what a search proved of a design whose J, or F, is `final`."""
    return ProofSheet(
        status="proved" if proof.status == "proved" else "not proved",
        reason=proof.reason,
        ideal=proof.ideal,
        structural=proof.structural,
        listed=proof.listed,
        final=final,
        bound=proof.bound,
        gap=proof.gap,
        end_to_end_gap=final - proof.structural,
        combinations=proof.combinations,
        examined=proof.examined,
        ruled_out=proof.ruled_out,
        pairs=proof.pairs,
        held_bytes=proof.held_bytes,
    )


def _closing(result: Result) -> ClosingSheet:
    closing, j = result.finished.closing, result.finished.j
    if closing is None:
        said = "not made, since J was not what was made best"
        return ClosingSheet(status="not made", bound=0.0, examined=0, combinations=0, said=said)
    said = {
        "none better": "with this layout and these belts no better design can be turned",
        "better": "a better design on whole ticks was found with this layout and these belts, and is this one",
        "not proved": f"not proved: {closing.reason}",
    }[closing.status]
    return ClosingSheet(
        status=closing.status,
        bound=min(closing.bound, j),
        examined=closing.examined,
        combinations=closing.combinations,
        said=said,
    )


def _extreme(extreme: Extreme) -> ExtremeSheet:
    problem, stages = extreme.candidate.problem, extreme.candidate.stages
    return ExtremeSheet(
        best_at=extreme.best_at,
        value=extreme.value,
        proved=extreme.proved,
        j=score(problem, stages).j,
        stages=tuple(
            ExtremeStage(
                marking=sizes.belt.marking,
                driver_outside_mm=tuple(round(p.driver_mm + rules.driver.outside_shift_mm, 6) for p in sizes.positions),
                driven_outside_mm=tuple(round(p.driven_mm + rules.driven.outside_shift_mm, 6) for p in sizes.positions),
            )
            for rules, sizes in zip(problem.stages, stages, strict=True)
        ),
    )


def _refinement(finished: Finished) -> RefinementSheet:
    refined, rounded = finished.refined, finished.rounded
    return RefinementSheet(
        goal=refined.goal,
        kept=finished.kept,
        why=finished.why,
        candidate_j=refined.candidate_j,
        smooth_j=refined.smooth_j,
        rounded_j=rounded.j if rounded.stages is not None else None,
        structural_met=refined.reaches_bound,
        binding=refined.binding,
        solver=refined.solver,
    )


def _tried(entry: Tried, chosen: Layout) -> TriedLayout:
    figures = entry.score
    return TriedLayout(
        title=entry.layout.title,
        outcome="chosen" if entry.layout == chosen else entry.outcome,
        said=entry.said,
        j=figures.j if figures else None,
        end_miss=figures.end_miss if figures else None,
        unevenness=figures.unevenness if figures else None,
        advised=figures.advised if figures else None,
        turned_steps=figures.turned_steps if figures else None,
        belt_moves=entry.layout.belt_moves,
    )


def _remarks(result: Result, figures: Score) -> tuple[str, ...]:
    said = []
    if not result.choice.score.advised:
        said.append(
            "No layout has a design with end miss and unevenness within what is advised; "
            "this one has the least J of those that meet the wants."
        )
    if result.instead_of:
        said.append(
            f"A better design of this layout was found and is not shown, as it fails {result.instead_of[0].words}. "
            "This one is the best within limits that were narrowed to keep clear of that; its proof is of these limits."
        )
    if result.options.prefer != "evenness":
        said.append(_on_preference(result, figures))
    return tuple(said)


def _on_preference(result: Result, figures: Score) -> str:
    name = BEST_AT[result.options.prefer]
    extreme = next((e for e in result.found.extremes if e.best_at == name), None)
    if extreme is None:
        return f"There is no design of {name} to prefer; this one has the least J."
    value, unit = (figures.timber_mm3, "mm³") if result.options.prefer == "timber" else (figures.largest_disc_mm, "mm")
    how = "proved" if extreme.proved else "found"
    return (
        f"Preferred: {name}. Over the listed sizes the search {how} {extreme.value:.6g} {unit}; "
        f"refined within the slack and rounded to what can be turned it is {value:.6g} {unit}, found, not proved."
    )
