"""Rays on a shared cone that one movement sets: a design planted off the listed sizes is found, or a better one."""

from __future__ import annotations

from itertools import pairwise
from math import exp
from random import Random

import pytest
from scipy.optimize import brentq

from optimizer.geometry.settings import Path, Slide, Swing
from optimizer.records.coupling import Coupling, SharedBelt
from optimizer.records.middle import MiddleProblem
from optimizer.records.problem import BeltChoice, SideSizes, StageProblem, Targets
from optimizer.search.middle import search_middle
from tests.oracle.plain import belt_mm
from tests.sampled import sampled

GRID_MM = 5.0
FORGIVES_MM = 0.2
LEVELS = 3
CENTRE_MM = (230.0, 250.0)
"""Centre distances of both belts where the mount is set as it is stated."""


def _facing_mm(size_mm: float, length_mm: float, centre_mm: float) -> float:
    """Return the pulley that a belt needs beside a given one at a centre distance."""
    return float(brentq(lambda other: belt_mm(size_mm, other, centre_mm) - length_mm, 5.0, 400.0))


def _path(rng: Random, sign: int, centre_mm: float) -> Path:
    """Return a slide or an arm that brings the shafts nearer, or moves them apart."""
    if rng.random() < 0.5:
        return Slide(along_mm=sign * 0.9 * centre_mm, across_mm=0.19**0.5 * centre_mm)
    other_mm = (200.0**2 + centre_mm**2) ** 0.5
    return Swing(arm_mm=200.0, other_mm=other_mm, angle_rad=sign * 0.6, radius_mm=200.0)


def _planted(rng: Random) -> tuple[MiddleProblem, float]:
    """Return a machine of three levels in which a design exists that is on no listed size, with its F."""
    paths = [_path(rng, sign, centre) for sign, centre in zip((1, rng.choice([-1, 1])), CENTRE_MM, strict=True)]
    setting = rng.uniform(-3.0, 3.0)
    centres = [float(path.centre_mm(setting)) for path in paths]
    totals = (rng.uniform(185, 205), rng.uniform(190, 210))
    lengths = [belt_mm(total / 2, total / 2, centre) for total, centre in zip(totals, centres, strict=True)]
    middle = sorted((rng.uniform(82, 118) for _ in range(LEVELS)), reverse=True)
    if min(a - b for a, b in pairwise(middle)) < 6:
        return _planted(rng)
    rows = [(_facing_mm(m, lengths[0], centres[0]), m, _facing_mm(m, lengths[1], centres[1])) for m in middle]
    scales = [1 + rng.uniform(-0.4, 0.4) * GRID_MM / max(row) for row in rows]
    listed = [tuple(sorted(row[side] / scale for row, scale in zip(rows, scales, strict=True))) for side in range(3)]
    sides = [
        SideSizes(key=key, turned_mm=(40.0, 200.0), listed_mm=sizes, grid_mm=GRID_MM, rise_mm=2.0)
        for key, sizes in zip(("stage[0].driver", "stage[0].driven", "stage[1].driven"), listed, strict=True)
    ]
    stages = [
        StageProblem(
            key=f"stage[{number}]",
            driver=driver,
            driven=driven,
            belts=(BeltChoice(section="A", marking="A", length_mm=length, window_mm=5.0, forgives_mm=FORGIVES_MM),),
            centre_mm=(centre - 30, centre + 30),
        )
        for number, (driver, driven, length, centre) in enumerate(
            ((sides[0], sides[1], lengths[0], centres[0]), (sides[1], sides[2], lengths[1], centres[1]))
        )
    ]
    speeds = sorted(
        1420 * rows[i][0] / rows[i][1] * rows[j][1] / rows[j][2] for i in range(LEVELS) for j in range(LEVELS) if i != j
    )
    gap = max(upper / lower for lower, upper in pairwise(speeds))
    targets = Targets(bands=(), lo_rpm=speeds[0], hi_rpm=speeds[-1], end_weight=1.0, unevenness_weight=1.0)
    belts = (
        SharedBelt(stage=0, path=paths[0], travel_mm=20.0 if paths[0].grows else 0.0),
        SharedBelt(stage=1, path=paths[1], travel_mm=0.0),
    )
    problem = MiddleProblem(
        motor_rpm=1420,
        stages=(stages[0], stages[1]),
        levels=(LEVELS, LEVELS),
        coupling=Coupling(key="shaft[0]", shaft="middle", belts=belts),
        targets=targets,
    )
    return problem, gap


@pytest.mark.parametrize("seed", sampled(range(40), every=4))
def test_a_planted_design_is_not_lost(seed: int) -> None:
    """However rays are narrowed, the search finds a design at least as good as one that is known to exist."""
    problem, gap = _planted(Random(seed))
    found = search_middle(problem)
    assert found.candidate is not None
    assert exp(found.proof.listed) <= gap * (1 + 1e-6)
