"""One step of an order of work, and what all orders are written from."""

from __future__ import annotations

from typing import NamedTuple

from optimizer.cuts.bench_words import BenchWords
from optimizer.cuts.cones import CutCone
from optimizer.cuts.truing import Truing, truing
from optimizer.pipeline.job import Job
from optimizer.records.shafts import TurningSheet
from optimizer.scenario.base import Model

__all__ = ["GEOMETRY", "JUDGEMENT", "PRACTICE", "OrderOf", "WorkStep", "step"]

PRACTICE = "common practice, no source"
JUDGEMENT = "judgement"
GEOMETRY = "geometry"


class WorkStep(Model):
    """One thing to do, in its turn, with what is measured before the next."""

    number: int = 0
    """Counted from 1."""
    name: str
    what: str
    """What to do, in sentences."""
    check: str = ""
    """What to measure, what it must be, what is allowed; empty where nothing is measured."""
    caution: str = ""
    source: str = ""
    """Where the figures and the practice come from."""


class OrderOf(NamedTuple):
    """What an order of work is written from."""

    cone: CutCone
    job: Job
    words: BenchWords
    truing: Truing | None

    @staticmethod
    def of(cone: CutCone, job: Job) -> OrderOf:
        """Return what the order of one cone is written from."""
        return OrderOf(cone, job, BenchWords.of(job.scenario), truing(cone, job))

    @property
    def glued(self) -> bool:
        """Whether it is glued from layers of a stated thickness."""
        return bool(self.cone.layers)

    @property
    def timber(self) -> bool:
        """Whether anything is turned from timber."""
        return self.cone.material == "timber" and bool(self.cone.turned)

    @property
    def left_on_mm(self) -> float:
        """What the first turning leaves on every diameter for the second.

        Half of what truing takes, one tick of the turning where truing takes less; nothing on metal. Judgement.
        """
        making = self.job.scenario.making
        return max(making.truing_mm / 2, making.turn_to_mm) if self.timber else 0.0

    @property
    def turning(self) -> TurningSheet | None:
        """What the greatest speed of the shaft asks of the cone."""
        return next((sheet for sheet in self.job.design.shafts.cones if sheet.key == self.cone.key), None)

    def each(self, sizes: dict[int, float | None]) -> str:
        """Return sizes by step, such as `step 1 88.10 mm, step 2 148.60 mm`; those without one are left out."""
        return ", ".join(f"step {n} {self.words.size(mm)}" for n, mm in sizes.items() if mm is not None)


def step(name: str, what: str, check: str = "", caution: str = "", source: str = "") -> WorkStep:
    """Return a step that has no number yet."""
    return WorkStep(name=name, what=what, check=check, caution=caution, source=source)
