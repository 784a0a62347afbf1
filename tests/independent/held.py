"""The drive that a random machine was stated around, held against what was designed, or was said not to exist."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from tests.independent.combinations import Choice, Space, draw_near, judge
from tests.independent.drives import Drive
from tests.independent.facing import Final
from tests.independent.numbers import num
from tests.independent.stage_numbers import Numbers, centres
from tests.independent.stated import Machine

__all__ = ["hold_against", "hold_none_against", "legal_j"]


def legal_j(machine: Machine, drives: Sequence[Drive]) -> float | None:
    """Return J of the drive where it keeps every rule and stands on listed sizes as well as on ticks."""
    space = Space.of(machine, [drive.offsets for drive in drives], [drive.length for drive in drives])
    choices = []
    for numbers, drive in zip(space.stages, drives, strict=True):
        pitch = np.array(drive.pitch)
        a, b = pitch[None, :, 0], pitch[None, :, 1]
        length = float(num(drive.length) + np.pi * float(drive.section.pitch_shift))
        if not len(numbers.lengths) or not _listed(numbers, drive, (a[0], b[0])):
            return None
        belt = int(np.argmin(np.abs(numbers.lengths - length)))
        if abs(numbers.lengths[belt] - length) > 1e-6:
            return None
        choices.append(Choice(belt, a, b, centres(a, b, float(numbers.lengths[belt]), numbers.stage.crossed)))
    good, j = judge(space, choices)
    return float(j[0]) if good[0] else None


def _listed(numbers: Numbers, drive: Drive, sizes: tuple[Any, Any]) -> bool:
    """Tell whether every size may be taken as it is, by the search over listed sizes and by the one over ticks."""
    both = numbers.driver.turned and numbers.driven.turned
    for side, own, half in zip((numbers.driver, numbers.driven), sizes, drive.halves, strict=True):
        if half.kind == "kept":
            continue
        if "kept" in half.kind or "hand" in half.kind or "discs" in half.kind:
            return False  # whether it goes round is another question
        listed = np.concatenate([side.listed if both else side.ticks, side.fixed])
        ticks = np.concatenate([side.ticks, side.fixed])
        for allowed in (listed, ticks):
            if not allowed.size or np.abs(own[:, None] - allowed[None, :]).min(axis=1).max() > 1e-7:
                return False
    return True


def hold_against(machine: Machine, drives: Sequence[Drive], document: Mapping[str, Any]) -> list[str]:
    """Return what the drive contradicts: a bound above its J in the same layout."""
    j = legal_j(machine, drives)
    offsets = [tuple(int(o) for o in row) for row in document["layout"]["offsets"]]
    if j is None or offsets != [drive.offsets for drive in drives]:
        return []
    # on any belts the bound is lower by what belts in hand cost
    cost = max((float(told["cost"]) for told in document.get("hand_belts", ()) if told["used"]), default=0.0)
    bound = float(document["proof"]["bound"]) - cost
    return [f"bound {bound:.9g} is beaten by the drive it was stated around, J {j:.9g}"] if j < bound - 1e-9 else []


def hold_none_against(machine: Machine, drives: Sequence[Drive], seed: int) -> list[str]:
    """Return what contradicts that a machine has no design: the drive itself, or legal choices near it."""
    j = legal_j(machine, drives)
    if j is not None:
        return [f"no design is said to exist, but the drive it was stated around is one, J {j:.9g}"]
    space = Space.of(machine, [drive.offsets for drive in drives], [drive.length for drive in drives])
    finals = []
    for numbers, drive in zip(space.stages, drives, strict=True):
        pitch = np.array(drive.pitch)
        finals.append(
            Final(pitch[:, 0], pitch[:, 1], float(drive.length) + np.pi * float(numbers.stage.section.pitch_shift))
        )
    return draw_near(space, finals, {"listed": np.inf}, (seed, 60)).violations[:1]
