"""Tests of one pytest session, run some at a time: all of them traced, or those a mutant needs until one fails."""

from __future__ import annotations

import os
import resource
import signal
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from time import process_time
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, Phase, settings

from tests.mutation.tracing import Tracer, caches_of

__all__ = ["Plan", "Ran", "Runner", "run_session", "traced", "until_one_fails"]

SLOWER = 10.0
"""Times the usual processor time that a test may take on a mutant."""
EXTRA_S = 3.0
MOST_EXAMPLES = 25
"""Examples of a test of hypothesis."""
HOLDS_SETTINGS = "_hypothesis_internal_use_settings"
"""Where hypothesis keeps the settings of a test."""
ROOM_BYTES = 2 << 30
"""Memory that a mutant may take beyond what the session has."""
LOADED_BEFORE = "ignore::pytest.PytestAssertRewriteWarning"
"""Libraries that every copy needs are loaded before pytest begins, which it remarks on."""
OPTIONS = ["-s", "-p", "no:cacheprovider", "-p", "no:xdist", "-W", LOADED_BEFORE, "--continue-on-collection-errors"]


class Ran(NamedTuple):
    """What is known of one test on the code as it is."""

    seconds: float
    lines: dict[str, list[int]]


Plan = dict[str, Ran]
"""By the name of the test; those that fail or are skipped are left out."""


class Runner:
    """A pytest plugin that hands the tests collected to a task instead of running them."""

    def __init__(self, task: Callable[[Runner, Sequence[pytest.Item]], None]) -> None:
        self._task = task
        self.failed = False
        self.skipped = False
        self.broken: list[str] = []

    def pytest_collection(self) -> None:
        """Have hypothesis try the same examples every time, and none again."""
        settings.register_profile(
            "mutation",
            deadline=None,
            derandomize=True,
            database=None,
            phases=(Phase.explicit, Phase.generate),
            suppress_health_check=list(HealthCheck),
        )
        settings.load_profile("mutation")

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Have hypothesis try few examples, whatever a test asks for."""
        for item in items:
            test = getattr(item, "obj", None)
            own = getattr(test, HOLDS_SETTINGS, None)
            if own is not None and own.max_examples > MOST_EXAMPLES:
                target = getattr(test, "__func__", test)
                setattr(target, HOLDS_SETTINGS, settings(own, max_examples=MOST_EXAMPLES))

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """Note files that cannot be read."""
        if report.failed:
            self.broken.append(f"{report.nodeid}: {report.longreprtext[-400:]}")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Note that a test fails."""
        self.failed = self.failed or report.failed
        self.skipped = self.skipped or report.skipped

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Do the task."""
        self._task(self, session.items)
        return True

    def passes(self, item: pytest.Item, following: pytest.Item | None) -> bool:
        """Run a test; tell whether it passes."""
        self.failed = False
        self.skipped = False
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        return not self.failed


def run_session(tests: Iterable[str], task: Callable[[Runner, Sequence[pytest.Item]], None]) -> None:
    """Collect tests and do a task with them; nothing is told on the terminal."""
    with Path(os.devnull).open("w", encoding="utf-8") as nothing:
        os.dup2(nothing.fileno(), 1)
    if pytest.main([*OPTIONS, *tests], plugins=[Runner(task)]) == pytest.ExitCode.INTERNAL_ERROR:
        raise RuntimeError("the session broke off")


class _TooLongError(BaseException):
    """Raised in a test that takes longer than any mutant is given."""


def traced(runner: Runner, items: Sequence[pytest.Item], files: Sequence[str], longest_seconds: float) -> Plan:
    """Run every test by itself, nothing kept from the others, and note the lines it runs; leave out long ones."""
    plan: Plan = {}
    tracer, caches = Tracer(files), caches_of(files)

    def stop(*_: object) -> None:
        raise _TooLongError

    signal.signal(signal.SIGPROF, stop)
    for item in items:
        for cached in caches:
            cached.cache_clear()
        start = process_time()
        signal.setitimer(signal.ITIMER_PROF, longest_seconds)
        tracer.start()
        passed = runner.passes(item, None)
        lines = tracer.stop()
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        if passed and not runner.skipped:
            seconds = process_time() - start
            plan[item.nodeid] = Ran(seconds, {name: sorted(found) for name, found in lines.items()})
    return plan


def until_one_fails(runner: Runner, items: Sequence[pytest.Item], plan: Plan) -> str | None:
    """Run tests in turn and return the name of the first that fails; the process dies where one takes too long."""
    _, most = resource.getrlimit(resource.RLIMIT_AS)
    held = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (held + ROOM_BYTES, most))
    for item, following in zip(items, [*items[1:], None], strict=True):
        allowed_s = SLOWER * plan[item.nodeid].seconds + EXTRA_S
        signal.setitimer(signal.ITIMER_PROF, allowed_s)
        signal.alarm(int(20 * allowed_s) + 60)
        if not runner.passes(item, following):
            return item.nodeid
    return None
