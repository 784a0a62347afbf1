"""One clock ends all work: whatever it ends, what is told is legal, and says that it is not proved."""

from __future__ import annotations

import signal
from collections.abc import Callable
from math import inf

import pytest

from cli.limits import Limits
from optimizer.clock import ENDLESS, Clock, LimitReachedError
from optimizer.errors import NoDesignError
from optimizer.layouts import layouts_of, problem_for
from optimizer.pipeline.compare import CompareOptions, compare
from optimizer.pipeline.design import design
from optimizer.pipeline.options import DesignOptions
from optimizer.records.comparison import Comparison
from optimizer.records.design import Design
from optimizer.refine import refine
from optimizer.scenario import load_scenario
from optimizer.search import closing_proof, round_sizes, search
from optimizer.search.bound import SeriesProgram
from optimizer.search.fit import SeriesRules
from optimizer.search.pairs import BLOCK, lay_belts
from tests.clocks import Ear, Ticking
from tests.machines import GRINDER
from tests.oracle.instances import small_problem
from tests.recheck_truth import MIDDLE

MOST_AFTER = 200
"""Questions after the end: each limit that changes would let out asks once."""
AFTER = (0, 1, 3, 10, 40, 150, 600)
"""Questions after which time is over: from before anything is begun to the closing proof."""

Command = Callable[[str, Clock], Design | Comparison]
COMMANDS: dict[str, Command] = {
    "design": lambda text, clock: design(load_scenario(text, "m.toml"), None, clock),
    "timber": lambda text, clock: design(load_scenario(text, "m.toml"), DesignOptions(prefer="timber"), clock),
    "changes": lambda text, clock: design(load_scenario(text, "m.toml"), DesignOptions(changes=True), clock),
    "free speeds": lambda text, clock: design(load_scenario(MIDDLE, "m.toml"), None, clock),
    "compare": lambda text, clock: compare(load_scenario(text, "m.toml"), CompareOptions(extremes=True), clock),
}


@pytest.mark.parametrize("questions", AFTER)
@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_ends_with_a_legal_result_once_time_is_over(command: str, questions: int) -> None:
    """Soon after its end nothing more is asked, and the result keeps its rules, or says that the search was ended."""
    clock = Ticking(questions)
    try:
        result = COMMANDS[command](GRINDER, clock)
    except NoDesignError as error:
        assert "was ended" in str(error)
    else:
        assert not (isinstance(result, Design) and result.failed)
    # every part asks once more, and is ended
    assert not clock.ended or next(clock.asked) < questions + MOST_AFTER


def test_none_is_told_no_later() -> None:
    """Where there is no design, no change is asked for once time is over."""
    ear = Ear()
    none = GRINDER.replace("to = 1700", "to = 2600")
    with pytest.raises(NoDesignError):
        design(load_scenario(none, "m.toml"), None, Clock(-1.0, watch=ear))
    assert not any(stage.startswith("what ") for stage in ear.stages)


def test_every_part_asks_the_clock() -> None:
    """Refinement keeps the candidate, the closing proof is left open, linear programs raise, rounding has its grace."""
    problem = next(p for p in map(small_problem, range(40)) if search(p).candidate is not None)
    candidate, over = search(problem).candidate, Clock(-1.0)
    assert candidate is not None
    assert search(problem, over).proof.status == "not proved"
    assert closing_proof(candidate, 0.05, over).status == "not proved"
    with pytest.raises(LimitReachedError):
        SeriesProgram(SeriesRules.of(problem), None, clock=over).least_j  # noqa: B018
    refined = refine(candidate, 0.0, clock=over)
    assert (refined.kept == "candidate" and "ended" in refined.why) or refined.why == "nothing is turned"
    assert round_sizes(problem, candidate.stages, clock=Clock(-0.5)) == round_sizes(problem, candidate.stages)


def test_memory_is_asked_for_before_it_is_taken() -> None:
    """Pairs are laid in blocks of a bounded size; the last that has room is laid, the next is refused."""
    scenario = load_scenario(GRINDER.replace("[making]", "[making]\nturn_to = 0.02", 1), "m.toml")
    stage = problem_for(scenario, layouts_of(scenario)[0]).stages[0]
    asked = 0

    def held_mb() -> float:
        nonlocal asked
        asked += 1
        return 100.0 if asked < 4 else 2000.0

    with pytest.raises(LimitReachedError, match="1,000 MB"):
        lay_belts(stage, positions=4, ticks=True, clock=Clock(megabytes=1000, held_mb=held_mb))
    assert asked == 4
    assert BLOCK <= 200_000


def test_a_clock_that_ends_nothing_decides_nothing() -> None:
    """With time left, and without a clock, the result is the same."""
    scenario = load_scenario(GRINDER, "m.toml")
    assert design(scenario, None, Clock(1e6, 1e6, held_mb=lambda: 0.0)).proof == design(scenario).proof
    assert ENDLESS.left_s == inf and ENDLESS.over() == ""


def test_an_interrupt_keeps_the_best_so_far() -> None:
    """^C once the search is through leaves refinement and closing proof out; before it has anything it ends all."""

    class Breaking(Ear):
        def begin(self, stage: str) -> None:
            super().begin(stage)
            if stage == "refining":
                signal.raise_signal(signal.SIGINT)

    with Limits().clock(Breaking()) as clock:
        made = design(load_scenario(GRINDER, "m.toml"), None, clock)
    assert made.proof.status == "proved" and not made.failed
    assert made.closing.status == "not proved"
    with pytest.raises(KeyboardInterrupt), Limits().clock(Ear()) as clock:
        clock.interrupt()
        design(load_scenario(GRINDER, "m.toml"), None, clock)
