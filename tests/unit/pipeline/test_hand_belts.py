"""Belts in hand against searches made by the test itself with the other belts taken out."""

from __future__ import annotations

from functools import cache

import pytest

from optimizer.layouts import layouts_of, problem_for
from optimizer.pipeline.design import design
from optimizer.records.changes import HandBelts
from optimizer.records.design import Design
from optimizer.records.problem import BeltChoice, StageProblem
from optimizer.scenario import load_scenario
from optimizer.search import search

SIZES = "[80, 85, 90, 95, 100, 106, 112, 118, 125, 132, 140, 150, 160]"
ONE = f"""
title = "Tile scorer from a drawer"
units = "mm"
[motor]
speed = 1400
[[band]]
name = "all work"
from = 850
to = 2300
want = 4
[[shaft]]
name = "motor"
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
positions = 4
centres = [250, 420]
travel = 80
belt = "A"
driver = {{ ready = {SIZES} }}
driven = {{ ready = {SIZES} }}
"""
"""Pulleys only, so that the listed sizes are all there are."""

STAGE = """
[[stage]]
from = "{}"
to = "{}"
positions = 2
centres = [250, 420]
travel = 80
belt = {{ section = "A", lengths = [1060, 1090, 1120, 1150, 1180, 1220, 1250] }}
driver = {{ ready = [80, 90, 100, 112, 125, 140, 160] }}
driven = {{ ready = [80, 90, 100, 112, 125, 140, 160] }}
"""
TWO = f"""
title = "Enamel kiln stirrer"
units = "mm"
[motor]
speed = 1400
[[band]]
name = "all"
from = 500
to = 2500
[[shaft]]
name = "counter"
mount = "slide"
[[shaft]]
name = "spindle"
mount = "slide"
{STAGE.format("motor", "counter")}{STAGE.format("counter", "spindle")}
"""


def nail(*lengths: float, count: int = 1) -> str:
    """Return belts in hand as a maker states them."""
    return "".join(f'[[in_hand.belt]]\nsection = "A"\nlength = {length}\ncount = {count}\n' for length in lengths)


def allowing(text: str, slack: float) -> str:
    """Return a scenario that gives up so much for belts in hand."""
    return text.replace("[[shaft]]", f"[series]\nhand_slack = {slack}\n[[shaft]]", 1)


@cache
def designed(text: str) -> Design:
    """Return the design of a scenario, made once."""
    return design(load_scenario(text, "machine.toml"))


def least_j(text: str, *wanted: set[str] | None) -> float | None:
    """Return the least J of any layout of a scenario, with only the belts named on every stage; all where none are."""
    scenario = load_scenario(text, "machine.toml")
    found = []
    for layout in layouts_of(scenario):
        problem = problem_for(scenario, layout)

        def kept(belt: BeltChoice, names: set[str] | None) -> bool:
            return names is None or belt.marking in names

        def limited(stage: StageProblem, names: set[str] | None) -> StageProblem:
            return stage.model_copy(update={"belts": tuple(b for b in stage.belts if kept(b, names))})

        stages = tuple(limited(stage, names) for stage, names in zip(problem.stages, wanted, strict=True))
        result = search(problem.model_copy(update={"stages": stages}))
        assert result.proof.status in ("proved", "no design")
        if result.candidate is not None:
            found.append(result.proof.listed)
    return min(found, default=None)


def told(text: str) -> dict[tuple[int, ...], HandBelts]:
    """Return what is told of every set of stages."""
    return {entry.stages: entry for entry in designed(text).hand_belts}


# One stage


@pytest.mark.parametrize("length", [1000, 1180, 1250])
def test_the_cost_is_the_difference_of_two_searches(length: int) -> None:
    """J of the best design on the belt in hand, less that of the best on any belt, each searched for by itself."""
    entry = told(ONE + nail(length))[1,]
    best, on_it = least_j(ONE, None), least_j(ONE, {f"A {length}"})
    assert best is not None
    assert entry.j == pytest.approx(on_it, abs=1e-9)
    assert entry.cost == pytest.approx(0.0 if on_it is None else on_it - best, abs=1e-9)
    assert entry.markings == (f"A {length}",)


