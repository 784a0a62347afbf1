"""Whatever is answered, the answer is either refused with a reason or comes to a scenario that is accepted."""

from __future__ import annotations

import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.asking import Given, Interview, answers_so_far, filled, given_answers, hindrance, scenarios_of
from optimizer.asking.answer import Written
from optimizer.asking.interview import QUESTIONS
from optimizer.errors import ScenarioError
from tests.sampled import examples

ODD: tuple[Written, ...] = (
    "",
    "none",
    "0",
    "-1",
    "1e400",
    "nan",
    "inf",
    "1/0",
    "½ in",
    "9 1/2 in",
    "240",
    "3 m",
    "10 to 20",
    "20 to 10",
    "1, 2, 3",
    "2 x 80, 71+90",
    "999999999999999999999",
    "back",
    "yes",
    "fixed",
    "hinge",
    "both",
    "one stage",
    "countershaft",
    "link",
    "stock",
    "1000, 1120",
    "bands",
    "sizes",
    "a: 100 to 3000",
    "a: 100 to 200; a: 300 to 400",
    "b: 20 mm at 1 to 2 m/s, 3 speeds",
    'quote " and \\ and \u202e',
    "x" * 200,
    "\x00\x1b[2J",
    "B",
    "5L",
    "PJ 4",
    "round 8",
    "flat 3x40",
    0,
    -3,
    7.5,
    10**30,
    float("inf"),
    True,
    False,
    (),
    (63, 71),
    ("a: 1 to 2", 3),
)
PLATE: dict[str, Written] = {"motor_speed": "1420 rpm", "motor_power": "0.75 kW"}
PURPOSES = st.sampled_from(["drill", "mill", "faceplate", "shaper", "other", "wet stone"])
EXAMPLES = {question.name: question.example for question in QUESTIONS}


@st.composite
def answered(draw: st.DrawFn) -> dict[str, Written]:
    """Return a plate, a purpose, and some answers, sound ones and odd ones."""
    names = draw(st.lists(st.sampled_from([question.name for question in QUESTIONS]), max_size=5, unique=True))
    some = {name: draw(st.sampled_from((EXAMPLES[name], *ODD))) for name in names}
    return {**PLATE, "purpose": draw(PURPOSES), **some}


@settings(max_examples=examples(150), deadline=None)
@given(answered())
def test_answers_of_a_file_are_refused_or_accepted(answers: dict[str, Written]) -> None:
    """No odd answer ends in anything but faults with the names of questions, or scenarios that can be read."""
    try:
        found = filled(Given(answers))
    except ScenarioError as error:
        assert error.faults
        assert all(fault.where and fault.what for fault in error.faults)
        return
    for machine in scenarios_of(found.answers):
        assert tomllib.loads(machine.text)["stage"]
        hindrance(machine.scenario)


@settings(max_examples=examples(60), deadline=None)
@given(st.lists(st.sampled_from((*ODD, None, "back!", *EXAMPLES.values())), max_size=40))
def test_an_interview_stands_any_walk(steps: list[Written | None]) -> None:
    """Answers, suggestions and ways back in any order leave answers that can be kept, gone on from, and finished."""
    interview = Interview()
    for step in steps:
        if interview.question is None:
            break
        if step == "back!":
            interview.back()
        elif step is None:
            interview.take_suggestion()
        else:
            interview.answer(step)
    kept = given_answers(answers_so_far(interview.answers))
    assert not kept.faults
    again = Interview(kept.answers)
    assert list(again.answers) == list(interview.answers)
