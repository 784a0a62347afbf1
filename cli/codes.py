"""From what happened to what is said, with the exit code."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable, Iterator
from functools import wraps
from typing import NoReturn, ParamSpec

import typer

from cli.streams import give_up_output, say, settle_streams
from optimizer.errors import CannotWriteError, NoDesignError, ScenarioError

__all__ = [
    "BUG",
    "CANNOT_WRITE",
    "CHECK_FAILED",
    "DONE",
    "NO_DESIGN",
    "TRACEBACK_VARIABLE",
    "WRONG_CALL",
    "ends_with_code",
    "leave",
]

DONE, BUG, WRONG_CALL, NO_DESIGN, CHECK_FAILED, CANNOT_WRITE = range(6)

TRACEBACK_VARIABLE = "CONEWRIGHT_TRACEBACK"
"""Environment variable that makes a bug print where it happened."""
MOST_FAULTS = 100
"""Faults that are said of one file; whoever mends these may see the rest."""

OUT_OF_MEMORY = (
    "memory ran out before the end; nothing half-written is left",
    "list fewer or coarser sizes (making.grid, making.turn_to), name one --layout, or allow the search less --memory",
)
"""What is said where the system gives no more memory."""

P = ParamSpec("P")


def ends_with_code(command: Callable[P, int]) -> Callable[P, NoReturn]:
    """Make a command print what goes wrong on stderr and end with its exit code.

    An interrupt ends with the code of a result that could not be written, since none was; nothing half-written
    is left. So does a reader of the output that went away, and a system that gives no more room or memory.
    """

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> NoReturn:
        raise typer.Exit(_code_of(lambda: command(*args, **kwargs)))

    return run


def leave(call: Callable[[], object]) -> NoReturn:
    """Run the whole command line and leave with its code, also where its help or its complaint cannot be written."""
    settle_streams()
    code: str | int | None = DONE
    try:
        call()
    except SystemExit as ended:
        code = ended.code
    except KeyboardInterrupt:
        code = CANNOT_WRITE
    except OSError as error:
        code = _say(CANNOT_WRITE, f"the system refused to go on: {error.strerror or error}{_of(error)}")
    try:
        sys.stdout.flush()
    except OSError:
        code = CANNOT_WRITE
    give_up_output()
    raise SystemExit(code)


def _code_of(run: Callable[[], int]) -> int:
    try:
        code = run()
        sys.stdout.flush()
    except ScenarioError as error:
        code = _say(WRONG_CALL, *_faults(error))
    except NoDesignError as error:
        code = _say(NO_DESIGN, f"no design: {error}")
    except CannotWriteError as error:
        code = _say(CANNOT_WRITE, str(error))
    except KeyboardInterrupt:
        code = _say(CANNOT_WRITE, "stopped before the end; nothing half-written is left")
    except MemoryError:
        code = _say(CANNOT_WRITE, *OUT_OF_MEMORY)
    except BrokenPipeError:
        code = CANNOT_WRITE
    except OSError as error:
        code = _say(CANNOT_WRITE, f"the system refused to go on: {error.strerror or error}{_of(error)}")
    except Exception as error:
        code = _bug(error)
    give_up_output()
    return code


def _faults(error: ScenarioError) -> Iterator[str]:
    yield from map(str, error.faults[:MOST_FAULTS])
    more = len(error.faults) - MOST_FAULTS
    if more > 0:
        yield f"file: {more:,} more of the kind; try: mend those above, then check again"


def _of(error: OSError) -> str:
    return f" ({error.filename})" if isinstance(error.filename, str) else ""


def _say(code: int, *lines: str) -> int:
    say(*lines)
    return code


def _bug(error: Exception) -> int:
    if os.environ.get(TRACEBACK_VARIABLE):
        traceback.print_exception(error)
    return _say(
        BUG,
        f"a bug in conewright, not in your file: {type(error).__name__}: {error}",
        f"please report it with the scenario; {TRACEBACK_VARIABLE}=1 shows where it happened",
    )
