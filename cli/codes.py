"""From what happened to what is said, with the exit code."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable
from functools import wraps
from typing import NoReturn, ParamSpec

import typer

from cli.say import say
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
]

DONE, BUG, WRONG_CALL, NO_DESIGN, CHECK_FAILED, CANNOT_WRITE = range(6)

TRACEBACK_VARIABLE = "CONEWRIGHT_TRACEBACK"
"""Environment variable that makes a bug print where it happened."""


P = ParamSpec("P")


def ends_with_code(command: Callable[P, int]) -> Callable[P, NoReturn]:
    """Make a command print what goes wrong on stderr and end with its exit code.

    An interrupt ends with the code of a result that could not be written, since none was; nothing half-written
    is left. So does a reader of the output that went away.
    """

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> NoReturn:
        raise typer.Exit(_code_of(lambda: command(*args, **kwargs)))

    return run


def _code_of(run: Callable[[], int]) -> int:
    try:
        code = run()
        sys.stdout.flush()
    except ScenarioError as error:
        return _say(WRONG_CALL, *(str(fault) for fault in error.faults))
    except NoDesignError as error:
        return _say(NO_DESIGN, f"no design: {error}")
    except CannotWriteError as error:
        return _say(CANNOT_WRITE, str(error))
    except KeyboardInterrupt:
        return _say(CANNOT_WRITE, "stopped before the end; nothing half-written is left")
    except BrokenPipeError:
        # what is left in the buffer has nowhere to go, and Python would say so once more at its end
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CANNOT_WRITE
    except Exception as error:
        return _bug(error)
    return code


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
