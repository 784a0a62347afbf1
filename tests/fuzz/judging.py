"""A case put to the command line, and what may be said against the answer."""

from __future__ import annotations

import io
import json
import re
import signal
import sys
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import chdir, contextmanager, redirect_stderr, redirect_stdout
from functools import cache
from pathlib import Path
from time import process_time
from types import FrameType
from typing import NamedTuple

import typer

from cli.codes import ends_with_code
from cli.main import app

__all__ = ["CODES", "SECONDS", "Answer", "ask", "ask_part", "complaints"]

CODES = frozenset({0, 2, 3, 4, 5})
"""Exit codes a call may end with; 1 is a bug."""
SECONDS = {"check": 5.0, "speeds": 10.0, "design": 40.0, "new": 5.0, "read": 5.0, "papers": 40.0, "recheck": 60.0}
"""Stated limits of the processor's time [s], as what else runs does not count: of reading, of telling a known machine,
of a design that is given `DESIGN_SECONDS`, of answers, of reading a design or measurements, of papers, of a recheck."""
LONGEST_SAID = 200_000
"""Characters of a screen: whatever is wrong, nobody reads more."""
FAULT = re.compile(r"^\S.*?: \S")
"""A place, then what is wrong there."""
TOLD = ("; allowed: ", "; try: ")
"""What makes a message one that can be acted on."""


class Answer(NamedTuple):
    """What a call came to."""

    command: str
    code: int
    out: str
    err: str
    seconds: float
    """Of the processor."""


class TooSlowError(BaseException):
    """Ends a call that would not end; not an Exception, so that nothing takes it for a bug and goes on."""


def ask(folder: Path, *arguments: str) -> Answer:
    """Call the command line in this process from a folder."""
    before, sys.argv = sys.argv, ["conewright", *arguments]
    try:
        return answered(arguments[0], folder, lambda: _command()(prog_name="conewright"))
    finally:
        sys.argv = before


def ask_part(part: str, folder: Path, run: Callable[[], int]) -> Answer:
    """Run a part of a command from a folder, ended as commands are: what the command line costs is left out."""
    return answered(part, folder, ends_with_code(run))


def answered(command: str, folder: Path, run: Callable[[], object]) -> Answer:
    """Return what a call from a folder comes to."""
    out, err = io.StringIO(), io.StringIO()
    start = process_time()
    code: object = None
    try:
        with chdir(folder), redirect_stdout(out), redirect_stderr(err), _alarm(3 * SECONDS[command]):
            run()
    except SystemExit as ended:
        code = ended.code
    except typer.Exit as ended:
        code = ended.exit_code
    except TooSlowError:
        code = -1
    seconds = process_time() - start
    return Answer(command, code if isinstance(code, int) else -1, out.getvalue(), err.getvalue(), seconds)


@cache
def _command() -> Callable[..., object]:
    """Return what `cli.main` runs, put together once for all calls, as half of a short call goes into that."""
    return typer.main.get_command(app).main


@contextmanager
def _alarm(seconds: float) -> Iterator[None]:
    def ring(number: int, frame: FrameType | None) -> None:
        raise TooSlowError

    before = signal.signal(signal.SIGPROF, ring)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def complaints(answer: Answer) -> list[str]:
    """Return all that an answer should not have been."""
    return list(_complaints(answer))


def _complaints(answer: Answer) -> Iterator[str]:
    if answer.code not in CODES:
        yield f"ended with {answer.code}"
    if answer.seconds > SECONDS[answer.command]:
        yield f"took {answer.seconds:.1f} s, more than {SECONDS[answer.command]:g} s"
    if "Traceback" in answer.err or "Traceback" in answer.out:
        yield "a traceback was shown"
    if len(answer.out) + len(answer.err) > LONGEST_SAID and not answer.out.startswith("{"):
        yield f"{len(answer.out) + len(answer.err):,} characters were said"
    strange = {c for c in answer.out + answer.err if c != "\n" and _strange(c)}
    if strange:
        yield f"the screen holds {', '.join(f'U+{ord(c):04X}' for c in sorted(strange))}"
    if answer.code == 2:
        yield from _without_place_or_advice(answer.err)
    if answer.code == 3 and not answer.err.startswith("no design: ") and not answer.out.startswith("{"):
        yield "no reason is given why there is no design"
    if answer.out.startswith("{"):
        try:
            json.loads(answer.out)
        except ValueError as error:
            yield f"what was printed is not JSON: {error}"


def _strange(character: str) -> bool:
    """Tell whether a character steers a terminal or turns the text after it."""
    return unicodedata.category(character) in ("Cc", "Cs", "Zl", "Zp") or character in "\u202a\u202b\u202d\u202e\u2066"


def _without_place_or_advice(said: str) -> Iterator[str]:
    """Yield the first line that nobody could act on."""
    lines = said.splitlines()
    if not lines:
        yield "nothing was said"
    for line in lines:
        if not FAULT.match(line):
            yield f"no place: {line[:160]!r}"
            return
        if not any(word in line for word in TOLD):
            yield f"no advice: {line[:240]!r}"
            return
