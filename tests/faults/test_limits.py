"""Time and memory: what ends a call, what is said, and that the best design so far is told with its gap."""

from __future__ import annotations

import json
import os
from itertools import count
from pathlib import Path

import pytest

from cli.limits import LEAST_MB, Limits, held_mb
from optimizer.errors import ScenarioError
from optimizer.pipeline.design import design
from optimizer.pipeline.effort import stop_at_memory, stop_at_time
from optimizer.report import design_json, design_screen
from optimizer.scenario import load_scenario
from tests.faults.calls import call, shop, snapshot
from tests.machines import GRINDER

MEMORY_GONE = "memory ran out before the end; nothing half-written is left\n"


def test_call_says_what_ended_it(tmp_path: Path) -> None:
    """Without a design so far the code is 3, and the reason is the time."""
    ended = call(shop(tmp_path), "design", "grinder.toml", "--time", "1e-9")
    assert (ended.code, ended.out) == (3, "")
    assert ended.err.startswith("no design: layout 4: the search was ended before it found a design: the 1e-09 s it")
    assert list(snapshot(tmp_path)) == ["grinder.toml"]


def test_best_so_far_is_told_with_its_gap() -> None:
    """A search whose time is over ends with the best design so far; screen and document state status, reason, gap."""
    scenario = load_scenario(GRINDER.replace("[75, 2", "[60, 2").replace("positions = 4", "positions = 5"), "m.toml")
    for ticks in count(1):
        clock = iter(range(10**9))
        try:
            result = design(scenario, stop=stop_at_time(ticks, lambda clock=clock: float(next(clock))))  # type: ignore[misc]
        except Exception as error:
            assert "it was given were over" in str(error)
            continue
        break
    proof = json.loads(design_json(result))["proof"]
    assert proof["status"] == "not proved"
    assert proof["reason"] == f"the {ticks} s it was given were over"
    assert proof["gap"] == pytest.approx(proof["listed"] - proof["bound"], abs=1e-12)
    assert proof["gap"] > 0
    assert f"Not proved, gap {100 * proof['gap']:.3f}%: {proof['reason']}" in " ".join(design_screen(result).split())


def test_memory_ends_a_search_like_time() -> None:
    """A search that holds more memory than it was given ends with that reason."""
    with pytest.raises(Exception, match="the 1 MB of memory it was given were held"):
        design(load_scenario(GRINDER, "m.toml"), stop=stop_at_memory(1, held_mb))


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
@pytest.mark.parametrize("room_mb", [1, 8])
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
