"""What is wrong with answers, found by the reader of scenarios itself."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import NamedTuple

from optimizer.asking.answer import Answers, Suggestion
from optimizer.asking.machine import variants
from optimizer.asking.question import Question
from optimizer.asking.questions import next_question
from optimizer.asking.scenario_text import scenario_text
from optimizer.asking.tables import Line, scenario_tables
from optimizer.catalogue.lines import shifts
from optimizer.catalogue.sections import section
from optimizer.errors import Fault, NoDesignError, ScenarioError
from optimizer.layouts import any_problem, layouts_of
from optimizer.quantities import show_length
from optimizer.scenario import Scenario, load_scenario

__all__ = ["Machine", "completed", "faults_of_answers", "hindrance", "read_suggestion", "scenarios_of"]


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
