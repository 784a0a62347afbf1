"""Which designs a comparison shows, each finished as a design is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.pipeline.built import built_machine
from optimizer.pipeline.choose import Tried
from optimizer.pipeline.compared import Draft
from optimizer.pipeline.criteria import BLANK, GRIP, TIMBER, Criterion
from optimizer.pipeline.finish import Finished, finish
from optimizer.pipeline.prefer import extreme_of, finish_preferred
from optimizer.pipeline.rejected import RejectedError, refuse_failing
from optimizer.records.comparison import MadeFor, WithoutDesign
from optimizer.records.layout import Layout
from optimizer.records.speeds import grip_of
from optimizer.scenario import Scenario
from optimizer.scoring import score
from optimizer.search import Searched

__all__ = ["CompareOptions", "Contender", "Drafting"]

WISHES: tuple[tuple[Literal["timber", "disc", "grip"], MadeFor, Criterion], ...] = (
    ("timber", "least timber", TIMBER),
    ("disc", "smallest largest disc", BLANK),
    ("grip", "best grip", GRIP),
)
"""What a maker may prefer, what the row is called, what it must be better at."""
NO_LOAD = 1e6
"""Stands for the grip of belts that need carry nothing."""


@dataclass(frozen=True)
class CompareOptions:
    """What there is a row for."""

    orders: bool = False
    """Every order of a layout, not only its best one."""
    extremes: bool = False
    """Designs of least timber and of the smallest largest disc too, where they differ from the best."""


class Contender(NamedTuple):
    """A layout whose search found a design."""

    tried: Tried
    searched: Searched

    @property
    def layout(self) -> Layout:
        """The layout with its order."""
        return self.tried.layout


class Drafting:
    """Finishes the designs to be shown, the one to be proposed first."""

    def __init__(self, scenario: Scenario, options: CompareOptions, clock: Clock) -> None:
        """Take the machine, what there is a row for, what ends the work."""
        self.scenario, self.options, self.clock = scenario, options, clock
        self.unfinished: list[WithoutDesign] = []
        """Layouts whose sizes cannot be turned, or fail a check."""
        self.rejected: list[RejectedError] = []

    def drafts(self, ranked: Sequence[Contender]) -> list[Draft]:
        """Return the designs of the rows by number of speeds, those of one number in the order given."""
        shown: list[tuple[int, list[Draft]]] = []
        names: set[str] = set()
        for contender in ranked:
            if contender.layout.name in names and not self.options.orders:
                continue
            best = self._best(contender)
            if best is None:
                continue
            names.add(contender.layout.name)
            speeds = contender.layout.speeds
            first = all(speeds != other for other, _ in shown)
            best = best._replace(best_of_speeds=first, proposed=not shown)
            shown.append((speeds, [best, *(self._extremes(contender, best) if self.options.extremes else ())]))
        return [draft for _, drafts in sorted(shown, key=lambda entry: entry[0]) for draft in drafts]

    def _best(self, contender: Contender) -> Draft | None:
        candidate, proof = contender.searched.found.candidate, contender.searched.found.proof
        assert candidate is not None
        self.clock.begin(f"layout {contender.layout.title}: refining")
        try:
            finished = finish(candidate, proof.structural, self.clock, close=False)
            self._refuse_failing(finished)
        except NoDesignError as error:
            reason = str(error)
            if isinstance(error, RejectedError):
                self.rejected.append(error)
                reason += "; conewright design with this layout looks on within narrower limits"
            entry = WithoutDesign(layouts=(contender.layout.title,), outcome="no design", reason=reason)
            self.unfinished.append(entry)
            return None
        return Draft(("least J",), finished, proof, "proved" if proof.status == "proved" else "found")

    def _refuse_failing(self, finished: Finished) -> None:
        refuse_failing(self.scenario, built_machine(finished.candidate.problem.stages, finished.candidate.stages))

    def _extremes(self, contender: Contender, best: Draft) -> Iterator[Draft]:
        """Yield the finished extremes that are better than the best design at what they are made for."""
        self.clock.begin(f"layout {contender.layout.title}: extremes")
        found = contender.searched.with_extremes(self.clock, grip=True)
        drafts: list[Draft] = []
        for wish, name, criterion in WISHES:
            extreme = extreme_of(found, wish)
            try:
                finished = finish_preferred(found, wish, self.clock)
                if finished is not None:
                    self._refuse_failing(finished)
            except NoDesignError:
                continue
            if extreme and finished and _cost(finished, criterion) < _cost(best.finished, criterion):
                drafts.append(Draft((name,), finished, best.proof, "proved" if extreme.proved else "found"))
        if len(drafts) > 1 and len({draft.finished.candidate.stages for draft in drafts}) == 1:
            drafts = [_joined(drafts)]
        yield from drafts


def _joined(drafts: Sequence[Draft]) -> Draft:
    """Return drafts of the same sizes as one, proved where all are."""
    names = tuple(name for draft in drafts for name in draft.made_for)
    proved = all(draft.status == "proved" for draft in drafts)
    return drafts[0]._replace(made_for=names, status="proved" if proved else "found")


def _cost(finished: Finished, criterion: Criterion) -> int:
    problem, stages = finished.candidate.problem, finished.candidate.stages
    if criterion is GRIP:
        return criterion.cost_of(min(grip_of(problem, stages), NO_LOAD))
    figures = score(problem, stages)
    return criterion.cost_of(figures.timber_mm3 if criterion is TIMBER else figures.largest_disc_mm)
