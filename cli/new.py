"""Asking for a machine on a terminal, line by line, and writing its scenario."""

from __future__ import annotations

import os
import re
import shlex
import signal
import sys
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path

from cli.codes import CANNOT_WRITE, DONE
from cli.folder import as_typed
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
from optimizer.asking.answer import Answers, Suggestion, Written
from optimizer.asking.interview import Reply, question_named
from optimizer.asking.question import Question
from optimizer.errors import CannotWriteError, Fault, NoDesignError, ScenarioError

__all__ = [
    "SUFFIX",
    "Dialogue",
    "NewCall",
    "StoppedError",
    "ask_line",
    "ask_lines",
    "ask_yes",
    "file_stem",
    "free_path",
    "hindered",
    "new_machine",
    "write_new",
]

MORE = "  and the next, or Enter where that is all"


def ask_line(prompt: str = "> ") -> str:
    """Return the line that is typed, without its end.

    Raises
    ------
    EOFError
        No more will be typed.
    """
    while True:
        print(prompt, end="", file=sys.stderr, flush=True)
        typed = sys.stdin.buffer.readline()
        if not typed:
            print(file=sys.stderr)
            raise EOFError
        try:
            return typed.decode(sys.stdin.encoding or "utf-8").strip()
        except UnicodeDecodeError:
            say(f"  This cannot be read as {sys.stdin.encoding}; type it again.")


def ask_lines(ends: Callable[[str], bool]) -> str:
    """Return the lines that are typed up to an empty one; the last alone where it says that the others do not count."""
    lines = [ask_line()]
    while lines[-1] and not ends(lines[-1]):
        say(MORE)
        lines.append(ask_line("+ "))
    return lines[-1] if lines[-1] else "\n".join(lines).strip()


def ask_yes(question: str) -> bool:
    """Ask for yes or no; Enter is yes."""
    while True:
        say(f"{question} (yes, no; Enter is yes)")
        typed = ask_line().lower()
        if typed in ("", "y", "yes"):
            return True
        if typed in ("n", "no"):
            return False
        say("  This is yes or no.")


SUFFIX = ".toml"
WORDS = ("?", "back", "list", "rest", "stop")
OPENING = (
    "This asks for a machine, question by question, and writes a scenario that check accepts.",
    "Enter takes what is suggested. ? explains a question, back goes back by one, list shows the answers so far, rest "
    "takes all that is suggested from here on, stop or ^C ends. Text that is one of these words goes in quotes. "
    "Lengths may have a unit and fractions: 240, 24 cm, 9 1/2 in, 3/4.",
)
ONLY_AGAIN = "Nothing can be made of these answers yet: {}. The last question is open again; back leads further."


class StoppedError(Exception):
    """The maker ended the questions before their end."""


