"""What is in hand where a random machine is made: at least what the drive behind it needs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from fractions import Fraction
from math import ceil
from random import Random

from tests.independent.drives import Drive, Half

__all__ = ["in_hand"]

F = Fraction


def in_hand(rng: Random, w: Callable[[Fraction], str], drives: Sequence[Drive]) -> list[str]:
    """Write the drawer: sheaves that the drives need, singly or as pieces, their discs, a belt, some things more.

    `w` writes a length as the file does.
    """
    pieces: Counter[tuple[str, tuple[Fraction, ...]]] = Counter()
    discs: Counter[Fraction] = Counter()
    lines: list[str] = []
    for drive in drives:
        for half in drive.halves:
            if "hand" in half.kind:
                pieces.update((drive.section_name, piece) for piece in _pieces(rng, half))
            if "discs" in half.kind:
                needed = [size - half.shift + half.rim + 4 for size in half.sizes]
                discs.update(F(ceil(need / 5) * 5) for need in needed)
        if rng.random() < 0.12:
            more = drive.length + rng.choice([0, 0, 13, -17])
            lines += ["[[in_hand.belt]]", f'section = "{drive.section_name}"', f"length = {w(F(round(more)))}", ""]
    for (name, piece), count in sorted(pieces.items()):
        steps = ", ".join(w(size) for size in piece)
        lines += ["[[in_hand.sheave]]", f'section = "{name}"', f"steps = [{steps}]", 'measured = "datum"']
        lines += [f"count = {count}", ""]
    for disc, count in sorted(discs.items()):
        lines += ["[[in_hand.disc]]", f"diameter = {w(disc)}", f"count = {count + rng.choice([0, 0, 1])}", ""]
    return lines


def _pieces(rng: Random, half: Half) -> list[tuple[Fraction, ...]]:
    """Return datum diameters of sheaves that the steps of a cone can be: neighbours now and then as one piece."""
    left = [size - half.shift for size, stands in zip(half.sizes, half.stands, strict=True) if stands]
    left = left or [half.sizes[0] - half.shift]
    found: list[tuple[Fraction, ...]] = []
    while left:
        grooves = 2 if len(left) > 1 and all(half.stands) and rng.random() < 0.35 else 1
        found.append(tuple(left[:grooves]))
        left = left[grooves:]
    if rng.random() < 0.4:
        found.append((found[0][0] + rng.choice([5, 10, 25]),))
    return found
