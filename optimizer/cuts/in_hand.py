"""What of a cone is in hand: steps that are grooves of one sheave, discs that steps are cut from."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.checks.in_hand import discs_in_hand, pieces_in_hand
from optimizer.cuts.bench_words import BenchWords, listed
from optimizer.cuts.cones import CutCone
from optimizer.pipeline.job import Job
from optimizer.pipeline.rebuilt import machine_of

__all__ = ["count_of_pieces", "disc_words", "piece_words"]


def count_of_pieces(cone: CutCone, job: Job) -> int:
    """Return how many sheaves in hand sit on a cone, each with one groove or several."""
    return sum(piece.steps[0][0] == cone.key for piece in pieces_in_hand(machine_of(job)))


def piece_words(cone: CutCone, job: Job, words: BenchWords) -> Iterator[str]:
    """Yield a sentence for every sheave in hand with several grooves: which steps it is, what of it stands idle."""
    for piece in sorted(pieces_in_hand(machine_of(job)), key=lambda piece: piece.steps):
        if piece.steps[0][0] != cone.key or len(piece.steps) + len(piece.idle_mm) == 1:
            continue
        steps = [f"{place + 1}" for _, place in piece.steps]
        grooves = len(piece.steps) + len(piece.idle_mm)
        one = f"Steps {listed(steps)} are" if len(steps) > 1 else f"Step {steps[0]} is"
        idle = ""
        if piece.idle_mm:
            sizes = listed([words.size(size) for size in piece.idle_mm])
            idle = f", {sizes} over the rim standing idle beyond the end of the cone"
        yield f"{one} {'' if len(steps) == grooves else 'part of '}one piece of {grooves} grooves{idle}."


def disc_words(cone: CutCone, job: Job, words: BenchWords) -> str:
    """Return which steps are cut from discs in hand, with what those must be; nothing where none is."""
    found = discs_in_hand(machine_of(job))
    own = [(place + 1, found[key, place]) for key, place in sorted(found) if key == cone.key]
    if not own:
        return ""
    width = cone.width_mm / len(cone.steps)
    discs = listed([f"step {number} from one of {words.size(size)}" for number, size in own])
    return (
        f"Discs in hand: {discs}. Where they are sound and as thick as a step is wide, {words.size(width)}, nothing is "
        "sawn or glued for those steps."
    )
