"""The command that asks for a machine."""

from __future__ import annotations

import shlex
import signal
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from cli.codes import CANNOT_WRITE, DONE
from cli.folder import as_typed
from cli.interview import SUFFIX, Dialogue, StoppedError
from cli.interview_files import file_stem, free_path, hindered, write_new
from cli.interview_lines import ask_yes
from cli.say import say
from cli.scenario_file import LARGEST_BYTES, read_text
from optimizer.asking import (
    Given,
    Interview,
    answers_so_far,
    blank_answers,
    filled,
    given_answers,
    hindrance,
    scenarios_of,
)
from optimizer.asking.answer import Answers, Written
from optimizer.asking.questions import question_named
from optimizer.errors import CannotWriteError, Fault, NoDesignError, ScenarioError

__all__ = ["NewCall", "new_machine"]

ANSWERS_SUFFIX = ".answers"


@dataclass(frozen=True)
class NewCall:
    """What the command was called with."""

    answers: Path | None
    resume: Path | None
    questions: bool
    out: Path | None


def new_machine(call: NewCall) -> int:
    """Ask for a machine, on the terminal or out of a file of answers, and write its scenario."""
    if call.questions:
        print(blank_answers(), end="")
        return DONE
    if call.answers is not None and call.resume is not None:
        raise ScenarioError([Fault("--resume", "--answers asks nothing, so nothing can be resumed beside it")])
    if call.out is not None and (reason := hindered(call.out)):
        raise CannotWriteError(f"cannot write: {reason}")
    if call.answers is not None:
        return _without_terminal(call.answers, call.out)
    if not sys.stdin.isatty():
        what = "there is no terminal to ask on"
        advice = "conewright new --questions > my.answers, fill it in, then conewright new --answers my.answers"
        raise ScenarioError([Fault("new", what, advice=advice)])
    return _on_terminal(call.resume, call.out)


def _without_terminal(path: Path, out: Path | None) -> int:
    found = filled(_given(path))
    reason = "; ".join(filter(None, (hindrance(one.scenario) for one in scenarios_of(found.answers))))
    if reason:
        raise NoDesignError(reason)
    stem = file_stem(found.answers.word("title"))
    paths = _write(found.answers, out or free_path(Path(f"{stem}{SUFFIX}")))
    say(*_suggested(found.answers), *found.remarks)
    say(*(f"{name}: not asked of such a machine, so not used" for name in found.unused))
    _say_next(paths)
    return DONE


def _given(path: Path) -> Given:
    return given_answers(read_text(path, LARGEST_BYTES, "conewright new --questions prints a file of answers"))


def _earlier(path: Path) -> Mapping[str, Written]:
    """Return the answers that were kept."""
    given = _given(path)
    if given.faults:
        raise ScenarioError(list(given.faults))
    return given.answers


def _on_terminal(resume: Path | None, out: Path | None) -> int:
    interview = Interview(_earlier(resume) if resume is not None else None)
    try:
        with _hanging_up_ends():
            paths = _asked(Dialogue(interview, out))
    except (StoppedError, KeyboardInterrupt):
        return _stopped(interview.answers, ask=True)
    except EOFError:
        return _stopped(interview.answers, ask=False)
    try:
        both = "both of them" if len(paths) > 1 else "it"
        wanted = ask_yes(f"Design {both} now?")
    except (EOFError, KeyboardInterrupt):
        wanted = False
    if not wanted:
        _say_next(paths)
        return DONE
    # scipy: half a second that the questions need not wait for
    from cli.design import DesignCall, design_file

    codes = [design_file(DesignCall(one, None, None, "evenness", False, False, False, None)) for one in paths]
    return next((code for code in codes if code), DONE)


def _asked(dialogue: Dialogue) -> tuple[Path, ...]:
    """Ask for a machine and write it; where its file cannot be written, ask for another one."""
    dialogue.greet()
    while True:
        answers, path = dialogue.run()
        try:
            return _write(answers, path)
        except CannotWriteError as error:
            say(f"  {error}")


def _write(answers: Answers, path: Path) -> tuple[Path, ...]:
    """Write the scenarios, tell their names on stdout, and what is legal but costly in them."""
    machines = scenarios_of(answers)
    named = {
        path.with_name(f"{path.stem}-countershaft{path.suffix}")
        if one.countershaft and len(machines) > 1
        else path: one
        for one in machines
    }
    for other in named:
        if reason := hindered(other):
            raise CannotWriteError(f"cannot write: {reason}")
    write_new({other: one.text for other, one in named.items()})
    for other, one in named.items():
        print(as_typed(other.absolute()), flush=True)
        say(*one.scenario.remarks)
    return tuple(named)


def _suggested(answers: Answers) -> Iterator[str]:
    for name, answer in answers.by_name.items():
        question = question_named(name)
        if answer.reason and question is not None:
            yield f"{name}: taken as suggested, {question.reads.shown(answer.written, answers.units)} ({answer.reason})"


def _say_next(paths: tuple[Path, ...]) -> None:
    say(*(f"next: conewright design {shlex.quote(as_typed(path.absolute()))}" for path in paths))


def _stopped(answers: Answers, *, ask: bool) -> int:
    """Keep the answers so far, if the maker wants that or cannot be asked any more; say how to go on."""
    say("", "Stopped; no scenario is written.")
    if not list(answers):
        return CANNOT_WRITE
    path = free_path(Path(file_stem(answers.word("title") or answers.word("purpose")) + ANSWERS_SUFFIX))
    try:
        if ask and not ask_yes(f"Keep the answers so far in {path}?"):
            return CANNOT_WRITE
    except EOFError:
        pass
    except KeyboardInterrupt:
        say("", "Nothing is kept.")
        return CANNOT_WRITE
    write_new({path: answers_so_far(answers)})
    say(f"The answers so far are in {path}. To go on: conewright new --resume {shlex.quote(str(path))}")
    return CANNOT_WRITE


@contextmanager
def _hanging_up_ends() -> Iterator[None]:
    """Take a terminal that is closed for the end of what is typed, so that the answers are kept."""
    if not hasattr(signal, "SIGHUP"):
        yield
        return

    def hang_up(*_: object) -> None:
        raise EOFError

    earlier = signal.signal(signal.SIGHUP, hang_up)
    try:
        yield
    finally:
        signal.signal(signal.SIGHUP, earlier)
