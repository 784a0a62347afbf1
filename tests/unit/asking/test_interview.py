"""Questions follow each other, lead back, and take nothing that is wrong."""

from __future__ import annotations

import pytest

from optimizer.asking.answer import Written
from optimizer.asking.interview import BEFORE, QUESTIONS, Interview

PLATE: dict[str, Written] = {"motor_speed": "1420 rpm", "motor_power": "0.75 kW", "purpose": "drill"}


def at(name: str, **answers: Written) -> Interview:
    """Return an interview that has come to a question."""
    interview = Interview()
    while (question := interview.question) is not None and question.name != name:
        known = {**PLATE, **answers}
        reply = interview.answer(known[question.name]) if question.name in known else interview.take_suggestion()
        assert not reply.faults, (question.name, reply.faults)
    assert interview.question is not None
    return interview


def test_nothing_is_suggested_that_only_the_maker_knows() -> None:
    """Speed and power on the plate, and the purpose, have no suggestion; Enter alone does not pass them."""
    interview = Interview()
    reply = interview.take_suggestion()
    assert interview.question is not None and interview.question.name == "motor_speed"
    assert "only you know" in str(reply.faults[0])


def test_every_question_has_a_reason_for_what_it_suggests() -> None:
    """No suggestion stands there without a word why, and each can be read by its own question."""
    interview = Interview()
    while (question := interview.question) is not None:
        suggestion = interview.suggestion
        if suggestion is None:
            assert question.name in PLATE
            assert not interview.answer(PLATE[question.name]).faults
            continue
        assert len(suggestion.reason) > 10, question.name
        assert not interview.take_suggestion().faults, question.name


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda one: one.name)
def test_every_question_explains_itself(question: object) -> None:
    """Each has a sentence or more, and an example that it can read."""
    one = next(known for known in QUESTIONS if known is question)
    assert len(one.why) > 40
    assert not one.asks.endswith("?")
    one.reads.read(one.example, "mm")


def test_back_suggests_what_was_answered_before() -> None:
    """An answer that is taken back is not lost."""
    interview = at("motor_power")
    assert interview.back() and interview.back() and interview.back()
    assert interview.question is not None and interview.question.name == "motor_speed"
    assert interview.suggestion is not None
    assert (interview.suggestion.written, interview.suggestion.reason) == ("1420 rpm", BEFORE)


def test_back_at_the_first_question_stays_there() -> None:
    """There is nothing before the first question."""
    assert not Interview().back()


def test_a_corrected_answer_changes_what_follows() -> None:
    """After the motor was corrected to a NEMA frame, inches are suggested where millimetres were."""
    interview = at("units")
    assert interview.suggestion is not None and interview.suggestion.written == "mm"
    while interview.question is not None and interview.question.name != "motor_frame":
        interview.back()
    assert not interview.answer("NEMA 56").faults
    while interview.question is not None and interview.question.name != "units":
        interview.take_suggestion()
    assert interview.suggestion is not None and interview.suggestion.written == "in"


@pytest.mark.parametrize(
    ("name", "wrong", "said"),
    [
        ("motor_speed", "-5", "negative"),
        ("motor_speed", "90000", "too large"),
        ("motor_frame", "IEC 81", "no such motor frame"),
        ("title", "a\tb", "control characters"),
        ("title", "x" * 81, "too long"),
        ("section", "Q", "no such belt section"),
        ("largest_blank", "60", "blank"),
        ("discs", "200, 200", "already"),
        ("truing", "300 mm", "truing"),
        ("never_above", "100 rpm", "band"),
        ("centres", "5000 to 6000 mm", "too large"),
    ],
)
def test_answers_are_checked_at_once(name: str, wrong: str, said: str) -> None:
    """What the reader of scenarios refuses is refused where it is answered, and the question stays open."""
    interview = at(name)
    reply = interview.answer(wrong)
    assert any(said in str(fault) for fault in reply.faults), reply.faults
    assert interview.question is not None and interview.question.name == name


def test_two_belts_on_one_mount_are_refused_where_they_are_stated() -> None:
    """A fixed motor on the frame, a countershaft that slides: both belts would hang on one mount."""
    interview = at("motor_rides", shafts="countershaft", motor_mount="fixed")
    reply = interview.answer("no")
    assert reply.faults
    assert not interview.answer("yes").faults


def test_the_rest_can_be_taken_as_suggested() -> None:
    """From the purpose on, everything can be taken at once."""
    interview = at("title")
    assert not interview.take_rest().faults
    assert interview.question is None


def test_a_locked_pair_is_suggested_link_belt() -> None:
    """Where nothing slackens a belt, it must be joined; a belt of a set length must be said to be slackened."""
    interview = at("belt_lengths", shafts="one stage", motor_mount="fixed", spindle_mount="fixed")
    assert interview.suggestion is not None and interview.suggestion.written == "link"
    assert not interview.answer("stock").faults
    interview.take_suggestion()
    assert interview.question is not None and interview.question.name == "slackened"


def test_answers_that_were_kept_are_taken_as_far_as_they_go() -> None:
    """Going on asks the first question that is open, and suggests answers that stand behind it."""
    interview = Interview({"motor_speed": "1420 rpm", "mains": 50, "motor_slower": "none", "purpose": "mill"})
    assert interview.question is not None and interview.question.name == "motor_power"
    interview.answer("0.75 kW")
    interview.take_suggestion()
    assert interview.suggestion is not None and interview.suggestion.written == "mill"


def test_the_speed_without_load_is_asked_of_motors_that_are_no_induction_motors() -> None:
    """1420 rpm belong to a field of 1500; no field of 50 or 60 Hz turns as fast as 4000 rpm, 3600 at the most."""
    plain, quick = Interview(), Interview()
    for interview, speed in ((plain, "1420 rpm"), (quick, "4000 rpm")):
        interview.answer(speed)
        interview.take_suggestion()
    assert plain.question is not None and plain.question.name == "motor_slower"
    assert quick.question is not None and quick.question.name == "motor_idle"
