"""The structural bound against random machines of any real diameters."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from optimizer.records.candidate import StageSizes
from optimizer.records.layout import Layout
from optimizer.records.problem import BandTarget, BeltChoice, Problem, SideSizes, StageProblem, Targets
from optimizer.records.rules import broken_rules
from optimizer.search import search
from tests.oracle import legal

LEGAL = 10_000
BATCH = 40_000
BATCHES = 12
HAIR = 1e-9


def _belt(length_mm: float, window_mm: float) -> BeltChoice:
    return BeltChoice(section="A", marking=f"A {length_mm:g}", length_mm=length_mm, window_mm=window_mm)


def _turned(key: str, low_mm: float, high_mm: float, **more: Any) -> SideSizes:
    listed = tuple(float(size) for size in np.arange(low_mm, high_mm + 1e-9, 10))
    return SideSizes(key=key, turned_mm=(low_mm, high_mm), listed_mm=listed, grid_mm=10, rise_mm=0.5, **more)


def _stage(key: str, sizes: tuple[float, float], belts: tuple[BeltChoice, ...], **more: Any) -> StageProblem:
    sides = {name: _turned(f"{key}.{name}", *sizes) for name in ("driver", "driven")}
    return StageProblem(key=key, belts=belts, **{"centre_mm": (280.0, 460.0), **sides, **more})


def _targets(rows: list[tuple[float, float, int]], **more: Any) -> Targets:
    last = len(rows) - 1
    return Targets(
        bands=tuple(
            BandTarget(
                name=f"band {number}",
                low_rpm=low * (0.97 if number == 0 else 1),
                high_rpm=high * (1.03 if number == last else 1),
                top=number == last,
                want=want,
            )
            for number, (low, high, want) in enumerate(rows)
        ),
        lo_rpm=rows[0][0],
        hi_rpm=rows[-1][1],
        **more,
    )


FOUR = Layout(positions=(4,), offsets=((0, 1, 2, 3),))
FINE_FIRST = Layout(positions=(2, 3), offsets=((0, 1), (0, 2, 4)))
LOCKED = (_belt(1250, 0.2), _belt(1320, 0.2))

PROBLEMS = {
    "an even series fits": Problem(
        layout=FOUR,
        motor_rpm=1420,
        stages=(_stage("stage[0]", (60, 230), LOCKED, slip=0.01),),
        targets=_targets([(600, 1200, 2), (1200, 2600, 2)]),
    ),
    "the sizes do not reach both ends": Problem(
        layout=FOUR,
        motor_rpm=1420,
        stages=(_stage("stage[0]", (80, 160), LOCKED, clearance_mm=10.0),),
        targets=_targets([(680, 1500, 2), (1500, 2880, 2)]),
    ),
    "the wants tilt the series": Problem(
        layout=FOUR,
        motor_rpm=1420,
        stages=(_stage("stage[0]", (60, 230), LOCKED),),
        targets=_targets([(600, 1080, 3), (1080, 2000, 1)]),
    ),
    "little wrap may be lost": Problem(
        layout=FOUR,
        motor_rpm=1420,
        stages=(_stage("stage[0]", (60, 230), (_belt(1150, 3.0),), least_wrap_deg=170.0),),
        targets=_targets([(800, 1400, 2), (1400, 2500, 2)]),
    ),
    "a bought pulley drives a turned cone": Problem(
        layout=FOUR,
        motor_rpm=1420,
        stages=(
            _stage(
                "stage[0]",
                (60, 260),
                (_belt(1250, 60.0),),
                driver=SideSizes(key="stage[0].driver", ready_mm=(71, 80, 90, 100, 112, 125, 140, 160), cone=False),
            ),
        ),
        targets=_targets([(600, 1000, 2), (1000, 1950, 1)]),
    ),
    "the countershaft may not run fast": Problem(
        layout=FINE_FIRST,
        motor_rpm=1420,
        stages=(
            _stage("stage[0]", (60, 240), (_belt(1250, 8.0), _belt(1400, 8.0)), driven_rpm=600.0),
            _stage("stage[1]", (60, 240), (_belt(1250, 2.0),), slip=0.01),
        ),
        targets=_targets([(180, 500, 2), (500, 1000, 2), (1000, 2250, 1)]),
    ),
    "the top speed is barred": Problem(
        layout=FINE_FIRST,
        motor_rpm=1420,
        stages=(
            _stage("stage[0]", (75, 200), (_belt(1250, 8.0),), belt_speed_m_s=13.0),
            _stage("stage[1]", (75, 200), (_belt(1300, 2.0),)),
        ),
        targets=_targets([(300, 700, 2), (700, 2000, 3)], never_above_rpm=1900.0),
    ),
}


def _legal(problem: Problem, near: tuple[StageSizes, ...]) -> list[legal.Drawn]:
    """Return batches of machines that hold at least the wanted number of legal ones, legal ones only."""
    rng = np.random.default_rng(20)
    kept: list[legal.Drawn] = []
    have = 0
    for _ in range(BATCHES):
        drawn = legal.draw(problem, near, rng, BATCH)
        good = legal.keeps(problem, drawn)
        kept.append(legal.only(drawn, good))
        have += int(good.sum())
        if have >= LEGAL:
            break
    assert have >= LEGAL, f"only {have} legal machines were drawn"
    return kept


@pytest.mark.parametrize("name", PROBLEMS)
def test_no_legal_machine_beats_the_structural_bound(name: str) -> None:
    """Ten thousand random legal machines of any diameters all have a J of at least the structural bound."""
    problem = PROBLEMS[name]
    found = search(problem)
    assert found.candidate is not None
    proof = found.proof
    batches = _legal(problem, found.candidate.stages)
    least = min(float(legal.worth(problem, drawn).min()) for drawn in batches)
    assert proof.ideal - HAIR <= proof.structural
    assert proof.structural <= least + HAIR
    for number in range(0, len(batches[0][0].belt), 1 + len(batches[0][0].belt) // 40):
        assert broken_rules(problem, legal.machine(problem, batches[0], number)) == []


@pytest.mark.parametrize(
    "name",
    [
        "the sizes do not reach both ends",
        "the wants tilt the series",
        "the top speed is barred",
    ],
)
def test_the_structural_bound_is_not_idle(name: str) -> None:
    """Where sizes, wants or a barred speed cost something, the bound says so."""
    assert search(PROBLEMS[name]).proof.structural > 1e-3
