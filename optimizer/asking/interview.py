"""Questions put one after the other, with the way back; nothing of a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimizer.asking.answer import Answers, Suggestion, Written
from optimizer.asking.question import Question
from optimizer.asking.questions import next_question
from optimizer.asking.verdict import faults_of_answers
from optimizer.errors import Fault
from optimizer.quantities import QuantityError

__all__ = ["BEFORE", "Interview", "Reply"]

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
