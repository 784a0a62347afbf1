"""Which files are results, and what is said where there is none."""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from cli.codes import CHECK_FAILED, NO_DESIGN
from cli.streams import say
from optimizer.documents.changes import none_lines
from optimizer.documents.data import record_json
from optimizer.documents.kinds import is_paper
from optimizer.documents.recheck_form import MEASURED_CSV, MEASURED_TOML
from optimizer.errors import CannotWriteError
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.recheck.loading import is_blank

__all__ = ["DESIGN_FILES", "FORMS", "is_result", "refuse_filled_forms", "results_in", "say_none"]

FORMS = (MEASURED_TOML, MEASURED_CSV)
"""Files of a design's folder that a maker writes measurements into."""
DESIGN_FILES = frozenset({"cuts.csv", "design.json", "design.md", *FORMS})
"""Files of a design's folder."""


def is_result(name: str) -> bool:
    """Tell whether a file of this name is part of a design or its papers, and may be replaced by a newer one.

    Examples
    --------
    >>> is_result("design.json"), is_result("speed-plate.svg"), is_result("notes.txt")
    (True, True, False)
    """
    return name in DESIGN_FILES or is_paper(name)


def results_in(target: Path) -> Callable[[str], bool]:
    """Return what tells of a file in a folder whether it may be replaced: a form only while nobody has filled it in."""
    return lambda name: is_result(name) and not _filled(target / name)


def refuse_filled_forms(target: Path) -> None:
    """Raise if a folder that is to be replaced holds measurements.

    Raises
    ------
    CannotWriteError
        With the file, and what to do.
    """
    for name in FORMS:
        if _filled(target / name):
            raise CannotWriteError(
                f"cannot replace {target}: {name} in it has been filled in with measurements; "
                "move it to another folder first, or choose another folder with --out"
            )


def _filled(path: Path) -> bool:
    """Tell whether a file is a form with anything of the maker's in it."""
    if path.name not in FORMS:
        return False
    with suppress(FileNotFoundError):
        try:
            return not is_blank(path.read_bytes().decode("utf-8-sig"), path.name)
        except (OSError, UnicodeDecodeError):
            return os.path.lexists(path)
    return False


def say_none(error: NoLayoutError, *, as_json: bool) -> int:
    """Say why there is no design, with what would give one; return the exit code."""
    if as_json:
        print(record_json(error.told), end="")
    first, *rest = none_lines(error.told)
    say(f"{'no design passes its checks' if error.rejected else 'no design'}: {first}", *rest)
    return CHECK_FAILED if error.rejected else NO_DESIGN
