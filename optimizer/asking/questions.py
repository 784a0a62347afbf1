"""All questions, in the order in which they are asked."""

from __future__ import annotations

from optimizer.asking.about_belts import BELTS
from optimizer.asking.about_motor import MOTOR
from optimizer.asking.about_places import PLACES
from optimizer.asking.about_shafts import SHAFTS
from optimizer.asking.about_shop import MACHINE, SHOP
from optimizer.asking.about_speeds import SPEEDS
from optimizer.asking.answer import Answers
from optimizer.asking.question import Question

__all__ = ["QUESTIONS", "next_question", "question_named"]

QUESTIONS: tuple[Question, ...] = (*MOTOR, *MACHINE, *BELTS, *SHOP, *SPEEDS, *SHAFTS, *PLACES)
"""The motor first, then the machine, what the shop has, what is wanted, how it is built."""


def question_named(name: str) -> Question | None:
    """Return a question by its name."""
    return next((question for question in QUESTIONS if question.name == name), None)


def next_question(answers: Answers) -> Question | None:
    """Return the first question that is asked of such a machine and not answered yet; nothing at the end."""
    return next((one for one in QUESTIONS if one.name not in answers and one.asked(answers)), None)
