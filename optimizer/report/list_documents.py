"""Cut list and buying list as JSON documents, lengths in millimetres."""

from __future__ import annotations

from typing import Any, Literal

from optimizer.cuts import CutCone, cut_cones
from optimizer.cuts.buying import BuyingBelt, BuyingLine, buying_list
from optimizer.cuts.nesting import sawn
from optimizer.cuts.truing import Truing, truing
from optimizer.cuts.work_order import WorkStep, work_order
from optimizer.pipeline.job import Job
from optimizer.records.design import CheckSheet
from optimizer.records.figures import Document
from optimizer.records.nesting import Nesting
from optimizer.report.document import json_text, schema_of
from optimizer.scenario.base import Model

__all__ = ["buying_json", "buying_schema", "cuts_json", "cuts_schema"]

LINE = "belts in line"


class ConeDocument(Model):
    """One cone with its order of work."""

    cone: CutCone
    truing: Truing | None
    """How its rough blank is trued; nothing where nothing is turned from timber."""
    work: tuple[WorkStep, ...]
    """What to do, in its order; lengths in these sentences are in the maker's units."""


class CutsDocument(Document):
    """All that is cut for one machine."""

    format: Literal["conewright cuts 1"] = "conewright cuts 1"
    title: str
    scenario_sha256: str
    """Digest of the scenario's text that the design was made from."""
    cones: tuple[ConeDocument, ...]
    """Motor first, the driver of each stage before the driven; one that two belts share once."""
    in_line: tuple[CheckSheet, ...]
    """The checks that every belt runs in line."""
    sawn: Nesting | None
    """Where every square is sawn from; nothing where nothing is glued from layers."""


class BuyingDocument(Document):
    """All that is bought for one machine."""

    format: Literal["conewright buying 1"] = "conewright buying 1"
    title: str
    scenario_sha256: str
    """Digest of the scenario's text that the design was made from."""
    belts: tuple[BuyingBelt, ...]
    lines: tuple[BuyingLine, ...]
    remarks: tuple[str, ...]


def cuts_json(job: Job) -> str:
    """Return the cut list as JSON, keys in the order of the record, the same bytes for the same design."""
    cones = cut_cones(job)
    document = CutsDocument(
        title=job.scenario.title,
        scenario_sha256=job.design.scenario.sha256,
        cones=tuple(ConeDocument(cone=cone, truing=truing(cone, job), work=work_order(cone, job)) for cone in cones),
        in_line=tuple(check for check in job.design.checks if check.name.startswith(LINE)),
        sawn=sawn(job),
    )
    return json_text(document.model_dump(mode="json"))


def buying_json(job: Job) -> str:
    """Return the buying list as JSON, keys in the order of the record, the same bytes for the same design."""
    found = buying_list(job)
    document = BuyingDocument(
        title=job.scenario.title,
        scenario_sha256=job.design.scenario.sha256,
        belts=found.belts,
        lines=found.lines,
        remarks=found.remarks,
    )
    return json_text(document.model_dump(mode="json"))


def cuts_schema() -> dict[str, Any]:
    """Return the JSON schema of a cut list."""
    return schema_of(CutsDocument)


def buying_schema() -> dict[str, Any]:
    """Return the JSON schema of a buying list."""
    return schema_of(BuyingDocument)
