"""Mounts whose one movement changes several belts: the search against looking at every combination."""

from __future__ import annotations

from functools import cache

import pytest

from optimizer.layouts.coupling import narrowed
from optimizer.records.rules import broken_rules
from optimizer.search import search
from tests.oracle.brute import every_design, keeps_the_rules, stages_of
from tests.oracle.coupled import Machine, best_design, coupled_machine, fits_one_setting
from tests.sampled import sampled

SEEDS = tuple(range(32))
EASE_MM = 1e-4
"""Seeds of which so little more or less would change the answer say nothing."""


@cache
def truth(seed: int, ease_mm: float = 0.0) -> float | None:
    """Return the least J by looking at everything."""
    found = best_design(machine_of(seed), ease_mm)
    return found[0] if found else None


@cache
def machine_of(seed: int) -> Machine:
    """Return the machine of a seed, made once."""
    return coupled_machine(seed)


@pytest.mark.parametrize("seed", sampled(SEEDS, every=3))
def test_search_finds_what_looking_at_everything_finds(seed: int) -> None:
    """The least J is that of the best design whose every pair of positions has a common setting of the mount.

    That is so too with windows no wider than one setting for all leaves them.
    """
    best = truth(seed)
    problem = machine_of(seed).problem
    found = search(problem)
    assert search(narrowed(problem)).proof.listed == found.proof.listed
    if best is None:
        assert (found.proof.status, found.candidate) == ("no design", None)
        return
    assert found.proof.status == "proved"
    assert found.proof.listed == pytest.approx(best, abs=1e-9)
    assert found.candidate is not None


def test_the_seeds_say_something() -> None:
    """The answers do not hang on a hair, many machines have a design, many lose their best one to the rule."""
    kinds = []
    for seed in sampled(SEEDS, every=4):
        best, machine = truth(seed), machine_of(seed)
        assert (truth(seed, EASE_MM), truth(seed, -EASE_MM)) == (best, best)
        free = search(machine.problem.model_copy(update={"couplings": ()})).proof.listed
        kinds.append("none" if best is None else "binds" if best > free + 1e-9 else "free")
    assert kinds.count("binds") >= len(kinds) / 8
    assert kinds.count("free") >= len(kinds) / 8
    assert kinds.count("none") <= len(kinds) * 0.6


@pytest.mark.parametrize("seed", sampled(SEEDS[::3], every=2))
def test_two_readings_of_the_rule_agree(seed: int) -> None:
    """A combination fits one setting as worked out from plain places just when no rule of the records is broken."""
    machine = machine_of(seed)
    designs = [d for d in every_design(machine.problem) if keeps_the_rules(machine.problem, d)]
    for design in designs[:: max(1, len(designs) // 12)]:
        stages = stages_of(design)
        assert fits_one_setting(machine, stages) == (broken_rules(machine.problem, stages) == [])
