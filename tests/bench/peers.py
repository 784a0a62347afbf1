"""Every solver on the same instances, one after another."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from time import perf_counter

from tests.bench.answer import Answer, ContradictionError, hold_against
from tests.bench.cases import Case
from tests.bench.cp_sat import ask_cp_sat
from tests.bench.evolution import ask_evolution
from tests.bench.highs import ask_highs
from tests.bench.ours import ask_search
from tests.bench.scip import ask_scip
from tests.bench.store import Store
from tests.oracle.milp import Formulation, formulate, tables_of

__all__ = ["AHEAD", "OTHERS", "PART", "Asked", "ask_others", "run_peers"]

PART = "peers"
AHEAD = "ahead"
KNOWN = 1.5e-8
"""Known optima are printed with eight or more places."""
Asker = Callable[[Formulation, float], Answer]
OTHERS: dict[str, Asker] = {
    "HiGHS": ask_highs,
    "CP-SAT": ask_cp_sat,
    "SCIP": ask_scip,
    "evolution": ask_evolution,
}


@dataclass(frozen=True)
class Asked:
    """What is asked of whom, for how long."""

    limit_s: float = 60.0
    rounds: int = 5
    solvers: tuple[str, ...] = tuple(OTHERS)


def run_peers(cases: Sequence[Case], store: Store, asked: Asked, say: Callable[[str], None]) -> None:
    """Ask every solver every case and keep what they say.

    Raises
    ------
    ContradictionError
        If two answers cannot both be true, or a known optimum is missed.
    """
    for case in cases:
        say(f"{case.name}")
        problem = case.make()
        ours, pairs = ask_search(problem, asked.rounds)
        if case.known is not None and abs(ours.j - case.known) > KNOWN:
            raise ContradictionError(f"the search says {ours.j}, known is {case.known}")
        say(_line("search", ours))
        start = perf_counter()
        form = formulate(problem, tables_of(problem))
        formulating = perf_counter() - start
        known = _measured_ahead(case.name, store, asked)
        answers = {"search": ours, **known, **ask_others(form, ours, asked, say, tuple(known))}
        row = {
            "limit_s": asked.limit_s,
            "pairs": pairs,
            "variables": len(form.program.cost),
            "rows": len(form.program.rows),
            "formulating": formulating,
            "answers": {name: answers[name]._asdict() for name in ("search", *OTHERS) if name in answers},
        }
        store.keep(PART, case.name, row)


def _measured_ahead(name: str, store: Store, asked: Asked) -> dict[str, Answer]:
    """Return the answers that were given on the same code for the part on speed, so that nobody is asked twice."""
    row = store.rows(AHEAD).get(name)
    if row is None or row["code"] != store.code or row["limit_s"] != asked.limit_s:
        return {}
    return {
        other: Answer(**{field: said[field] for field in Answer._fields})
        for other, said in row["answers"].items()
        if other in asked.solvers
    }


def ask_others(
    form: Formulation, ours: Answer, asked: Asked, say: Callable[[str], None], known: tuple[str, ...] = ()
) -> dict[str, Answer]:
    """Return the answer of every other solver asked for and not known yet, each held against ours."""
    answers = {}
    for name in asked.solvers:
        if name in known:
            continue
        answers[name] = OTHERS[name](form, asked.limit_s)
        say(_line(name, answers[name]))
        hold_against(ours, answers[name])
    return answers


def _line(name: str, answer: Answer) -> str:
    return f"  {name:<10} {answer.status:<10} J {answer.j:<22} bound {answer.bound:<22} {answer.seconds:8.3f} s"
