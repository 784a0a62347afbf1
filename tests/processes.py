"""The command line as a process of its own, begun where everything it loads is loaded already.

Loading takes a second, of which nothing is asked here; what is asked of a process that begins from nothing is called
with `subprocess`. The processes are forked from one that has no threads (`multiprocessing`'s forkserver).
"""

from __future__ import annotations

import os
import sys
from functools import cache
from multiprocessing import get_context
from multiprocessing.forkserver import ensure_running
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

__all__ = ["Ended", "forked"]

ROOT = str(Path(__file__).parents[1])
_CONTEXT = get_context("forkserver")
_CONTEXT.set_forkserver_preload(["tests.preloaded"])
if ROOT not in sys.path:
    sys.path.append(ROOT)  # handed on to every process, which finds this module by it


class Ended(NamedTuple):
    """What a call came to."""

    code: int
    out: str
    err: str


def forked(folder: Path, *arguments: str, before: str = "", **extra: str) -> Ended:
    """Call the command line from a folder; `before` is Python that runs first, `extra` more of the environment.

    What Python reads of the environment only as it begins, such as encodings, is not heeded.
    """
    _begin()
    with TemporaryDirectory() as place:
        streams = Path(place, "out"), Path(place, "err")
        process = _CONTEXT.Process(target=_call, args=(folder, arguments, before, streams, {**os.environ, **extra}))
        process.start()
        process.join()
        out, err = (path.read_text(encoding="utf-8", errors="surrogateescape") for path in streams)
    assert process.exitcode is not None
    return Ended(process.exitcode, out, err)


@cache
def _begin() -> None:
    """Start the process that all others are forked from, where it finds what it is to load."""
    before = os.environ.get("PYTHONPATH")
    os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, [ROOT, before]))
    try:
        ensure_running()
    finally:
        if before is None:
            del os.environ["PYTHONPATH"]
        else:
            os.environ["PYTHONPATH"] = before


def _call(
    folder: Path, arguments: tuple[str, ...], before: str, streams: tuple[Path, Path], environment: dict[str, str]
) -> None:
    for number, path in enumerate(streams, start=1):
        there = os.open(path, os.O_WRONLY | os.O_CREAT)
        os.dup2(there, number)
        os.close(there)
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(folder)
    sys.argv = ["conewright", *arguments]
    exec(f"{before}\nfrom cli.main import main; main()", {"__name__": "__main__"})
