"""Which layout is proposed first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from optimizer.records.candidate import Candidate
from optimizer.records.layout import Layout
from optimizer.records.problem import Problem
from optimizer.records.proof import Found
from optimizer.scoring import Score, score

__all__ = ["Choice", "Searcher", "Stated", "Tried", "choose", "fewest_turned_steps", "in_order", "judged"]

Stated = tuple[Layout, Problem | str]
"""A layout with its problem, or with the reason why it has none."""


class Searcher(Protocol):
    """Finds the best design of one layout."""

    def __call__(self, problem: Problem, /) -> Found:
        """Return the best design with its proof, or why there is none."""


@dataclass(frozen=True)
class Tried:
    """A layout that stood for choice, with what became of it."""

    layout: Layout
    said: str = ""
    """Why it has no design, or was not searched."""
    found: Found | None = None
    """What the search said; nothing where it was not asked."""
    score: Score | None = None
    """Figures of its best design, where it has one."""
    searchable: bool = True
    """Whether there was a problem to search at all."""

    @property
    def outcome(self) -> Literal["passed over", "no design", "not searched", "set aside", "stopped"]:
        """What became of it, were another chosen."""
        if self.score is not None:
            return "passed over"
        if self.found is None:
            return "not searched" if self.searchable else "no design"
        if self.found.proof.status == "set aside":
            return "set aside"
        return "stopped" if self.found.proof.status == "not proved" else "no design"


@dataclass(frozen=True)
class Choice:
    """The layout that is proposed, with all that stood beside it."""

    problem: Problem
    candidate: Candidate
    found: Found
    score: Score
    tried: tuple[Tried, ...]


def choose(stated: Sequence[Stated], search: Searcher) -> tuple[Choice | None, tuple[Tried, ...]]:
    """Search layouts until none that is left could be proposed before the best so far.

    A layout is proposed for the fewest turned steps among those whose best design is within what is advised,
    then for the fewest belt moves, then for the least J; if none is within it, for the least J alone. Layouts
    are searched in the order of the fewest turned steps they can have, so that once one is within the advice
    those that must turn more, or move more belts for as many, need no search.

    Parameters
    ----------
    stated
        Every layout with its problem, or with the reason why it has none.
    search
        Finds the best design of a problem.

    Returns
    -------
    tuple
        The choice, nothing where no layout has a design; and every layout with what became of it, in the
        order they were stated.
    """
    tried = {
        number: Tried(layout, problem, searchable=False)
        for number, (layout, problem) in enumerate(stated)
        if isinstance(problem, str)
    }
    best: tuple[int, Score] | None = None
    for number, problem in in_order(stated):
        least = fewest_turned_steps(problem), problem.layout.belt_moves
        if best is not None and best[1].advised and best[1].rank[1:3] < least:
            tried[number] = Tried(problem.layout, _needs_more(best[1], least[0]))
            continue
        tried[number] = entry = judged(problem, search(problem))
        if entry.score and (best is None or entry.score.rank < best[1].rank):
            best = (number, entry.score)
    lines = tuple(tried[number] for number in sorted(tried))
    if best is None:
        return None, lines
    chosen = tried[best[0]]
    assert chosen.found is not None and chosen.found.candidate is not None
    candidate = chosen.found.candidate
    return Choice(candidate.problem, candidate, chosen.found, best[1], lines), lines


def in_order(stated: Sequence[Stated]) -> list[tuple[int, Problem]]:
    """Return the problems there are with their numbers, in the order in which their layouts stand for choice.

    That is by the fewest turned steps they can have, then by belt moves, then as they were stated. Of two designs that
    rank the same, the one whose layout comes first is proposed.
    """
    problems = [(number, problem) for number, (_, problem) in enumerate(stated) if not isinstance(problem, str)]
    return sorted(problems, key=lambda entry: (fewest_turned_steps(entry[1]), entry[1].layout.belt_moves))


def judged(problem: Problem, found: Found) -> Tried:
    """Return a layout that was searched, with the figures of its design or the reason why it has none."""
    if found.candidate is None:
        return Tried(problem.layout, _why_none(found), found)
    return Tried(problem.layout, "", found, score(problem, found.candidate.stages))


def fewest_turned_steps(problem: Problem) -> int:
    """Return a number of turned steps that no design of the problem goes below.

    Examples
    --------
    A side with ready pulleys may do without turning, a step of a kept cone does:

    >>> from optimizer.records.problem import SideSizes, StageProblem, Targets
    >>> stage = StageProblem(
    ...     key="stage[0]",
    ...     driver=SideSizes(key="stage[0].driver", ready_mm=(80.0,), turned_mm=(60.0, 120.0)),
    ...     driven=SideSizes(key="stage[0].driven", turned_mm=(60.0, 120.0)),
    ...     belts=(),
    ...     centre_mm=(300.0, 300.0),
    ... )
    >>> layout = Layout(positions=(3,), offsets=((0, 1, 2),))
    >>> targets = Targets(bands=(), lo_rpm=100, hi_rpm=400)
    >>> fewest_turned_steps(Problem(layout=layout, motor_rpm=1420, stages=(stage,), targets=targets))
    3
    """
    return sum(
        max(0, count - sum(step is not None for step in side.standing_mm))
        for stage, count in zip(problem.stages, problem.layout.positions, strict=True)
        for side in (stage.driver, stage.driven)
        if side.turned_mm is not None and not side.ready_mm
    )


def _why_none(found: Found) -> str:
    reason = found.proof.reason or "no design keeps every rule"
    ended = found.proof.status == "not proved"
    return f"the search was ended before it found a design: {reason}" if ended else reason


def _needs_more(best: Score, steps: int) -> str:
    if steps > best.turned_steps:
        return f"at least {steps} turned steps, where the choice has {best.turned_steps}"
    return "as many turned steps, with more belt moves"
