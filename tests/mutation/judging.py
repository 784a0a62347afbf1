"""Whether the tests notice a mutant."""

from __future__ import annotations

import json
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from hashlib import sha256
from itertools import accumulate
from pathlib import Path
from typing import Literal, NamedTuple

import pytest

from tests.mutation.child import Ended, in_child, in_children
from tests.mutation.mutants import Mutant, mutant_tree
from tests.mutation.rooms import ROOT, Room
from tests.mutation.session import Plan, Ran, Runner, run_session, traced, until_one_fails
from tests.mutation.swap import Loaded, load_instead

__all__ = ["Verdict", "judge"]

FOLDER = ROOT / ".mutation"
KILLS_COUNT = 5.0
"""How much sooner a test is tried for every mutant of the module that it has noticed."""
LATER = "later"
"""Told by a copy in which the mutant cannot be put into what is loaded."""

BROKEN = "it cannot be loaded"

How = Literal["killed", "too slow", "survived", "not run"]


class Verdict(NamedTuple):
    """What became of one mutant."""

    mutant: Mutant
    how: How
    test: str = ""
    """The test that noticed."""

    @property
    def killed(self) -> bool:
        """Whether it was noticed."""
        return self.how in ("killed", "too slow")


Say = Callable[[Verdict], None]


def judge(room: Room, mutants: Sequence[Mutant], at_once: int, say: Say) -> list[Verdict]:
    """Return the verdicts of a room's mutants, in their order.

    Mutants of functions and of constants are put into copies of a process that has everything loaded. What is
    done when a module is loaded, constants that nothing noticed so among it, is judged in copies of a process that
    has loaded nothing of the project yet.
    """
    order = {mutant: place for place, mutant in enumerate(mutants)}
    plan = _plan(room)
    verdicts: list[Verdict] = []

    def work() -> object:
        found: list[tuple[int, str, str]] = []

        def task(runner: Runner, items: Sequence[pytest.Item]) -> None:
            for verdict in _warm(runner, {item.nodeid: item for item in items}, plan, mutants, room, at_once):
                say(verdict)
                found.append((order[verdict.mutant], verdict.how, verdict.test))

        run_session(_absolute(room.tests), task)
        return found

    ended = in_child(work)
    for place, how, test in ended.told or ():
        verdicts.append(Verdict(mutants[place], how, test))
    known = {verdict.mutant for verdict in verdicts}
    for verdict in _cold(plan, room, [mutant for mutant in mutants if mutant not in known], at_once):
        say(verdict)
        verdicts.append(verdict)
    return sorted(verdicts, key=lambda verdict: order[verdict.mutant])


def _warm(
    runner: Runner, items: dict[str, pytest.Item], plan: Plan, mutants: Sequence[Mutant], room: Room, at_once: int
) -> Iterator[Verdict]:
    """Yield verdicts of mutants that can be put into functions that are loaded."""
    loaded = {path: Loaded(ROOT / path) for path in {mutant.path for mutant in mutants}}
    sources = {path: (ROOT / path).read_text(encoding="utf-8") for path in loaded}
    kills: Counter[tuple[str, str]] = Counter()

    def work(mutant: Mutant) -> object:
        try:
            if not _put_in(loaded[mutant.path], mutant, sources[mutant.path]):
                return LATER
        except Exception as error:
            return f"{BROKEN}: {error}"
        chosen = _ordered(plan, _chosen(plan, mutant, room.most_seconds), mutant.path, kills)
        noticed = until_one_fails(runner, [items[name] for name in chosen], plan)
        return noticed if mutant.inside else noticed or LATER

    for mutant, ended in in_children([m for m in mutants if _chosen(plan, m, room.most_seconds)], work, at_once):
        if ended.told != LATER:
            verdict = _verdict(mutant, ended)
            kills[mutant.path, verdict.test] += 1
            yield verdict


def _put_in(loaded: Loaded, mutant: Mutant, source: str) -> bool:
    """Put a mutant into what is loaded; tell whether that can be done."""
    tree = mutant_tree(source, mutant.number)
    if not mutant.function:
        return loaded.rebind(tree, mutant.first)
    try:
        return mutant.inside and loaded.swap(tree, mutant.function)
    except ValueError:  # it takes other names from around it than the function did
        return False


