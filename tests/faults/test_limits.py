"""Time and memory: what ends a call, what is said, and that the best design so far is told with its gap."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from cli.limits import LEAST_MB, Limits, held_mb
from optimizer.clock import Clock
from optimizer.errors import ScenarioError
from optimizer.pipeline.design import design
from optimizer.scenario import load_scenario
from tests.faults.calls import call, shop, snapshot
from tests.machines import GRINDER

MEMORY_GONE = "memory ran out before the end; nothing half-written is left\n"


def test_best_so_far_is_told_with_its_gap(tmp_path: Path) -> None:
    """A search whose time is over ends with the best design so far; screen and document state status, reason, gap."""
    ended = call(shop(tmp_path), "design", "grinder.toml", "--time", "1e-9")
    assert ended.code in (0, 4)
    proof = json.loads((tmp_path / "grinder-design" / "design.json").read_bytes())["proof"]
    assert (proof["status"], proof["reason"]) == ("not proved", "the 1e-09 s it was given were over")
    assert proof["gap"] == pytest.approx(proof["listed"] - proof["bound"], abs=1e-12)
    assert proof["gap"] > 0
    for text in (ended.out, (tmp_path / "grinder-design" / "design.md").read_text(encoding="utf-8")):
        assert "Not proved, gap" in text and "the 1e-09 s it was given were over" in " ".join(text.split())


def test_best_so_far_keeps_every_rule_and_its_bound() -> None:
    """What is told where a limit ended the search is legal, no better than the proved best, no worse than its gap."""
    scenario = load_scenario(GRINDER, "m.toml")
    whole, ended = design(scenario), design(scenario, clock=Clock(most=100))
    assert whole.proof.status == "proved"
    assert ended.proof.status == "not proved"
    assert not ended.failed
    assert ended.proof.bound - 1e-12 <= whole.proof.listed <= ended.proof.listed + 1e-12


def test_memory_ends_a_search_like_time() -> None:
    """A search that holds more memory than it was given ends with that reason."""
    result = design(load_scenario(GRINDER, "m.toml"), clock=Clock(megabytes=1, held_mb=held_mb))
    assert (result.proof.status, result.proof.reason) == ("not proved", "the 1 MB of memory it was given were held")


def test_no_design_is_told_in_time(tmp_path: Path) -> None:
    """Where there is no design the asking for changes that would give one ends with the time, too."""
    text = GRINDER.replace("[300, 380]", "[300, 301]").replace("want = 2", "want = 3", 1)
    (tmp_path / "none.toml").write_text(text, encoding="utf-8")
    ended = call(tmp_path, "design", "none.toml", "--time", "1e-9")
    assert (ended.code, ended.out) == (3, "")
    assert ended.err.startswith("no design: layout 4: ")


def test_memory_that_is_held_is_known() -> None:
    """The figure is that of a process with numpy loaded: tens to some hundreds of MB."""
    held = held_mb()
    assert held is None or 20 < held < 4000


@pytest.mark.parametrize(("seconds", "megabytes"), [(float("nan"), 2000), (0, 2000), (-1, 2000), (float("inf"), 2000)])
def test_time_that_is_none_is_refused(seconds: float, megabytes: int) -> None:
    """No number, zero, less, or endless time is refused with the range."""
    with pytest.raises(ScenarioError, match=r"--time: this is no time to search in; .*allowed: above 0 up to 1e\+06"):
        Limits(seconds, megabytes).checked()


def test_memory_that_is_too_little_is_refused() -> None:
    """Less memory than the libraries take is refused with the least."""
    with pytest.raises(ScenarioError, match=f"--memory: this is too little; got 299; allowed: {LEAST_MB} or more"):
        Limits(60, 299).checked()


@pytest.mark.skipif(os.name == "nt", reason="no such limit there")
@pytest.mark.parametrize("room_mb", [16, 64])
def test_system_without_memory_is_no_bug(tmp_path: Path, room_mb: int) -> None:
    """Where the system gives no more memory the call ends with code 5, says so, and leaves nothing."""
    short = (
        "import resource, cli.design, numpy\n"
        "held = int(open('/proc/self/statm').read().split()[0]) * resource.getpagesize()\n"
        f"resource.setrlimit(resource.RLIMIT_AS, (held + {room_mb}_000_000,) * 2)\n"
        "plain = cli.design.design\n"
        "def hungry(*a, **k):\n    numpy.ones(10**8)\n    return plain(*a, **k)\n"
        "cli.design.design = hungry\n"
    )
    ended = call(shop(tmp_path), "design", "grinder.toml", before=short)
    assert (ended.code, ended.out) == (5, "")
    assert ended.err.startswith(MEMORY_GONE)
    assert list(snapshot(tmp_path)) == ["grinder.toml"]
