"""What must be on a shaft before its cone goes on: cones further in, endless belts, what sits beside them."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.seats import cone_span_mm, seats_of
from optimizer.checks.stated import Machine
from optimizer.cuts.bench_words import BenchWords, listed
from optimizer.cuts.cones import CutCone
from optimizer.pipeline.job import Job
from optimizer.pipeline.rebuilt import machine_of
from optimizer.scenario.chain import MOTOR

__all__ = ["first_on_words", "spans_on"]

Span = tuple[float, float]


def spans_on(machine: Machine, shaft: str) -> dict[str, Span | None]:
    """Return every cone on a shaft by its place in the scenario, with the span it takes along the shaft [mm]."""
    making = machine.scenario.making
    return {
        cone.key: cone_span_mm(seats_of(cone, pair, making))
        for pair in machine.pairs
        for cone in pair.cones
        if cone.shaft.name == shaft
    }


def first_on_words(cone: CutCone, job: Job) -> tuple[str, ...]:
    """Return, in a sentence each, what goes on the shaft before the cone does, and what cannot be put on later."""
    machine = machine_of(job)
    words = BenchWords.of(job.scenario)
    spans = spans_on(machine, cone.shaft)
    return (*_neighbours(cone, words, spans), *_belts(cone, machine, spans), *_others(cone, job))


def _neighbours(cone: CutCone, words: BenchWords, spans: dict[str, Span | None]) -> Iterator[str]:
    """Yield which of the cones of a shaft goes on first."""
    own = spans[cone.key]
    for key, span in spans.items():
        if key == cone.key:
            continue
        other = f"the {key.rpartition('.')[2]} cone of the other stage"
        if own is None or span is None:
            yield (
                f"Also on {cone.shaft} sits {other}, and the places of both along it are not stated: settle which sits "
                "further from the end that the shaft is loaded from; that one goes on first."
            )
            continue
        inner, outer = (other, "this cone") if span[0] < own[0] else ("this cone", other)
        places = [f"{words.size(low)} to {words.size(high)}" for low, high in (own, span)]
        yield (
            f"Also on {cone.shaft} sits {other}, along it from {places[1]}, this one from {places[0]}: loaded from the "
            f"end away from the motor's body, {inner} goes on first, then {outer}."
        )


def _belts(cone: CutCone, machine: Machine, spans: dict[str, Span | None]) -> Iterator[str]:
    """Yield what the belts on the shaft ask for; a belt that is joined on the spot asks for nothing."""
    on_shaft = [p for p in machine.pairs if cone.shaft in (p.stage.from_shaft, p.stage.to_shaft)]
    endless = [p for p in on_shaft if not p.stage.belt.link and p.section.kind not in ("flat", "round")]
    if not endless:
        yield "The belt is joined on the spot, so it need not be on the shaft first."
        return
    belts = f"endless belt {endless[0].built.marking}"
    if len(endless) > 1:
        belts = f"endless belts {listed([pair.built.marking for pair in endless])}"
    bearings, span = machine.scenario.shaft(cone.shaft).bearings_mm, spans[cone.key]
    thread = (
        f"thread the {belts} over the shaft before it goes into its bearings; later a bearing would have to come off"
    )
    if cone.shaft == MOTOR:
        yield f"The free end of the motor's shaft lets the {belts} on at any time."
    elif bearings is None or span is None:
        yield f"If a bearing stands on either side of the cone, {thread}."
    elif min(bearings) < (span[0] + span[1]) / 2 < max(bearings):
        yield f"The cone sits between the bearings: {thread}."
    else:
        yield f"The cone sits outside the bearings: the free end lets the {belts} on at any time."


def _others(cone: CutCone, job: Job) -> Iterator[str]:
    """Yield what else goes on before."""
    words, shaft = BenchWords.of(job.scenario), job.scenario.shaft(cone.shaft)
    if cone.hub_mm is not None and cone.turned:
        yield f"The hub of {words.size(cone.hub_mm)} goes on with the cone: fasten the two to each other first."
    if shaft.beside_mm:
        yield f"Other things take {words.size(shaft.beside_mm)} of the shaft: those further in go on first."
    yield "Collars and bearings further in than the cone cannot pass it: put them on first."
