"""One question to a maker."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from optimizer.asking.answer import Answers, Suggestion, Written
from optimizer.asking.reading import Reader

__all__ = ["Question", "always", "nothing"]


def always(_: Answers) -> bool:
    """Ask whatever was answered."""
    return True


def nothing(_: Answers) -> tuple[str, ...]:
    """Remark on nothing."""
    return ()


@dataclass(frozen=True)
class Question:
    """A question, with all that is needed to ask it, to explain it, to read its answer."""

    name: str
    """Its key in a file of answers."""
    part: str
    """The part of the machine it is about."""
    asks: str
    """The question on one line."""
    why: str
    """What it means, and what hangs on it."""
    reads: Reader
    example: Written
    """An answer that can be read, whatever the machine."""
    suggests: Callable[[Answers], Suggestion | None] = lambda _: None
    """What is taken where nothing is answered; nothing where the maker alone knows."""
    asked: Callable[[Answers], bool] = always
    """Whether it is asked, after what was answered before."""
    remarks: Callable[[Answers], tuple[str, ...]] = nothing
    """What is worth saying of the answer, its own among the answers."""
