"""Least timber, smallest largest disc, limits of grip of machines small enough to look at every combination."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise, product
from math import log, pi

import pytest

from optimizer.catalogue.ratings import ratings_of
from optimizer.catalogue.sections import section
from optimizer.records import BandTarget, Layout, Problem, StageProblem
from optimizer.records.speeds import grip_of
from optimizer.search import search
from tests.oracle.brute import Chosen, keeps_the_rules, stages_of, worth
from tests.oracle.choices import Pair, Variant
from tests.oracle.plain import centre_mm, small_wrap_deg
from tests.unit.search.machines import stage_of, two_stage_machine

MADE_LARGER_MM = 6.6 + 4.0
"""Disc less pitch diameter in these machines: belt A's rim, and truing."""
WIDE_MM = 30.0

CASES = {
    "one stage": (Layout(positions=(3,), offsets=((0, 1, 2),)), (75.0, 210.0, 27.0)),
    "coarse stage first": (Layout(positions=(2, 2), offsets=((0, 2), (0, 1))), (75.0, 210.0, 45.0)),
    "fine stage first": (Layout(positions=(2, 2), offsets=((0, 1), (0, 2))), (75.0, 210.0, 45.0)),
}


def made(case: str, slack: float) -> Problem:
    """Return a machine with turned points for sizes."""
    layout, sizes = CASES[case]
    problem = two_stage_machine()
    low, high = (700.0, 2900.0) if len(layout.positions) == 1 else (250.0, 1900.0)
    bands = (
        BandTarget(name="slow", low_rpm=low / 1.1, high_rpm=1000, want=1),
        BandTarget(name="fast", low_rpm=1000, high_rpm=high * 1.1, top=True, want=1),
    )
    stages = []
    for number in range(len(layout.positions)):
        stage = stage_of(number, sizes, (1120.0, 1250.0), 20.0)
        sides = {side: getattr(stage, side).model_copy(update={"grid_mm": 0.0}) for side in ("driver", "driven")}
        stages.append(stage.model_copy(update=sides))
    targets = problem.targets.model_copy(
        update={
            "bands": bands,
            "lo_rpm": low,
            "hi_rpm": high,
            "slack": slack,
            "end_miss_most": 0.3,
            "unevenness_most": 0.3,
        }
    )
    return problem.model_copy(update={"layout": layout, "stages": tuple(stages), "targets": targets})


def choices(stage: StageProblem, count: int) -> Iterator[Chosen]:
    """Yield every belt with pairs that make two cones on it."""
    for belt in stage.belts:
        pairs = []
        for driver, driven in product(stage.driver.listed_mm, stage.driven.listed_mm):
            centre = centre_mm(driver, driven, belt.length_mm, crossed=False)
            if centre is None or not stage.centre_mm[0] <= centre <= stage.centre_mm[1]:
                continue
            apart = centre - (driver + driven) / 2 >= stage.clearance_mm
            if apart and small_wrap_deg(driver, driven, centre, crossed=False) >= stage.least_wrap_deg:
                pairs.append(Pair(driver, driven, centre, log(driver / driven), "turned", "turned"))
        for chosen in combinations(sorted(pairs, key=lambda pair: pair.log_ratio), count):
            near = max(pair.centre_mm for pair in chosen) - min(pair.centre_mm for pair in chosen) <= belt.window_mm
            if near and all(a.driver_mm <= b.driver_mm and a.driven_mm >= b.driven_mm for a, b in pairwise(chosen)):
                yield Chosen(Variant(belt, ()), chosen)


def looked_at(problem: Problem) -> list[tuple[float, float, float]]:
    """Return J, timber and largest disc of every design."""
    tables = [
        list(choices(stage, count)) for stage, count in zip(problem.stages, problem.layout.positions, strict=True)
    ]
    found = []
    for design in product(*tables):
        if keeps_the_rules(problem, design):
            discs = [
                size + MADE_LARGER_MM
                for stage in design
                for pair in stage.pairs
                for size in (pair.driver_mm, pair.driven_mm)
            ]
            found.append((worth(problem, design), sum(pi / 4 * disc**2 * WIDE_MM for disc in discs), max(discs)))
    return found