class Dialogue:
    """The questions to one maker.

    Parameters
    ----------
    interview
        What is asked.
    out
        The file to write, where it was named with the call.
    """

    def __init__(self, interview: Interview, out: Path | None) -> None:
        self.interview = interview
        self._out = out
        self._part = ""

    def greet(self) -> None:
        """Say what comes, and the words that steer it."""
        say(*OPENING)

    def run(self) -> tuple[Answers, Path]:
        """Ask until all is answered, and for the file to write; once more, for the file alone.

        Raises
        ------
        StoppedError
            The maker stopped.
        EOFError, KeyboardInterrupt
            The terminal was closed, ^C was typed.
        """
        while True:
            while (question := self.interview.question) is not None:
                self._ask(question)
            reason = "; ".join(filter(None, (hindrance(one.scenario) for one in scenarios_of(self.interview.answers))))
            if reason:
                say("", ONLY_AGAIN.format(reason))
                self.interview.back()
                continue
            path = self._ask_path()
            if path is not None:
                return self.interview.answers, path
            self.interview.back()

    def _ask(self, question: Question) -> None:
        """Ask one question until it is answered, or another one is open."""
        if question.part != self._part:
            self._part = question.part
            say("", f"---- {question.part} ----")
        say("", question.asks, *self._suggested(question))
        typed = ask_lines(WORDS.__contains__) if question.reads.many else ask_line()
        if typed in WORDS:
            self._steer(typed, question)
        elif not typed:
            self._tell(self.interview.take_suggestion())
        else:
            reply = self.interview.answer(typed)
            self._tell(reply)
            if not reply.faults:
                self._echo(question)

    def _suggested(self, question: Question) -> list[str]:
        suggestion = self.interview.suggestion
        if suggestion is None:
            return []
        if question.reads.many and isinstance(suggestion.written, tuple):
            return ["  Enter takes", *(f"    {line}" for line in suggestion.written), f"  ({suggestion.reason})"]
        return [f"  Enter takes {self._shown(question, suggestion)} ({suggestion.reason})"]

    def _shown(self, question: Question, known: Suggestion) -> str:
        return question.reads.shown(known.written, self.interview.answers.units)

    def _steer(self, word: str, question: Question) -> None:
        if word == "?":
            say(f"  {question.why}", f"  For example: {_example(question)}")
        elif word == "back":
            if not self.interview.back():
                say("  This is the first question.")
            self._part = ""
        elif word == "list":
            self._list()
        elif word == "rest":
            self._rest()
        else:
            raise StoppedError

    def _rest(self) -> None:
        """Take all that is suggested, and show it."""
        known = len(list(self.interview.answers))
        reply = self.interview.take_rest()
        self._list(known)
        self._tell(reply)

    def _list(self, first: int = 0) -> None:
        answers = self.interview.answers
        for name in list(answers)[first:]:
            question, answer = question_named(name), answers.by_name[name]
            assert question is not None
            mark = " (suggested)" if answer.reason else ""
            say(f"  {name}: {question.reads.shown(answer.written, answers.units)}{mark}")
        if not list(answers):
            say("  Nothing is answered yet.")

    def _tell(self, reply: Reply) -> None:
        for fault in reply.faults:
            say(f"  Not taken. {_as_sentence(fault)}")
        say(*(f"  {remark}" for remark in reply.remarks))

    def _echo(self, question: Question) -> None:
        """Show a list the way it was read, since commas and units may be read otherwise than they were meant."""
        answers = self.interview.answers
        answer = answers.by_name.get(question.name)
        if answer is not None and isinstance(answer.value, tuple) and not question.reads.many:
            say(f"  Read as {question.reads.shown(answer.written, answers.units)}.")

    def _ask_path(self) -> Path | None:
        """Ask for the file to write; nothing where the maker goes back."""
        named, self._out = self._out, None
        if named is not None and not hindered(named):
            return named
        usual = free_path(Path(file_stem(self.interview.answers.word("title")) + SUFFIX))
        while True:
            say("", "---- The file ----", "", "File to write", f"  Enter takes {usual}")
            typed = ask_line()
            if typed == "back":
                return None
            if typed == "stop":
                raise StoppedError
            if typed in WORDS:
                say(
                    "  The scenario is written there, as text that you can edit. A file that is there is never "
                    "overwritten."
                )
                continue
            path = _named(typed) if typed else usual
            reason = _unnamable(typed) or hindered(path)
            if not reason:
                return path
            say(f"  {reason[:1].upper()}{reason[1:]}.")


def _example(question: Question) -> str:
    example = question.example
    if isinstance(example, str):
        return example
    return (
        str(example[0]) if question.reads.many and isinstance(example, tuple) else question.reads.shown(example, "mm")
    )


def _as_sentence(fault: Fault) -> str:
    text = str(replace(fault, where="")).removeprefix(": ")
    return f"{text[:1].upper()}{text[1:]}."


def _named(typed: str) -> Path:
    path = Path(typed).expanduser()
    return path if path.suffix else path.with_name(path.name + SUFFIX)


def _unnamable(typed: str) -> str:
    """Return why nothing can be a file's name."""
    if any(not character.isprintable() for character in typed):
        return "a file's name has no control characters"
    return "this names a folder; add the name of a file" if typed and not Path(typed).name else ""


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
