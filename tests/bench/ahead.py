"""How many times faster the search is than the two strongest general solvers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from statistics import median

from tests.bench.answer import Answer, hold_against
from tests.bench.cases import Case
from tests.bench.ours import ask_search
from tests.bench.peers import AHEAD, OTHERS, Asked
from tests.bench.store import Store
from tests.oracle.milp import Formulation, formulate, tables_of

__all__ = ["GOALS", "run_ahead"]

GOALS = {"HiGHS": 300.0, "CP-SAT": 200.0}
"""How many times faster the search is to be."""
REPEATED_BELOW_S = 12.0
"""A call that takes longer is made once."""


def run_ahead(cases: Sequence[Case], store: Store, asked: Asked, say: Callable[[str], None]) -> None:
    """Time the search and both solvers on every case, the median of some rounds."""
    for case in cases:
        problem = case.make()
        ours, pairs = ask_search(problem, asked.rounds)
        say(f"{case.name}: {ours.seconds * 1000:.1f} ms")
        form = formulate(problem, tables_of(problem))
        answers = {"search": {**ours._asdict(), "runs": asked.rounds}}
        for name in GOALS:
            answer, runs = _median(form, name, ours, asked)
            say(f"  {name:<8} {answer.status:<7} {answer.seconds:8.3f} s, {answer.seconds / ours.seconds:8.0f} times")
            answers[name] = {**answer._asdict(), "runs": runs}
        store.keep(AHEAD, case.name, {"limit_s": asked.limit_s, "pairs": pairs, "answers": answers})


def _median(form: Formulation, name: str, ours: Answer, asked: Asked) -> tuple[Answer, int]:
    answer = OTHERS[name](form, asked.limit_s)
    hold_against(ours, answer)
    times = [answer.seconds]
    while len(times) < asked.rounds and times[0] < REPEATED_BELOW_S and answer.status != "time":
        times.append(OTHERS[name](form, asked.limit_s).seconds)
    return answer._replace(seconds=median(times)), len(times)
