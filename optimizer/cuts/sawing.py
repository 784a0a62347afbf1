"""What is sawn from the maker's sheets: the squares of all layers of all cones."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.catalogue.plywood import plywood_sheets_mm
from optimizer.checks.in_hand import discs_in_hand
from optimizer.cuts.cones import CutCone, cut_cones
from optimizer.cuts.nesting import nest
from optimizer.pipeline.job import Job
from optimizer.pipeline.rebuilt import machine_of
from optimizer.records.nesting import Nesting, Square, Stock
from optimizer.scenario import Scenario

__all__ = ["sawn"]


def sawn(job: Job) -> Nesting | None:
    """Return the squares of all layers nested on the stated sheets; nothing where nothing is glued from layers.

    Nothing is sawn for steps that are cut from discs in hand.

    Where no sheets are stated, as many as it takes of the first usual size of plywood are taken.
    """
    return job.once("sawn", lambda: _sawn(cut_cones(job), job.scenario, frozenset(discs_in_hand(machine_of(job)))))


def _sawn(cones: Sequence[CutCone], scenario: Scenario, there: frozenset[tuple[str, int]]) -> Nesting | None:
    squares = [
        Square(name=f"{_name(cone)}, layer {layer.number}", side_mm=layer.square_mm)
        for cone in cones
        for layer in cone.layers
        if (cone.key, layer.position - 1) not in there
    ]
    if not squares:
        return None
    stocks = [Stock(width_mm=s.size_mm[0], length_mm=s.size_mm[1], count=s.count) for s in scenario.sheets]
    if not stocks:
        width, length = plywood_sheets_mm()[0]
        stocks = [Stock(width_mm=width, length_mm=length)]
    return nest(squares, stocks, scenario.making.kerf_mm, scenario.making.edge_mm)


def _name(cone: CutCone) -> str:
    """Return what squares of a cone are called, short enough to stand in them."""
    second = "" if cone.second_stage is None else f", {cone.second_stage} driver"
    return f"stage {cone.stage} {cone.side}{second}"
