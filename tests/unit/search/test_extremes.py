"""Extremes within the slack, closing proof, limits."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest

from optimizer.clock import Clock
from optimizer.records import Candidate, Layout, Problem, broken_rules
from optimizer.records.speeds import log_speeds
from optimizer.scoring import j_of
from optimizer.search import closing_proof, search
from optimizer.search.fit import SeriesRules
from optimizer.search.pairs import StagePairs, lay_belts
from tests.clocks import Ear
from tests.unit.search.machines import stage_of, two_stage_machine


def _points(problem: Problem) -> Problem:
    """Return the problem with its listed sizes as points."""
    stages = [
        stage.model_copy(
            update={
                "driver": stage.driver.model_copy(update={"grid_mm": 0.0}),
                "driven": stage.driven.model_copy(update={"grid_mm": 0.0}),
            }
        )
        for stage in problem.stages
    ]
    return problem.model_copy(update={"stages": tuple(stages)})


def _tuples(pairs: StagePairs, count: int, rise_mm: float) -> list[tuple[int, ...]]:
    """Return, by plain looking, every choice of pairs that takes one belt in its window and makes two cones."""
    found = []
    order = np.argsort(pairs.log_ratio, kind="stable")
    for rows in combinations([int(i) for i in order], count):
        a, b, c = pairs.driver_mm[[*rows]], pairs.driven_mm[[*rows]], pairs.centre_low[[*rows]]
        steps = np.concatenate([np.diff(a), -np.diff(b)])
        cone = np.all((steps == 0) | (steps >= rise_mm))
        if len(set(pairs.belt[[*rows]])) == 1 and np.ptp(c) <= pairs.window_mm[rows[0]] and cone:
            found.append(rows)
    return found


def _all_designs(problem: Problem) -> list[tuple[float, float, float]]:
    """Return J, timber and largest disc of every design by looking at every combination."""
    laid = [lay_belts(stage, positions=len(o)) for stage, o in zip(problem.stages, problem.layout.offsets, strict=True)]
    tables = [_tuples(pairs, len(o), 1.0) for pairs, o in zip(laid, problem.layout.offsets, strict=True)]
    series = SeriesRules.of(problem)
    chosen = np.array(list(product(*map(range, map(len, tables)))))
    rows = [np.array(table)[places] for table, places in zip(tables, chosen.T, strict=True)]
    kept, j = series.judge([pairs.log_ratio[each] for pairs, each in zip(laid, rows, strict=True)], 1.0)
    timber = sum(pairs.timber_mm3[each].sum(axis=1) for pairs, each in zip(laid, rows, strict=True))
    disc = np.max([pairs.disc_mm[each].max(axis=1) for pairs, each in zip(laid, rows, strict=True)], axis=0)
    return list(zip(j.tolist(), np.asarray(timber)[kept].tolist(), disc[kept].tolist(), strict=True))


@pytest.fixture(scope="module")
def coarse() -> Problem:
    """Return a machine small enough to look at every combination."""
    problem = _points(two_stage_machine(grid_mm=27.0, window_mm=20.0))
    bands = tuple(band.model_copy(update={"want": 1}) for band in problem.targets.bands)
    return problem.model_copy(
        update={
            "layout": Layout(positions=(2, 2), offsets=((0, 2), (0, 1))),
            "targets": problem.targets.model_copy(update={"bands": bands}),
        }
    )


def test_extremes_agree_with_looking_at_everything(coarse: Problem) -> None:
    """Best J, least timber and smallest largest disc within the slack are those of a full enumeration."""
    problem = coarse.model_copy(update={"targets": coarse.targets.model_copy(update={"slack": 0.02})})
    everything = _all_designs(problem)
    found = search(problem, extremes=True)
    best = min(j for j, _, _ in everything)
    within = [entry for entry in everything if entry[0] <= best + 0.02 + 1e-12]
    assert found.proof.listed == pytest.approx(best, abs=1e-12)
    values = {extreme.best_at: extreme.value for extreme in found.extremes}
    assert values["least timber"] == pytest.approx(min(timber for _, timber, _ in within), rel=1e-9)
    assert values["smallest largest disc"] == pytest.approx(min(disc for _, _, disc in within), rel=1e-9)
    assert all(extreme.proved for extreme in found.extremes)


def test_candidate_has_the_proved_j() -> None:
    """The candidate keeps every hard rule, and its speeds give the J that the proof states, rays or not."""
    problem = two_stage_machine()
    found = search(problem)
    assert found.candidate is not None
    assert broken_rules(problem, found.candidate.stages) == []
    assert j_of(problem.targets, log_speeds(problem, found.candidate.stages)) == pytest.approx(
        found.proof.listed, abs=1e-9
    )
    assert found.proof.status == "proved"
    assert found.proof.bound <= found.proof.listed


def test_rays_never_do_worse_than_points() -> None:
    """Letting pairs be trimmed only adds designs."""
    problem = two_stage_machine(window_mm=0.4)
    assert search(problem).proof.listed <= search(_points(problem)).proof.listed + 1e-12


def test_closing_proof_finds_the_best_on_ticks() -> None:
    """The closing proof's answer is what a search with every tick listed as a point finds."""
    problem = two_stage_machine()
    candidate = search(problem).candidate
    assert candidate is not None
    closing = closing_proof(candidate, 0.05)
    stages = [stage_of(i, (75.0, 210.0, 1.0), (sizes.belt.length_mm,), 5.0) for i, sizes in enumerate(candidate.stages)]
    again = search(_points(problem.model_copy(update={"stages": tuple(stages)})))
    assert closing.status == "better"
    assert closing.j == pytest.approx(again.proof.listed, abs=1e-9)
    assert closing.candidate is not None
    for sizes in closing.candidate.stages:
        for position in sizes.positions:
            assert position.driver_mm == round(position.driver_mm)
            assert position.driven_mm == round(position.driven_mm)


