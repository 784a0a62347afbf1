"""Answers in a file: a blank one to fill in, the reader, what was answered so far."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from optimizer.asking.answer import Answers, Written
from optimizer.asking.question import Question
from optimizer.asking.questions import QUESTIONS, next_question, question_named
from optimizer.asking.toml_text import comment_lines, toml_value
from optimizer.asking.verdict import faults_of_answers, read_suggestion
from optimizer.errors import Fault, ScenarioError
from optimizer.quantities import QuantityError, as_key, as_written
from optimizer.scenario.syntax import tables_of

__all__ = ["Filled", "Given", "answers_so_far", "blank_answers", "filled", "given_answers"]

HOW = (
    "Take the # away before an answer and write your own behind the =. What stays a comment is taken as suggested, "
    "where something can be suggested. Then: conewright new --answers FILE"
)


class Given(NamedTuple):
    """Answers of a file as they stand there."""

    answers: Mapping[str, Written]
    faults: tuple[Fault, ...] = ()
    """Everything that is no answer to any question."""


class Filled(NamedTuple):
    """Answers of a file with what was missing taken as suggested."""

    answers: Answers
    unused: tuple[str, ...]
    """Answers to questions that are not asked of such a machine."""
    remarks: tuple[str, ...]


def blank_answers() -> str:
    """Return a file of answers to fill in: every question with its explanation and an example, all commented out."""
    lines = list(comment_lines(HOW))
    part = ""
    for question in QUESTIONS:
        if question.part != part:
            part = question.part
            lines += ["", f"# ---- {part} ----"]
        lines += ["", *comment_lines(f"{question.asks}."), *comment_lines(question.why)]
        lines.append(f"#{question.name} = {toml_value(question.example)}")
    return "\n".join(lines) + "\n"


def given_answers(text: str) -> Given:
    """Read a file of answers.

    Raises
    ------
    ScenarioError
        It is not TOML.
    """
    raw = tables_of(text)
    faults = [fault for key, value in raw.items() for fault in _key_faults(key, value)]
    wrong = {fault.where for fault in faults}
    known = {key: value for key, value in raw.items() if as_key(key) not in wrong}
    answers = {key: tuple(value) if isinstance(value, list) else value for key, value in known.items()}
    return Given(answers, tuple(faults))


def filled(given: Given) -> Filled:
    """Return what answers of a file come to, the rest taken as suggested.

    Raises
    ------
    ScenarioError
        With everything that is wrong, missing answers that nothing can be suggested for included.
    """
    answers, remarks = Answers(), []
    faults = list(given.faults)
    wrong = {fault.where for fault in faults}
    while (question := next_question(answers)) is not None:
        try:
            answers = _answered(answers, question, given.answers)
            remarks += [f"{question.name}: {remark}" for remark in question.remarks(answers)]
        except QuantityError as error:
            faults.append(error.fault(question.name))
            answers = _stand_in(answers, question)
        except _MissingError:
            advice = f"write {question.name} = {toml_value(question.example)}"
            if question.name not in wrong:
                faults.append(Fault(question.name, "this must be answered, nothing can be suggested", advice=advice))
            answers = _stand_in(answers, question)
    wrong |= {fault.where for fault in faults}
    found = [replace(fault, where=name or fault.where) for name, fault in faults_of_answers(answers)]
    faults += [fault for fault in dict.fromkeys(found) if fault.where not in wrong]
    if faults:
        raise ScenarioError(faults)
    return Filled(answers, tuple(name for name in given.answers if name not in answers), tuple(remarks))


def answers_so_far(answers: Answers) -> str:
    """Return what was answered as a file of answers, to go on from."""
    lines = list(comment_lines("Answers so far. To go on: conewright new --resume FILE"))
    for name, answer in answers.by_name.items():
        question = question_named(name)
        lines += ["", *comment_lines(f"{question.asks}." if question else "")]
        if answer.reason:
            lines += comment_lines(f"Taken as suggested: {answer.reason}.")
        lines.append(f"{name} = {toml_value(answer.written)}")
    return "\n".join(lines) + "\n"


class _MissingError(Exception):
    """A question has no answer, and nothing can be suggested."""


def _answered(answers: Answers, question: Question, given: Mapping[str, Written]) -> Answers:
    if question.name in given:
        return answers.with_answer(question.name, question.reads.read(given[question.name], answers.units))
    suggestion = question.suggests(answers)
    if suggestion is None:
        raise _MissingError
    return read_suggestion(answers, question, suggestion)


def _stand_in(answers: Answers, question: Question) -> Answers:
    """Return the answers with one that can be read, so that the other questions can be judged."""
    suggestion = question.suggests(answers)
    if suggestion is not None:
        return read_suggestion(answers, question, suggestion)
    return answers.with_answer(question.name, question.reads.read(question.example, answers.units))


def _key_faults(key: str, value: object) -> Iterator[Fault]:
    if question_named(key) is None:
        near = difflib.get_close_matches(key.lower(), [one.name for one in QUESTIONS], n=1)
        advice = f"did you mean {near[0]}?" if near else "conewright new --questions lists all questions"
        yield Fault(as_key(key), "there is no such question", as_written(value), advice=advice)
        return
    items = value if isinstance(value, list) else [value]
    if not all(isinstance(item, str | int | float) for item in items):
        yield Fault(key, "this is no answer", as_written(value), "a number, text in quotes, true, false, or a list")
