"""Why mutants that no test notices are left as they are."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from pathlib import Path
from typing import NamedTuple

__all__ = ["WHERE", "Reason", "reason_of", "reasons"]

WHERE = Path(__file__).with_name("reasons.toml")


class Reason(NamedTuple):
    """A pattern of the names of mutants, with what is true of all that it fits."""

    pattern: re.Pattern[str]
    why: str


@cache
def reasons() -> tuple[Reason, ...]:
    """Return them in the order in which they are tried; each mutant has the first that fits its name."""
    rows = tomllib.loads(WHERE.read_text(encoding="utf-8"))["reason"]
    return tuple(Reason(re.compile(row["mutant"]), row["why"]) for row in rows)


def reason_of(key: str) -> str | None:
    """Return why a mutant of a name is left, nothing where nobody has said so."""
    return next((reason.why for reason in reasons() if reason.pattern.search(key)), None)
