"""The command that asks for a machine and writes its scenario."""

from __future__ import annotations

import os
import re
import shlex
import signal
import sys
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from cli.codes import CANNOT_WRITE, DONE
from cli.folder import as_typed
from cli.interview import SUFFIX, Dialogue, StoppedError, ask_yes
from cli.scenario_file import LARGEST_BYTES, read_text
from cli.streams import say
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

__all__ = ["NewCall", "file_stem", "free_path", "hindered", "new_machine", "write_new"]

LONGEST_STEM = 40
MOST_NAMES = 1000


def file_stem(title: str) -> str:
    """Return a plain name for the file of a machine, without its suffix.

    Examples
    --------
    >>> file_stem("Bench drill, 4 speeds"), file_stem("Drückbank / Süd"), file_stem("鑽床"), file_stem("../etc")
    ('bench-drill-4-speeds', 'druckbank-sud', 'machine', 'etc')
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:LONGEST_STEM].strip("-") or "machine"


def free_path(path: Path) -> Path:
    """Return the path, or the first numbered one beside it that is not there yet."""
    numbered = (path.with_name(f"{path.stem}-{number}{path.suffix}") for number in range(2, MOST_NAMES))
    return next((one for one in (path, *numbered) if not os.path.lexists(one)), path)


def hindered(path: Path) -> str:
    """Return what keeps a new file from being written, with what to try; empty where nothing does."""
    if os.path.lexists(path):
        return f"{path} is there already, and nothing is overwritten; try {free_path(path)}"
    parent = path.absolute().parent
    if not parent.is_dir():
        return f"there is no folder {parent}; make it, or choose another"
    if not os.access(parent, os.W_OK | os.X_OK):
        return f"no permission to write in {parent}; choose another folder"
    return ""


def write_new(files: Mapping[Path, str]) -> None:
    """Write files that are not there yet, each of them whole, and all of them or none.

    Every text is written under another name in the same folder, then linked to its own, which fails where anything
    has that name by now.

    Raises
    ------
    CannotWriteError
        With the reason; nothing is left of what was begun.
    """
    done: list[Path] = []
    drafts: list[Path] = []
    whole = False
    try:
        for path, text in files.items():
            draft = path.with_name(f".{path.name}.new-{os.getpid()}")
            drafts.append(draft)
            draft.write_bytes(text.encode("utf-8"))
        for draft, path in zip(drafts, files, strict=True):
            _settle(draft, path)
            done.append(path)
        whole = True
    except FileExistsError as error:
        raise CannotWriteError(f"cannot write {error.filename2 or error.filename}: it is there already") from error
    except OSError as error:
        raise CannotWriteError(f"cannot write {error.filename}: {error.strerror or error}") from error
    finally:
        for path in drafts + ([] if whole else done):
            with suppress(OSError):
                path.unlink()


def _settle(draft: Path, path: Path) -> None:
    """Give a written draft its name, if nothing has it."""
    try:
        os.link(draft, path)
    except FileExistsError:
        raise
    except OSError:
        # a file system without links: the name is taken first, so that nothing of another can be lost
        with path.open("xb"):
            pass
        draft.replace(path)


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
