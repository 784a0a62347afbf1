"""Questions to a maker, and the scenario that the answers come to."""

from optimizer.asking.interview import (
    Given,
    Interview,
    answers_so_far,
    blank_answers,
    filled,
    given_answers,
    hindrance,
    scenarios_of,
)

__all__ = [
    "Given",
    "Interview",
    "answers_so_far",
    "blank_answers",
    "filled",
    "given_answers",
    "hindrance",
    "scenarios_of",
]
