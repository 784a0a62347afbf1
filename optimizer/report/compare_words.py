"""What a comparison says in words: what its rows are, which is proposed, which layouts have no design."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.comparison import ComparedRow, Comparison
from optimizer.report.figures import percent

__all__ = [
    "MARK",
    "listed",
    "note_words",
    "proof_word",
    "proposal_words",
    "sign_words",
    "without_words",
]

MARK = ">"
"""Sign before a row that no other beats, the same as in the speed chart on the terminal."""


def note_words(row: ComparedRow) -> str:
    """Return what a row is among the others."""
    made_for = listed([name for name in row.made_for if name != "least J"])
    notes = ["proposed"] if row.proposed else []
    notes += [f"best of {speeds_words(row)}"] if row.best_of_speeds else []
    notes += [made_for] if made_for else []
    notes += [] if row.advised else ["beyond what is advised"]
    return ", ".join(notes)


def speeds_words(row: ComparedRow) -> str:
    """Return how many speeds a row has."""
    return "1 speed" if len(row.speeds_rpm) == 1 else f"{len(row.speeds_rpm)} speeds"


def proof_word(row: ComparedRow) -> str:
    """Return what the search proved of a row, or the gap."""
    if row.proof.status == "proved":
        return "proved"
    return f"gap {percent(row.proof.gap)}" if row.proof.gap else "found"


def proposal_words(comparison: Comparison) -> str:
    """Return which row is proposed."""
    row = next(row for row in comparison.rows if row.proposed)
    beyond = "" if row.advised else "; no layout has a design with both within what is advised"
    return f"Row {row.number}, layout {row.title}, is the one that is designed unless another is asked for{beyond}"


def sign_words(comparison: Comparison) -> Iterator[str]:
    """Yield what the mark, the order of the rows, the words in the tables mean."""
    if len(comparison.rows) > 1:
        names = listed([criterion.name for criterion in comparison.criteria])
        what = "order of every layout" if comparison.rows_are == "orders" else "layout in its best order"
        yield f"Mark {MARK} says that no other row is at least as good in each of {names}, and better in one"
        yield (
            f"One row for every {what}, by number of speeds; the best of a number of speeds is the one that would be "
            "proposed were there no other: within what is advised, then fewest steps to turn, fewest belt moves, "
            "least J"
        )
    yield (
        "J is the weighted sum of end miss and unevenness; proved: of all belts and listed sizes of the layout and "
        "order none makes it less. The row is that design, refined and rounded to what can be turned; conewright "
        "design looks further among sizes on whole ticks, and may come out some hundredths of a percent better; where "
        "belts in hand are stated it prefers them, and may come out worse by their slack"
    )
    if any("least J" not in row.made_for for row in comparison.rows):
        yield "Rows of least timber or smallest largest disc keep within the slack of the least J over the listed sizes"


def without_words(comparison: Comparison) -> Iterator[str]:
    """Yield the layouts without a design, with the reason."""
    for entry in comparison.without:
        yield f"{'; '.join(entry.layouts)}: {entry.reason}"


def listed(names: list[str]) -> str:
    """Return names as a list in a sentence.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return " and ".join(part for part in (", ".join(names[:-1]), *names[-1:]) if part)
