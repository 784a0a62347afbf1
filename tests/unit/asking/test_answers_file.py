"""Files of answers: blank, filled in, wrong, kept half-way."""

from __future__ import annotations

import re
import tomllib

import pytest

from optimizer.asking import Given, Interview, answers_so_far, blank_answers, filled, given_answers, scenarios_of
from optimizer.asking.interview import QUESTIONS
from optimizer.errors import ScenarioError

PLATE = 'motor_speed = "1420 rpm"\nmotor_power = "0.75 kW"\npurpose = "mill"\n'


def faults_of(text: str) -> dict[str, str]:
    """Return what is wrong with a file of answers, by place."""
    with pytest.raises(ScenarioError) as refused:
        filled(given_answers(text))
    return {fault.where: str(fault) for fault in refused.value.faults}


def test_the_blank_file_is_all_comments_and_names_every_question() -> None:
    """As it is printed it answers nothing; without the marks before the answers it is a file of them."""
    text = blank_answers()
    assert tomllib.loads(text) == {}
    stated = tomllib.loads(re.sub(r"^#(?=\w+ = )", "", text, flags=re.MULTILINE))
    assert list(stated) == [question.name for question in QUESTIONS]


def test_a_blank_file_with_all_its_examples_is_a_machine() -> None:
    """The examples fit each other well enough to be read and accepted."""
    text = re.sub(r"^#(?=\w+ = )", "", blank_answers(), flags=re.MULTILINE)
    found = filled(given_answers(text))
    assert scenarios_of(found.answers)
    assert set(found.unused) | set(found.answers) == {question.name for question in QUESTIONS}


def test_missing_answers_are_all_named() -> None:
    """What cannot be suggested must be answered; all of it is said at once."""
    assert set(faults_of("")) == {"motor_speed", "motor_power", "purpose"}


def test_all_that_is_wrong_is_said_at_once() -> None:
    """Unknown names, values that cannot be read, values that the scenario refuses stand in one list."""
    found = faults_of(
        PLATE.replace("0.75 kW", "0.75") + 'titel = "x"\nsection = "Q"\nlargest_blank = 60\nspeeds = 1.5\n'
    )
    assert {"titel", "motor_power", "section", "speeds"} <= set(found)
    assert "did you mean title?" in found["titel"]


def test_an_answer_of_another_kind_is_refused() -> None:
    """A table is no answer; neither is a list with a table in it."""
    assert set(faults_of(PLATE + "title = { a = 1 }\ndiscs = [{ a = 1 }]\n")) == {"title", "discs"}


def test_answers_that_are_not_asked_of_such_a_machine_are_named() -> None:
    """The travel of a second belt is of no use where there is one belt."""
    found = filled(given_answers(PLATE + 'shafts = "one stage"\ntravel_second = 80\n'))
    assert found.unused == ("travel_second",)


def test_both_writes_a_machine_of_each_kind() -> None:
    """One stage and a countershaft, each a scenario of its own."""
    found = filled(given_answers(PLATE + 'shafts = "both"\n'))
    assert [len(machine.scenario.stages) for machine in scenarios_of(found.answers)] == [1, 2]


def test_answers_so_far_lead_to_the_same_machine() -> None:
    """What is kept half-way and gone on from comes to what it would have come to."""
    interview = Interview()
    for answer in ("1420 rpm", "none", "950 rpm", "0.75 kW", "none", "faceplate", 'Kopf "zwei" \\ 鑽'):
        assert not interview.answer(answer).faults
    kept = given_answers(answers_so_far(interview.answers))
    again = Interview(kept.answers)
    values = [{name: known.value for name, known in one.answers.by_name.items()} for one in (interview, again)]
    assert values[0] == values[1]
    for one in (interview, again):
        assert not one.take_rest().faults
    first, second = (scenarios_of(one.answers)[0].text for one in (interview, again))
    assert first == second


def test_answers_taken_as_suggested_stay_marked_as_suggested() -> None:
    """Keeping answers half-way makes none of them the maker's that was not."""
    interview = Interview()
    interview.answer("1420 rpm")
    interview.take_suggestion()
    again = Interview(given_answers(answers_so_far(interview.answers)).answers)
    assert again.answers.by_name["mains"].reason
    assert not again.answers.by_name["motor_speed"].reason


def test_two_calls_write_the_same_bytes() -> None:
    """The same answers come to the same text."""
    one, other = (scenarios_of(filled(Given(tomllib.loads(PLATE))).answers)[0].text for _ in range(2))
    assert one == other