def test_a_belt_that_costs_nothing_is_used() -> None:
    """Many belts give the best J here: the one on the nail is taken, and marked though shops have it too."""
    made = designed(ONE + nail(1180))
    (stage,) = made.machine.stages
    assert (stage.marking, stage.belt_in_hand) == ("A 1180", True)
    assert not designed(ONE).machine.stages[0].belt_in_hand
    assert designed(ONE).hand_belts == ()


def test_a_belt_that_costs_more_than_the_slack_is_not_used_but_told_of() -> None:
    """The belt of 1250 costs 4.5 % of J, more than the 2 % allowed by default, less than 5 %."""
    dear = designed(ONE + nail(1250))
    (entry,) = dear.hand_belts
    assert entry.cost == pytest.approx(0.0451, abs=5e-5)
    assert (entry.used, entry.why) == (False, "it gives up more than the 2 % allowed")
    assert not dear.machine.stages[0].belt_in_hand
    assert dear.proof.listed == designed(ONE).proof.listed


def test_a_slack_is_enough_from_just_the_cost_on() -> None:
    """At the cost itself the belt is used, a thousandth of a percent below it is not."""
    text = ONE.replace("from = 850", "from = 950").replace("to = 2300", "to = 2100")
    cost = told(text + nail(1250))[1,].cost
    assert cost is not None
    assert cost == pytest.approx(0.0140, abs=5e-5)
    there = designed(allowing(text, cost + 1e-9) + nail(1250))
    assert (there.machine.stages[0].marking, there.machine.stages[0].belt_in_hand) == ("A 1250", True)
    assert there.hand_belts[0].used
    assert there.proof.listed == pytest.approx(least_j(text, {"A 1250"}), abs=1e-9)
    short = designed(allowing(text, cost - 1e-5) + nail(1250))
    assert not short.machine.stages[0].belt_in_hand
    assert short.proof.listed == pytest.approx(least_j(text, None), abs=1e-9)


def test_nothing_of_what_is_advised_is_given_up() -> None:
    """With 5 % allowed the 1250 would do, but its speeds end farther off than is advised, and the others do not."""
    made = designed(allowing(ONE, 0.05) + nail(1250))
    (entry,) = made.hand_belts
    assert (entry.used, entry.why) == (False, "its speeds would pass what is advised")
    assert not made.machine.stages[0].belt_in_hand


def test_of_several_belts_the_cheapest_is_taken() -> None:
    """With 1250 and 1180 on the nail it is the 1180, which costs nothing."""
    made = designed(ONE + nail(1250, 1180))
    assert made.machine.stages[0].marking == "A 1180"
    assert [(entry.stages, entry.used) for entry in made.hand_belts] == [((1,), True)]


def test_a_belt_no_design_runs_on_changes_nothing() -> None:
    """A belt that goes round but on which no design keeps every rule is named with the reason."""
    text = ONE.replace("centres = [250, 420]", "centres = [250, 330]")
    assert least_j(text, {"A 1120"}) is None
    (entry,) = designed(text + nail(1120)).hand_belts
    assert (entry.j, entry.cost, entry.used, entry.markings) == (None, None, False, ())
    assert entry.why
    assert designed(text + nail(1120)).proof.listed == designed(text).proof.listed


# Two stages


def test_every_set_of_stages_is_looked_at() -> None:
    """Both stages, then each of them: J as searched with the belts of the others bought."""
    text = TWO + nail(1090, 1250)
    entries = told(text)
    assert list(entries) == [(1, 2), (1,), (2,)]
    own, bought = {"A 1090 mm", "A 1250 mm"}, None
    best = least_j(TWO, None, None)
    assert best is not None
    for stages, names in (((1,), (own, bought)), ((2,), (bought, own))):
        assert entries[stages].j == pytest.approx(least_j(TWO, *names), abs=1e-9)
        assert entries[stages].cost == pytest.approx((entries[stages].j or 9.0) - best, abs=1e-9)


