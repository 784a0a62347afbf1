"""All questions in their order, what the answers come to, and files of answers."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

from optimizer.asking.about_places import BELTS, PLACES
from optimizer.asking.about_shop import MACHINE, MOTOR, SHOP
from optimizer.asking.about_speeds import SHAFTS, SPEEDS
from optimizer.asking.answer import Answers, Suggestion, Written
from optimizer.asking.machine import variants
from optimizer.asking.question import Question
from optimizer.asking.tables import Line, comment_lines, scenario_tables, scenario_text, toml_value
from optimizer.catalogue.lines import shifts
from optimizer.catalogue.sections import section
from optimizer.errors import Fault, NoDesignError, ScenarioError
from optimizer.layouts import any_problem, layouts_of
from optimizer.quantities import QuantityError, as_key, as_written, show_length
from optimizer.scenario import Scenario, load_scenario
from optimizer.scenario.syntax import tables_of

__all__ = [
    "BEFORE",
    "QUESTIONS",
    "Filled",
    "Given",
    "Interview",
    "Machine",
    "Reply",
    "answers_so_far",
    "blank_answers",
    "completed",
    "faults_of_answers",
    "filled",
    "given_answers",
    "hindrance",
    "next_question",
    "question_named",
    "read_suggestion",
    "scenarios_of",
]

QUESTIONS: tuple[Question, ...] = (*MOTOR, *MACHINE, *BELTS, *SHOP, *SPEEDS, *SHAFTS, *PLACES)
"""The motor first, then the machine, what the shop has, what is wanted, how it is built."""


def question_named(name: str) -> Question | None:
    """Return a question by its name."""
    return next((question for question in QUESTIONS if question.name == name), None)


def next_question(answers: Answers) -> Question | None:
    """Return the first question that is asked of such a machine and not answered yet; nothing at the end."""
    return next((one for one in QUESTIONS if one.name not in answers and one.asked(answers)), None)


class Machine(NamedTuple):
    """A machine that answers come to."""

    countershaft: bool
    text: str
    """Its scenario, commented."""
    scenario: Scenario


def completed(answers: Answers) -> Answers:
    """Return the answers with all that was not answered: what is suggested, or else an example of an answer."""
    while (question := next_question(answers)) is not None:
        suggestion = question.suggests(answers) or Suggestion(question.example, "")
        answers = read_suggestion(answers, question, suggestion)
    return answers


def read_suggestion(answers: Answers, question: Question, suggestion: Suggestion) -> Answers:
    """Return the answers with a suggestion taken."""
    answer = question.reads.read(suggestion.written, answers.units)
    return answers.with_answer(question.name, replace(answer, reason=suggestion.reason))


def faults_of_answers(answers: Answers) -> tuple[tuple[str, Fault], ...]:
    """Return what is wrong with a machine, each fault with the name of the question it belongs to.

    What was not answered yet is taken as suggested, so that a few answers can be judged as well as all.
    """
    whole = completed(answers)
    found: list[tuple[str, Fault]] = []
    for countershaft in variants(whole):
        try:
            load_scenario(scenario_text(whole, countershaft=countershaft), "")
        except ScenarioError as error:
            owners = _owners(whole, countershaft=countershaft)
            found += [(_owner(fault.where, owners), _plain(fault, whole)) for fault in error.faults]
    return tuple(dict.fromkeys(found))


def scenarios_of(answers: Answers) -> tuple[Machine, ...]:
    """Return every machine that answers come to.

    Raises
    ------
    ScenarioError
        The answers are wrong.
    """
    found = []
    for countershaft in variants(answers):
        text = scenario_text(answers, countershaft=countershaft)
        found.append(Machine(countershaft, text, load_scenario(text, "")))
    return tuple(found)


def hindrance(scenario: Scenario) -> str:
    """Return why no layout of a scenario can be searched; empty where one can.

    This is what `check` asks as well: whether there are sizes, belts, room at all, not whether there is a design.
    """
    reasons: dict[str, None] = {}
    for layout in layouts_of(scenario):
        try:
            any_problem(scenario, layout)
        except NoDesignError as error:
            reasons[str(error)] = None
        else:
            return ""
    return "; ".join(reasons)


def _plain(fault: Fault, answers: Answers) -> Fault:
    """Return a fault in the words of the answers, where the value it names was worked out from them."""
    if not re.search(r"\.free(\[|$)", fault.where):
        return fault
    belt, units = section(answers.word("section")), answers.units
    least = belt.smallest_datum_mm + shifts(belt).outside_less_datum + (answers.real("truing") or 0.0)
    return Fault(
        fault.where,
        f"no step that a belt of section {belt.name} can bend around comes out of such a blank",
        show_length(answers.real("largest_blank") or 0.0, units),
        f"well above {show_length(least, units)}",
        "a larger blank, or a smaller section",
    )


def _owners(answers: Answers, *, countershaft: bool) -> dict[str, str]:
    """Return the question of every place of the scenario."""
    owners: dict[str, str] = {}
    for table in scenario_tables(answers, countershaft=countershaft):
        for line in table.lines:
            owners[_place(table.place, line)] = line.question
    return owners


def _place(table: str, line: Line) -> str:
    return f"{table}.{line.key}" if table else line.key


def _owner(where: str, owners: dict[str, str]) -> str:
    """Return the question of a place: of the place itself, the value it is in, or the first value within it."""
    around = [place for place in owners if where.startswith(place)]
    if around:
        return owners[max(around, key=len)]
    within = [place for place in owners if place.startswith(where)]
    return owners[within[0]] if within else ""


BEFORE = "what you answered before"
"""Reason for suggesting an answer that was taken back."""


@dataclass(frozen=True)
class Reply:
    """What became of an answer."""

    faults: tuple[Fault, ...] = ()
    """Why it was not taken."""
    remarks: tuple[str, ...] = ()
    """What is worth saying of one that was taken."""


class Interview:
    """A machine that is being asked for.

    Parameters
    ----------
    earlier
        Answers of an interview that was ended before its time; they are taken without asking, as far as they go.
    """

    def __init__(self, earlier: Mapping[str, Written] | None = None) -> None:
        self.answers = Answers()
        self._before: dict[str, Written] = {}
        self._go_on(dict(earlier or {}))

    @property
    def question(self) -> Question | None:
        """The question that is open; nothing at the end."""
        return next_question(self.answers)

    @property
    def suggestion(self) -> Suggestion | None:
        """What is taken where nothing is answered."""
        question = self.question
        if question is None:
            return None
        if question.name in self._before:
            return Suggestion(self._before[question.name], BEFORE)
        return question.suggests(self.answers)

    def answer(self, written: Written) -> Reply:
        """Take an answer to the open question, if it is right."""
        return self._take(written, "")

    def take_suggestion(self) -> Reply:
        """Take what is suggested; where nothing is, say that the maker alone knows."""
        question, suggestion = self.question, self.suggestion
        assert question is not None
        if suggestion is None:
            what = "nothing can be suggested here, only you know it"
            return Reply((Fault(question.name, what, advice=f"answer it, such as {question.example}"),))
        return self._take(suggestion.written, "" if suggestion.reason == BEFORE else suggestion.reason)

    def take_rest(self) -> Reply:
        """Take all suggestions from here on, as far as there are any."""
        remarks: list[str] = []
        while self.question is not None:
            reply = self.take_suggestion()
            remarks += reply.remarks
            if reply.faults:
                return Reply(reply.faults, tuple(remarks))
        return Reply(remarks=tuple(remarks))

    def back(self) -> bool:
        """Open the question before this one again; tell whether there was one."""
        names = list(self.answers)
        if not names:
            return False
        last = self.answers.by_name[names[-1]]
        if not last.reason:
            self._before[names[-1]] = last.written
        self.answers = self.answers.without(names[-1])
        return True

    def _take(self, written: Written, reason: str) -> Reply:
        question = self.question
        assert question is not None
        try:
            answer = question.reads.read(written, self.answers.units)
        except QuantityError as error:
            return Reply((error.fault(question.name),))
        taken = self.answers.with_answer(question.name, replace(answer, reason=reason))
        wrong = [replace(fault, where=question.name) for name, fault in faults_of_answers(taken) if name in taken]
        if wrong:
            return Reply(tuple(dict.fromkeys(wrong)))
        self.answers = taken
        self._before.pop(question.name, None)
        return Reply(remarks=question.remarks(taken))

    def _go_on(self, earlier: dict[str, Written]) -> None:
        """Take earlier answers up to the first that is missing or wrong; keep the others as suggestions."""
        while (question := self.question) is not None and question.name in earlier:
            written = earlier.pop(question.name)
            usual = question.suggests(self.answers)
            reason = usual.reason if usual is not None and usual.written == written else ""
            if self._take(written, reason).faults:
                break
        self._before = earlier


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
