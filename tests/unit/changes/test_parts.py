"""Parts of what works least changes out: keys, lines of values, halving, blocks of ticks, questions."""

from __future__ import annotations

from math import inf, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.changes.limit import TickLine, changed, settings, value_at_key
from optimizer.changes.limits import let_out, other_lengths_mm, speed_tick_rpm, tightened
from optimizer.changes.moving import covering
from optimizer.changes.questions import Finding, Place, Questions, Without, boundary, nearest_first
from optimizer.clock import Clock
from optimizer.errors import NoDesignError
from optimizer.layouts import layouts_of, problem_for
from optimizer.layouts.problem import targets_of
from optimizer.records.candidate import Candidate
from optimizer.records.layout import Layout
from optimizer.records.middle import MiddleProblem
from optimizer.records.problem import BandTarget, Problem, Targets
from optimizer.records.proof import Found, Proof
from optimizer.records.speeds import counts
from optimizer.scenario import Scenario, load_scenario
from optimizer.scenario.belt import Belt
from optimizer.search import search
from optimizer.series import end_miss
from tests.unit.changes.machines import INCH, KEPT, SIEVE, TWO_STAGES, edited, with_settings

MACHINES = {"sieve": SIEVE, "inches": INCH, "kept cone": KEPT, "two stages": TWO_STAGES}


def scenario(text: str) -> Scenario:
    """Return a scenario read from a file's text."""
    return load_scenario(text, "machine.toml")


SIEVE_READ = scenario(SIEVE)
SOME = Candidate.model_construct(problem=problem_for(SIEVE_READ, layouts_of(SIEVE_READ)[0]), stages=())
"""Stands for a design where only its being there counts."""


@pytest.mark.parametrize("name", MACHINES)
def test_setting_a_key_is_writing_it_into_the_file(name: str) -> None:
    """For every limit a tick out, keys set by the program give the problems that the file with them written gives."""
    there = scenario(MACHINES[name])
    for limit in (*let_out(there), *tightened(there)):
        values = limit.values(1)
        told = settings(there, limit, 1)
        written = scenario(with_settings(MACHINES[name], told))
        for layout in layouts_of(there):
            assert problem_or_none(changed(there, values), layout) == problem_or_none(written, layout), values


def test_values_are_read_by_the_makers_keys() -> None:
    """A key leads to the value the maker stated, or to the default."""
    there = scenario(SIEVE)
    assert value_at_key(there, "stage[0].driver.free[1]") == 200.0
    assert value_at_key(there, "stage[0].wrap") == 90.0
    assert value_at_key(there, "band[1].from") == 900.0
    with pytest.raises(KeyError):
        value_at_key(there, "stage[0].colour")


def test_bands_have_no_part_in_sizes() -> None:
    """Problems of scenarios that differ in their bands differ in their targets alone."""
    there = scenario(SIEVE)
    other = changed(there, {"band[0].from": 300.0, "band[1].want": 1, "band[1].to": 2500.0})
    for layout in layouts_of(there):
        swapped = problem_for(there, layout).model_copy(update={"targets": targets_of(other)})
        assert swapped == problem_for(other, layout)


@given(
    now=st.floats(1, 5000), tick=st.sampled_from([0.5, 1.0, 1.5875, 0.001]), way=st.sampled_from([1, -1]), far=st.data()
)
def test_line_allows_what_is_needed_and_no_tick_more(now: float, tick: float, way: int, far: st.DataObject) -> None:
    """The ticks to a value needed allow it, one tick less does not, and the first tick is beyond the present value."""
    line = TickLine(now, tick, way)
    needed = now + way * far.draw(st.floats(tick, 300 * tick))
    steps = line.to(needed)
    assert (line.at(steps) - needed) * way >= -2e-6
    assert steps <= 1 or (line.at(steps - 1) - needed) * way < 1e-6
    assert (line.at(1) - now) * way > -1e-6


def test_tick_of_a_speed_is_at_most_a_hundredth() -> None:
    """Ticks of speeds are plain figures of half to one hundredth of the speed, or a little less."""
    for rpm in (30, 99, 100, 101, 333, 499, 500, 2400, 60_000):
        assert rpm / 250 <= speed_tick_rpm(rpm) <= rpm / 100 * (1 + 1e-9)


@given(first=st.integers(1, 400), use=st.integers(0, 30), last=st.integers(400, 500))
def test_halving_ends_at_the_first_tick_with_a_design(first: int, use: int, last: int) -> None:
    """Whatever a design found really uses, the tick ended on has one and its neighbour has none."""
    asked: list[int] = []

    def ask(steps: int) -> Finding:
        asked.append(steps)
        return Finding(SOME if steps >= first else None)

    found = boundary(ask, lambda _, steps: max(first, steps - use), Place(last, SOME), Without(0))
    assert (found.good.steps, found.bad) == (first, Without(first - 1))
    assert len(asked) <= 12


def test_halving_does_not_believe_what_a_design_says_it_uses() -> None:
    """Where sizes are listed so that a design is lost at the value it uses, the halving goes on above it."""
    found = boundary(lambda steps: Finding(SOME if steps >= 40 else None), lambda *_: 10, Place(100, SOME), Without(0))
    assert (found.good.steps, found.bad.steps) == (40, 39)


