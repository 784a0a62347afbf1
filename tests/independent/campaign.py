"""Random machines designed, verified, held against random legal choices: one after the other, to be gone on with."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from fractions import Fraction
from hashlib import sha256
from pathlib import Path
from time import perf_counter
from typing import Any
from unittest.mock import patch

from optimizer.clock import Clock
from optimizer.documents.data import design_json, record_json
from optimizer.errors import NoDesignError, ScenarioError
from optimizer.pipeline.design import design
from optimizer.pipeline.known import tell_known
from optimizer.pipeline.options import DesignOptions
from optimizer.scenario import load_scenario
from tests.independent.combinations import draw_choices
from tests.independent.held import hold_against, hold_none_against
from tests.independent.stated import read_machine
from tests.independent.verify import verify, verify_known
from tests.random_machines import RandomMachine, random_known_machine, random_machine

__all__ = ["APART", "Record", "campaign", "examine", "examine_known", "report", "run", "seeds_of"]

Record = dict[str, Any]
APART = 1_000_000
"""Machines between two seeds of a campaign."""
MOST_EXAMINED = 250_000
"""Combinations after which a search is ended unproved, so that no machine takes minutes; its bound still counts."""


def seeds_of(seed: int, count: int) -> list[int]:
    """Return the seeds of the machines of a campaign."""
    return [seed * APART + number for number in range(count)]


def examine(seed: int) -> Record:
    """Return what became of one machine: its outcome, what is wrong, how far figures are off, what was drawn."""
    start = perf_counter()
    machine = random_machine(seed)
    record: Record = {"seed": seed, "violations": [], "deviations": {}, "legal": {}}
    try:
        record |= _examined(machine)
    except Exception as error:  # whatever happens to one machine is told of it, and the campaign goes on
        record |= {"outcome": "crash", "violations": [f"{type(error).__name__}: {error}"]}
    if record["violations"]:
        record["scenario"] = machine.text
    return record | {"seconds": round(perf_counter() - start, 3)}


def _examined(machine: RandomMachine) -> Record:
    try:
        scenario = load_scenario(machine.text, "machine.toml")
    except ScenarioError as error:
        return {"outcome": "refused", "violations": [str(fault) for fault in error.faults]}
    stated = read_machine(machine.text)
    try:
        # what would give a design where there is none takes longer than all else, and is not what is verified here
        with patch("optimizer.pipeline.no_design.changes_for_none", return_value=None):
            result = design(scenario, DesignOptions(), Clock(most=MOST_EXAMINED))
    except NoDesignError as error:
        if "the search was ended" in str(error):
            return {"outcome": "ended"}
        return {"outcome": "none", "violations": hold_none_against(stated, machine.drives, machine.seed)}
    text = design_json(result)
    verdict = verify(text)
    document = json.loads(text, parse_float=Fraction, parse_int=Fraction)
    sampled = draw_choices(stated, document, machine.seed)
    held = hold_against(stated, machine.drives, document)
    return {
        "outcome": "designed",
        "violations": [*verdict.violations, *sampled.violations, *held],
        "deviations": verdict.deviations,
        "legal": sampled.legal,
        "proof": document["proof"]["status"],
        "above_listed": max(0.0, sampled.least.get("listed", 1.0) - float(document["proof"]["bound"])),
    }


def examine_known(seed: int) -> Record:
    """Return what is wrong with what is told of a random machine that is fully known."""
    text = random_known_machine(seed)
    try:
        known = tell_known(load_scenario(text, "known.toml"))
    except ScenarioError as error:
        return {"seed": seed, "outcome": "refused", "violations": [str(fault) for fault in error.faults]}
    verdict = verify_known(record_json(known))
    outcome = "breaks a rule" if verdict.broken else "keeps all rules"
    return {"seed": seed, "outcome": outcome, "violations": verdict.false, "deviations": verdict.deviations}


def campaign(seeds: Sequence[int], jobs: int, state: Path | None, *, known: bool = False) -> Iterator[Record]:
    """Examine machines, those of an earlier run taken from its state file, and yield what became of each.

    Raises
    ------
    ValueError
        The state file was made by other random machines.
    """
    done = _read_state(state)
    yield from (done[seed] for seed in seeds if seed in done)
    left = [seed for seed in seeds if seed not in done]
    for record in run(examine_known if known else examine, left, jobs):
        if state is not None:
            with state.open("a", encoding="utf-8") as file:
                file.write(json.dumps(record) + "\n")
        yield record


def _read_state(state: Path | None) -> dict[int, Record]:
    """Return what an earlier run has found; a last line that was cut off is dropped, and its machine done again."""
    made_by = _made_by()
    if state is None:
        return {}
    if not state.exists():
        state.write_text(json.dumps({"made by": made_by}) + "\n", encoding="utf-8")
        return {}
    lines = state.read_text(encoding="utf-8").splitlines(keepends=True)
    whole = [line for line in lines if line.endswith("\n")]
    if not whole or json.loads(whole[0]) != {"made by": made_by}:
        raise ValueError(f"{state} was made by other random machines; name another file, or remove it")
    if len(whole) < len(lines):
        state.write_text("".join(whole), encoding="utf-8")
    return {record["seed"]: record for record in map(json.loads, whole[1:])}


def _made_by() -> str:
    """Return a digest of what makes the random machines."""
    here = Path(__file__).parent
    files = here.parent / "random_machines.py", here / "drives.py", here / "random_drawer.py", here / "tables.py"
    return sha256(b"".join(path.read_bytes() for path in files)).hexdigest()


def run(look: Callable[[int], Record], seeds: Sequence[int], jobs: int) -> Iterator[Record]:
    """Yield the machines as they are done; one that takes its process down with it is told of, the others go on."""
    if jobs <= 1:
        yield from map(look, seeds)
        return
    left, suspects = list(seeds), set[int]()
    while left:
        running: dict[Future[Record], int] = {}
        try:
            with ProcessPoolExecutor(1 if suspects else jobs) as pool:
                while left or running:
                    while left and len(running) < (1 if suspects else jobs):
                        running[pool.submit(look, left[0])] = left[0]
                        del left[0]
                    for future in wait(running, return_when=FIRST_COMPLETED).done:
                        yield future.result()
                        suspects.discard(running.pop(future))
        except BrokenProcessPool:
            lost = list(running.values())
            if len(lost) == 1:
                yield {"seed": lost[0], "outcome": "crash", "violations": ["its process was killed"]}
                suspects.discard(lost[0])
            else:
                left, suspects = [*lost, *left], suspects | set(lost)


def report(records: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return lines on what became of all machines: counts, violations, greatest deviations."""
    outcomes = Counter(record["outcome"] for record in records)
    proofs = Counter(record["proof"] for record in records if "proof" in record)
    legal: Counter[str] = Counter()
    worst: dict[str, float] = {}
    for record in records:
        legal.update(record.get("legal", {}))
        for kind, off in record.get("deviations", {}).items():
            worst[kind] = max(worst.get(kind, 0.0), off)
    wrong = [record for record in records if record["violations"]]
    lines = [
        f"{len(records)} machines: " + ", ".join(f"{count} {name}" for name, count in sorted(outcomes.items())),
        "listed optimum: " + ", ".join(f"{count} {name}" for name, count in sorted(proofs.items())),
        "legal choices drawn: " + ", ".join(f"{count} {kind}" for kind, count in sorted(legal.items())),
        f"violations: {sum(len(record['violations']) for record in wrong)} on {len(wrong)} machines",
    ]
    lines += [f"  machine {record['seed']}: {text}" for record in wrong for text in record["violations"][:5]]
    lines.append("greatest deviations of stated figures:")
    lines += [f"  {kind}: {off:.1e}" for kind, off in sorted(worst.items())]
    return lines
