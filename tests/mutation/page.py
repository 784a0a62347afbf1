"""docs/mutation.md, put together from the results and the reasons that are kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.mutation.reasons import reason_of
from tests.mutation.results import ENOUGH, Results, Row
from tests.mutation.rooms import ROOMS, ROOT

__all__ = ["mutation_page", "write_page"]

UNSAID = "nobody has looked yet"


def mutation_page(results: Results | None = None) -> str:
    """Return the page."""
    known = results or Results()
    blocks = [
        "# Mutation testing",
        OPENING,
        "## How it is done",
        HOW,
        "## How much is noticed",
        _counts(known),
        _short(known),
    ]
    blocks += ["## What is not noticed", LEFT]
    for name in ROOMS:
        rows = list(_survivors(known.of_room(name)))
        if rows:
            blocks += [f"### {name}", _table(("where", "change", "why it is left"), rows)]
    return "\n\n".join(block.strip() for block in blocks if block) + "\n"


def write_page(folder: Path = ROOT / "docs") -> Path:
    """Write the page; return where it is."""
    path = folder / "mutation.md"
    path.write_text(mutation_page(), encoding="utf-8", newline="\n")
    return path


def _counts(known: Results) -> str:
    rows = []
    for room in ROOMS.values():
        name, modules = room.name, known.of_room(room.name)
        if not modules:
            continue
        rows += [_cells(f"`{path}`", [row]) for path, row in modules.items()]
        seeds = sorted({row["seed"] for row in modules.values() if row["tried"] < row["mutants"]})
        drawn = f", seed {seeds[0]}" if len(seeds) == 1 else ""
        name = f"**{name}** (tests of {room.most_seconds:g} s at most{drawn})"
        rows.append(_cells(name, list(modules.values())))
    return _table(("part", "mutants", "judged", "noticed", "of them by time", "share", "at first"), rows)


def _short(known: Results) -> str:
    """Return which parts have less noticed than is to be, and which nobody has judged."""
    less = [name for name in ROOMS if known.of_room(name) and not known.enough(name)]
    none = [name for name in ROOMS if not known.of_room(name)]
    return " ".join(
        f"{words}: {', '.join(names)}."
        for words, names in ((f"Below {ENOUGH:.0%}", less), ("Not judged yet", none))
        if names
    )


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a table whose cells are Markdown already; only what parts cells is escaped."""
    lines = [heads, ["---"] * len(heads), *([cell.replace("|", "\\|") for cell in row] for row in rows)]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def _cells(name: str, rows: Sequence[Row]) -> tuple[str, ...]:
    keys = ("mutants", "tried", "killed", "too slow", "at first")
    mutants, tried, killed, slow, first = (sum(row[key] for row in rows) for key in keys)
    shares = (f"{noticed / max(tried, 1):.1%}" for noticed in (killed, first))
    return name, f"{mutants:,}", f"{tried:,}", f"{killed:,}", str(slow), *shares


def _survivors(modules: dict[str, Row]) -> Iterator[tuple[str, ...]]:
    """Yield place, change and reason of every mutant that is left, those of one reading and one reason in one row."""
    for path, row in modules.items():
        found: dict[tuple[str, str, str], int] = {}
        for key in row["survivors"]:
            function, operator, change = key.removeprefix(f"{path}:").split(": ", 2)
            place = f"`{path.removeprefix('optimizer/').removesuffix('.py')}` {function}".strip()
            reading = f"{operator}: `{change.rsplit(' #', 1)[0].replace(' -> ', '` → `')}`"
            cells = (place, reading, reason_of(key) or UNSAID)
            found[cells] = found.get(cells, 0) + 1
        for (place, change, why), count in found.items():
            yield place, change + (f" ({count} times)" if count > 1 else ""), why


OPENING = f"""
Written by `python -m tests.mutation` from what it found, with the reasons of `tests/mutation/reasons.toml`; not by
hand. A mutant is the code with one small thing wrong. One that fails no test shows something that no test holds, unless
it makes no difference at all. Of the mutants judged of each part {ENOUGH:.0%} are to be noticed.
"""
HOW = """
- `tests/mutation/operators.py` lists what is broken: comparisons (boundary, negation), arithmetic, logic, signs,
  numbers (one more), truth values, what a function returns, loops that do not run, statements left out, least for
  greatest, all for any, floor for ceil, sine for cosine, left for right. These are the operators that general tools for
  mutation testing share. Words, annotations, decorators, raised messages and the `strict` of `zip` stay as they are.
- Each mutant is put into a copy of a process in which the tests are loaded already; only tests that run the line are
  called, until one fails. A test that takes ten times its usual processor time and 3 s counts as failed. What is done
  while a module is loaded is judged in a copy that has loaded nothing yet.
- Tests are called quickest first, and only as many as the seconds in the table below allow, so that some mutants
  that are left would be noticed by slower tests. Hypothesis draws the same 25 examples each time.
- Where fewer are judged than there are, they are a sample of each module (`--sample 10 --seed 2`; the seeds are given
  below). Tests were written for what earlier samples had left, which are not counted, and then for what this one
  had left (`--survivors` judges that again): the last column says how much was noticed before those tests,
  and is the better guess for the mutants that were not drawn.
"""
LEFT = """
Every change that no test noticed among those judged. Text in backticks is the code before and after, shortened
where it is long. "Makes no difference" is a claim by someone who has read the line, not a proof.
"""