def test_halving_goes_either_way() -> None:
    """A limit that is tightened loses its design further along the line."""
    found = boundary(
        lambda steps: Finding(SOME if steps <= 17 else None, known=steps != 18),
        lambda *_: 5,
        Place(0, SOME),
        Without(90),
    )
    assert (found.good.steps, found.bad) == (17, Without(18, known=False))


@given(
    rpm=st.lists(st.floats(80, 900), min_size=1, max_size=4),
    lo=st.tuples(st.floats(90, 150), st.floats(90, 150)),
    hi=st.tuples(st.floats(500, 900), st.floats(500, 900)),
    part=st.floats(0, 1),
)
def test_covering_targets_are_kept_by_whatever_keeps_any(
    rpm: list[float], lo: tuple[float, float], hi: tuple[float, float], part: float
) -> None:
    """Speeds that keep targets between two keep those that cover both: they count, and the ends miss by no more."""
    speeds = sorted(rpm)
    between = targets(lo[0] + part * (lo[1] - lo[0]), hi[0] + part * (hi[1] - hi[0]))
    both = covering([targets(a, b) for a, b in zip(lo, hi, strict=True)])
    assert all(counts(both.bands[0], n) for n in speeds if counts(between.bands[0], n))
    log_rpm = [log(n) for n in speeds]
    if end_miss(log_rpm, between.lo_rpm, between.hi_rpm) <= between.end_miss_most:
        assert end_miss(log_rpm, both.lo_rpm, both.hi_rpm) <= both.end_miss_most


def test_covering_one_is_that_one() -> None:
    """Targets alone are covered by themselves."""
    assert covering([targets(100, 600)]) == targets(100, 600)


def test_questions_are_asked_once() -> None:
    """The same problem is searched once, one with a known result not at all, nor one hopeless for its wants."""
    there = scenario(edited(SIEVE, {"band[1].want": 3}))
    calls = []

    def finder(problem: Problem | MiddleProblem, clock: Clock, /) -> Found:
        assert isinstance(problem, Problem)
        calls.append(problem.layout.name)
        return search(problem, clock)

    questions = Questions(finder)
    layouts = layouts_of(there)
    for asked in (there, changed(there, {"stage[0].travel": 71.0})):
        assert [questions.ask(asked, layout) for layout in layouts] == [Finding(None)] * len(layouts)
    assert calls == ["3"]
    sound = scenario(SIEVE)
    problem = problem_for(sound, layouts[0])
    told = Questions(finder, [(problem, search(problem))])
    assert told.ask(sound, layouts[0]).candidate is not None
    assert (calls, told.searches) == (["3"], 0)


def test_design_found_before_answers_for_other_limits() -> None:
    """A design of the same sizes and belts that keeps the new limits is an answer; others are searched."""
    layout = layouts_of(SIEVE_READ)[0]
    questions = Questions()
    first = questions.ask(SIEVE_READ, layout).candidate
    assert first is not None
    looser = changed(SIEVE_READ, {"stage[0].wrap": 80.0, "making.rim_speed": 25.0})
    again = questions.ask(looser, layout).candidate
    assert again is not None
    assert (again.stages, questions.searches) == (first.stages, 1)
    assert again.problem == problem_for(looser, layout)
    questions.ask(changed(SIEVE_READ, {"stage[0].wrap": 179.0}), layout)
    questions.ask(changed(SIEVE_READ, {"making.largest_blank": 215.0}), layout)
    assert questions.searches == 3


def test_open_questions_are_no_proof() -> None:
    """A question ended by its limit is left open, and so is every one after the limit of all."""
    there = scenario(SIEVE)
    layout = layouts_of(there)[0]
    assert Questions(most=1).ask(there, layout) == Finding(None, known=False)
    assert Questions(in_all=0).ask(there, layout) == Finding(None, known=False)


def test_layouts_without_hope_come_last() -> None:
    """Layouts with too few speeds are asked after those out of reach, and those after the ones that lack belts."""
    layouts = layouts_of(scenario(TWO_STAGES))
    proofs = [(inf, inf), (0.0, inf), (0.0, 0.0)]
    known = {
        layout: Found(proof=Proof(status="no design", ideal=ideal, structural=structural))
        for layout, (ideal, structural) in zip(layouts, proofs, strict=True)
    }
    assert nearest_first(layouts, known) == (layouts[2], layouts[1], layouts[0])


def test_other_lengths_come_nearest_first() -> None:
    """Beside 1000 and 1120 mm of section A the stock lengths between and around them come first."""
    assert other_lengths_mm(Belt(section="A", lengths=(1000, 1120)))[:4] == (950.0, 1060.0, 1180.0, 900.0)
    assert other_lengths_mm(Belt(section="A", lengths="any")) == ()
    beyond = other_lengths_mm(Belt(section="A", lengths="metric stock", longest_mm=1000))
    assert min(beyond) == 1060.0


def problem_or_none(there: Scenario, layout: Layout) -> Problem | None:
    """Return a layout's problem, or nothing where it has none."""
    try:
        return problem_for(there, layout)
    except NoDesignError:
        return None


def targets(lo: float, hi: float) -> Targets:
    """Return targets of one band, its ends widened by 3 %."""
    band = BandTarget(name="b", low_rpm=lo / 1.03, high_rpm=hi * 1.03, top=True)
    return Targets(bands=(band,), lo_rpm=lo, hi_rpm=hi)