def _cold(plan: Plan, room: Room, mutants: Sequence[Mutant], at_once: int) -> Iterator[Verdict]:
    """Yield verdicts of mutants that are put in before anything is loaded."""

    def work(mutant: Mutant) -> object:
        path = ROOT / mutant.path
        try:
            load_instead(path, ROOT, mutant_tree(path.read_text(encoding="utf-8"), mutant.number))
        except Exception as error:
            return f"{BROKEN}: {error}"
        names = _ordered(plan, _chosen(plan, mutant, room.most_seconds), mutant.path, Counter())
        found: list[str | None] = ["the tests cannot be read"]

        def task(runner: Runner, items: Sequence[pytest.Item]) -> None:
            known = {item.nodeid: item for item in items}
            if not runner.broken:
                found[0] = until_one_fails(runner, [known[name] for name in names if name in known], plan)

        run_session(_absolute(sorted({name.split("::")[0] for name in names})), task)
        return found[0]

    run = [mutant for mutant in mutants if _chosen(plan, mutant, room.most_seconds)]
    yield from (Verdict(mutant, "not run") for mutant in mutants if mutant not in run)
    for mutant, ended in in_children(run, work, at_once):
        yield _verdict(mutant, ended)


def _verdict(mutant: Mutant, ended: Ended) -> Verdict:
    if ended.signal:
        return Verdict(mutant, "too slow")
    return Verdict(mutant, "killed", ended.told) if ended.told else Verdict(mutant, "survived")


def _chosen(plan: Plan, mutant: Mutant, most_seconds: float) -> list[str]:
    """Return the tests that run the statement of a mutant; where it is in no function, those that know its module.

    The quickest of them, as many as the seconds allow; at least one.
    """
    span = range(mutant.first, mutant.last + 1)
    if mutant.function:
        found = [name for name, ran in plan.items() if any(line in span for line in ran.lines.get(mutant.path, ()))]
    else:
        found = [name for name, ran in plan.items() if mutant.path in ran.lines or _names(name, mutant.path)]
    found.sort(key=lambda name: plan[name].seconds)
    sums = list(accumulate(plan[name].seconds for name in found))
    return found[: max(1, bisect_right(sums, most_seconds))]


def _names(test: str, path: str) -> bool:
    """Tell whether a test, or its file, names a module, and so may read a constant of it."""
    module = path.removesuffix(".py").replace("/", ".")
    return module in test or module in _text_of(test.split("::")[0])


@cache
def _text_of(file: str) -> str:
    return (ROOT / file).read_text(encoding="utf-8")


def _ordered(plan: Plan, names: Sequence[str], path: str, kills: Counter[tuple[str, str]]) -> list[str]:
    """Return the tests in the order in which they are tried, those first that notice much for their time."""
    return sorted(names, key=lambda name: (plan[name].seconds + 1e-3) / (1 + KILLS_COUNT * kills[path, name]))


def _plan(room: Room) -> Plan:
    """Return which lines the room's tests run, from the last time where nothing has changed since."""
    kept = FOLDER / f"{room.name}-{_state(room)}.json"
    if not kept.is_file():
        FOLDER.mkdir(exist_ok=True)
        ended = in_child(lambda: _trace(room))
        if ended.told is None or ended.told["broken"]:
            raise RuntimeError(f"the tests of {room.name} cannot be read: {ended}")
        kept.write_text(json.dumps(ended.told["plan"]), encoding="utf-8")
    return {name: Ran(*ran) for name, ran in json.loads(kept.read_text(encoding="utf-8")).items()}


def _trace(room: Room) -> dict[str, object]:
    told: dict[str, object] = {}

    def task(runner: Runner, items: Sequence[pytest.Item]) -> None:
        plan = traced(runner, items, [str(path) for path in room.files()], room.longest_seconds)
        told["broken"] = runner.broken
        told["plan"] = {
            name: (ran.seconds, {Path(file).relative_to(ROOT).as_posix(): lines for file, lines in ran.lines.items()})
            for name, ran in plan.items()
        }

    run_session(_absolute(room.tests), task)
    return told


def _absolute(tests: Sequence[str]) -> list[str]:
    return [str(ROOT / test) for test in tests if (ROOT / test).exists()]


def _state(room: Room) -> str:
    """Return a mark of the package and of the tests."""
    mark = sha256(repr(room).encode())
    for path in sorted([*(ROOT / "optimizer").rglob("*.py"), *(ROOT / "tests").rglob("*.py")]):
        if path.parent.name != "mutation":
            mark.update(path.as_posix().encode() + path.read_bytes())
    return mark.hexdigest()[:12]
