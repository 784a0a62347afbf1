"""Work done in a copy of the process, so that nothing of it stays."""

from __future__ import annotations

import json
import os
import select
import traceback
from collections.abc import Callable, Iterable, Iterator
from typing import Any, NamedTuple, TypeVar

__all__ = ["Ended", "in_child", "in_children"]

Task = TypeVar("Task")


class Ended(NamedTuple):
    """How a copy ended."""

    told: Any
    """What it told, nothing where it died first."""
    signal: int
    """What it died of, 0 where it did not."""


def in_child(work: Callable[[], object]) -> Ended:
    """Do work in a copy of this process and return what it tells, which must be fit for JSON."""
    return next(in_children([None], lambda _: work(), 1))[1]


def in_children(tasks: Iterable[Task], work: Callable[[Task], object], at_once: int) -> Iterator[tuple[Task, Ended]]:
    """Yield every task with how its copy ended, as they end, some of them at once."""
    running: dict[int, tuple[Task, int]] = {}
    for task in tasks:
        running.update([_begin(task, work)])
        if len(running) >= at_once:
            yield _end(running)
    while running:
        yield _end(running)


def _begin(task: Task, work: Callable[[Task], object]) -> tuple[int, tuple[Task, int]]:
    read, write = os.pipe()
    child = os.fork()
    if child:
        os.close(write)
        return child, (task, read)
    try:
        os.close(read)
        told = json.dumps(work(task))
        with os.fdopen(write, "w", encoding="utf-8") as pipe:
            pipe.write(told)
    except BaseException:
        traceback.print_exc()
        os._exit(1)
    os._exit(0)


def _end(running: dict[int, tuple[Task, int]]) -> tuple[Task, Ended]:
    """Wait for a copy to end; what it tells must be read before, or it waits for a reader."""
    ready, *_ = select.select([pipe for _, pipe in running.values()], [], [])
    child = next(number for number, (_, pipe) in running.items() if pipe in ready)
    task, pipe = running.pop(child)
    with os.fdopen(pipe, encoding="utf-8") as file:
        told = file.read()
    _, status = os.waitpid(child, 0)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status):
        raise RuntimeError(f"a copy of the process broke off at {task}")
    return task, Ended(json.loads(told) if told else None, os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0)