def test_two_stages_run_on_one_belt_each() -> None:
    """With one of either, both stages run on different belts: the better of the two ways round, none on the same."""
    entry = told(TWO + nail(1090, 1250))[1, 2]
    ways = [least_j(TWO, {a}, {b}) for a, b in (("A 1090 mm", "A 1250 mm"), ("A 1250 mm", "A 1090 mm"))]
    assert entry.j == pytest.approx(min(j for j in ways if j is not None), abs=1e-9)
    assert sorted(entry.markings) == ["A 1090 mm", "A 1250 mm"]


def test_two_of_a_belt_serve_both_stages() -> None:
    """With two belts of 1090 mm the pair of them counts too."""
    pair = told(TWO + nail(1090, count=2))[1, 2]
    assert pair.j == pytest.approx(least_j(TWO, {"A 1090 mm"}, {"A 1090 mm"}), abs=1e-9)
    assert pair.markings == ("A 1090 mm", "A 1090 mm")
    single = told(TWO + nail(1090))[1, 2]
    assert (single.j, single.used) == (None, False)
    assert single.why


def test_the_most_stages_within_the_slack_are_served() -> None:
    """1090 and 1250 on both cost 3.33 %, beyond the 2 % allowed: one stage has its own. 1090 and 1180 do for both."""
    one = designed(TWO + nail(1090, 1250))
    assert [stage.belt_in_hand for stage in one.machine.stages] == [True, False]
    assert [entry.stages for entry in one.hand_belts if entry.used] == [(1,)]
    assert one.hand_belts[0].cost == pytest.approx(0.0333, abs=5e-5)
    two = designed(TWO + nail(1090, 1180))
    assert [stage.belt_in_hand for stage in two.machine.stages] == [True, True]
    assert [entry.stages for entry in two.hand_belts if entry.used] == [(1, 2)]
    assert two.proof.listed == pytest.approx(least_j(TWO, None, None), abs=1e-9)


def test_a_belt_in_hand_is_marked_on_one_stage_only() -> None:
    """The belt is there once: where both stages run on such a belt, another is bought."""
    made = designed(TWO.replace("[1060, 1090, 1120, 1150, 1180, 1220, 1250]", "[1090]") + nail(1090))
    assert [stage.marking for stage in made.machine.stages] == ["A 1090 mm", "A 1090 mm"]
    assert [stage.belt_in_hand for stage in made.machine.stages] == [True, False]


# Steps


def test_steps_say_where_they_come_from() -> None:
    """Sheaves that are only in the drawer are in hand, what stands is kept, what is bought is ready."""
    text = ONE.replace(f"driver = {{ ready = {SIZES} }}", "driver = { sheaves_in_hand = true, ready = [80, 112, 140] }")
    text = text.replace(
        f"driven = {{ ready = {SIZES} }}", 'driven = { kept = ["open", 125, "open", 90], free = [80, 180] }'
    )
    drawer = "".join(
        f'[[in_hand.sheave]]\nsection = "A"\nsteps = {size}\n' for size in (90, 95, 100, 106, 118, 125, 132)
    )
    made = designed(text + drawer)
    (stage,) = made.machine.stages
    sources = [(position.driver.source, position.driven.source) for position in stage.positions]
    assert [driven for _, driven in sources] == ["turned", "kept", "turned", "kept"]
    for position, (driver, _) in zip(stage.positions, sources, strict=True):
        bought = any(position.driver.datum_mm == pytest.approx(size) for size in (80, 112, 140))
        assert driver == ("ready" if bought else "in hand")
    assert "in hand" in {driver for driver, _ in sources}
    assert all(check.passed or check.kind == "advice" for check in made.checks)
