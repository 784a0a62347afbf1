"""One row of a comparison, from a layout's finished design."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, isfinite
from typing import Literal, NamedTuple

from optimizer.pipeline.built import built_machine
from optimizer.pipeline.criteria import best_at, undominated
from optimizer.pipeline.finish import Finished
from optimizer.pipeline.machine import machine_sheet
from optimizer.records.built import BuiltMachine, BuiltStage
from optimizer.records.candidate import Candidate
from optimizer.records.comparison import ComparedRow, ComparedStage, MadeFor, RowProof
from optimizer.records.proof import Proof
from optimizer.records.sheet import StageSheet
from optimizer.records.speeds import grip_of
from optimizer.scenario import Scenario
from optimizer.scoring import score

__all__ = ["Draft", "compared_rows"]


class Draft(NamedTuple):
    """A finished design that becomes a row."""

    made_for: tuple[MadeFor, ...]
    finished: Finished
    proof: Proof
    """What the search said of the layout."""
    status: Literal["proved", "found"]
    """Whether no listed design is better at what it was made for."""
    best_of_speeds: bool = False
    proposed: bool = False


def compared_rows(scenario: Scenario, drafts: Sequence[Draft]) -> tuple[ComparedRow, ...]:
    """Return a row for every design, numbered in their order, with what each of them is best at."""
    rows = [_row(scenario, number, draft) for number, draft in enumerate(drafts, 1)]
    updates = zip(rows, best_at(rows), undominated(rows), strict=True)
    return tuple(row.model_copy(update={"best_at": names, "undominated": alone}) for row, names, alone in updates)


def _row(scenario: Scenario, number: int, draft: Draft) -> ComparedRow:
    candidate = draft.finished.candidate
    layout, figures = candidate.problem.layout, score(candidate.problem, candidate.stages)
    built = built_machine(candidate.problem.stages, candidate.stages)
    stages = _stages(scenario, built)
    return ComparedRow(
        number=number,
        name=layout.name,
        order=layout.order,
        title=layout.title,
        offsets=layout.offsets,
        switched=layout.switched,
        made_for=draft.made_for,
        speeds_rpm=figures.speeds_rpm,
        band_counts=figures.band_counts,
        end_miss=figures.end_miss,
        unevenness=figures.unevenness,
        j=figures.j,
        advised=figures.advised,
        widest_gap=exp(figures.widest_gap) - 1,
        turned_steps=figures.turned_steps,
        largest_disc_mm=figures.largest_disc_mm,
        timber_mm3=figures.timber_mm3,
        belt_moves=figures.belt_moves,
        least_wrap_deg=min(stage.least_wrap_deg for stage in stages),
        grip=_known_grip(candidate),
        stages=stages,
        proof=_proof(draft, figures.j),
        best_at=(),
        undominated=False,
        best_of_speeds=draft.best_of_speeds,
        proposed=draft.proposed,
    )


def _known_grip(candidate: Candidate) -> float | None:
    grip = grip_of(candidate.problem, candidate.stages)
    return grip if isfinite(grip) else None


def _stages(scenario: Scenario, built: BuiltMachine) -> tuple[ComparedStage, ...]:
    sheets = machine_sheet(scenario, built).stages
    return tuple(_stage(sheet, sizes) for sheet, sizes in zip(sheets, built.stages, strict=True))


def _stage(sheet: StageSheet, sizes: BuiltStage) -> ComparedStage:
    own = [p.centre_mm for p in sheet.positions if p.centre_mm is not None]
    wraps = [wrap for p in sheet.positions for wrap in (p.driver_wrap_deg, p.driven_wrap_deg) if wrap is not None]
    return ComparedStage(
        key=sheet.key,
        driver_shaft=sheet.driver_shaft,
        driven_shaft=sheet.driven_shaft,
        marking=sheet.marking,
        centres_mm=sheet.centres.running_mm or (min(own), max(own)),
        least_wrap_deg=min(wraps),
        driver_outside_mm=sizes.driver_outside_mm,
        driven_outside_mm=sizes.driven_outside_mm,
    )


def _proof(draft: Draft, final: float) -> RowProof:
    return RowProof(
        status=draft.status,
        structural=draft.proof.structural,
        listed=draft.proof.listed if "least J" in draft.made_for else draft.finished.refined.candidate_j,
        gap=draft.proof.gap,
        end_to_end_gap=final - draft.proof.structural,
        combinations=draft.proof.combinations,
        examined=draft.proof.examined,
        held_bytes=draft.proof.held_bytes,
        closing=draft.finished.closing.status if draft.finished.closing else "not made",
    )