@pytest.mark.parametrize("slack", [0.0, 0.02, 0.2])
@pytest.mark.parametrize("case", CASES)
def test_extremes_are_those_of_looking_at_everything(case: str, slack: float) -> None:
    """Least J, and least timber and disc among all designs within the slack of it, each with a design that has it."""
    problem = made(case, slack)
    everything = looked_at(problem)
    best = min(j for j, _, _ in everything)
    within = [entry for entry in everything if entry[0] <= best + slack + 1e-9]
    found = search(problem, extremes=True)
    assert found.proof.listed == pytest.approx(best, abs=1e-9)
    extremes = {extreme.best_at: extreme for extreme in found.extremes}
    assert extremes["least timber"].value == pytest.approx(min(timber for _, timber, _ in within), rel=1e-9)
    assert extremes["smallest largest disc"].value == pytest.approx(min(disc for _, _, disc in within), rel=1e-9)
    for extreme in found.extremes:
        assert extreme.proved
        sizes = [
            size + MADE_LARGER_MM
            for stage in extreme.candidate.stages
            for position in stage.positions
            for size in (position.driver_mm, position.driven_mm)
        ]
        own = max(sizes) if "disc" in extreme.best_at else sum(pi / 4 * size**2 * WIDE_MM for size in sizes)
        assert own == pytest.approx(extreme.value, rel=1e-9)


def test_slack_makes_room() -> None:
    """With slack there are designs of less timber than that of least J, in most of the cases."""
    values = [
        [{e.best_at: e.value for e in search(made(case, slack), extremes=True).extremes} for slack in (0.0, 0.2)]
        for case in CASES
    ]
    assert sum(many["least timber"] < few["least timber"] for few, many in values) >= 1
    assert all(many["least timber"] <= few["least timber"] for few, many in values)


@pytest.mark.parametrize("share", [0.9, 1.05, 1.2, 1.6])
@pytest.mark.parametrize("case", CASES)
def test_a_limit_of_grip_is_kept_at_the_least_j(case: str, share: float) -> None:
    """Of all designs whose belts carry their power times a limit, the search finds one of least J, or that none does.

    The limit is a share of the grip of the best design without one. Grip is told by the records, plainly, one belt and
    one speed after another; the search works it out as spans of speeds.
    """
    problem = made(case, 0.0)
    bands = tuple(
        band.model_copy(update={"power_kw": power})
        for band, power in zip(problem.targets.bands, (0.3, 0.45), strict=True)
    )
    stages = tuple(stage.model_copy(update={"ratings": ratings_of(section("A"))}) for stage in problem.stages)
    problem = problem.model_copy(
        update={"stages": stages, "targets": problem.targets.model_copy(update={"bands": bands, "power_kw": 0.5})}
    )
    tables = [list(choices(stage, count)) for stage, count in zip(stages, problem.layout.positions, strict=True)]
    designs = [design for design in product(*tables) if keeps_the_rules(problem, design)]
    known = [(worth(problem, design), grip_of(problem, stages_of(design))) for design in designs]
    limit = share * min(known)[1]
    limited = problem.model_copy(update={"targets": problem.targets.model_copy(update={"least_grip": limit})})
    found = search(limited)
    best = min((j for j, grip in known if grip >= limit * (1 - 1e-9)), default=None)
    if best is None:
        assert (found.proof.status, found.candidate) == ("no design", None)
    else:
        assert found.proof.listed == pytest.approx(best, abs=1e-9)
        assert found.candidate is not None
        assert grip_of(problem, found.candidate.stages) >= limit * (1 - 1e-9)