def test_closing_proof_says_when_there_is_none_better() -> None:
    """Fed with its own answer, the closing proof finds nothing better and takes that answer as the bound."""
    candidate = search(two_stage_machine()).candidate
    assert candidate is not None
    best = closing_proof(candidate, 0.05)
    again = closing_proof(candidate, best.j)
    assert (again.status, again.candidate) == ("none better", None)
    assert again.bound == best.j


def test_a_limit_leaves_a_gap() -> None:
    """A search that is stopped says so with its reason and a bound, and never calls itself proved."""
    found = search(two_stage_machine(), Clock(most=1))
    assert found.proof.status == "not proved"
    assert found.proof.reason == "1 combinations were looked at"
    assert 0 < found.proof.bound < 0.1
    assert found.candidate is None


def test_the_watcher_hears_rising_thresholds() -> None:
    """Thresholds only rise while a search goes on."""
    ear = Ear()
    search(two_stage_machine(), Clock(watch=ear))
    heard = [threshold for threshold, _ in ear.heard]
    assert heard == sorted(heard)
    assert len(heard) > 1


def test_infeasible_says_what_rules_designs_out(coarse: Problem) -> None:
    """More speeds wanted than the layout has gives a reason and no design."""
    bands = tuple(band.model_copy(update={"want": 4}) for band in coarse.targets.bands)
    proof = search(coarse.model_copy(update={"targets": coarse.targets.model_copy(update={"bands": bands})})).proof
    assert proof.status == "no design"
    assert proof.reason == "the bands want 8 speeds together, more than the layout makes"


def test_a_broken_candidate_cannot_exist() -> None:
    """Moving one diameter of a good design makes a record that is refused."""
    candidate = search(two_stage_machine()).candidate
    assert candidate is not None
    stage = candidate.stages[0]
    moved = stage.positions[0].model_copy(update={"driver_mm": stage.positions[0].driver_mm + 3})
    broken = stage.model_copy(update={"positions": (moved, *stage.positions[1:])})
    with pytest.raises(ValueError, match="does not have the length"):
        Candidate(problem=candidate.problem, stages=(broken, *candidate.stages[1:]))
