"""The table of outside checks in docs/validation.md lists every one of them."""

from __future__ import annotations

import ast
from itertools import pairwise
from pathlib import Path

import pytest

from tests.docs.pages import ROOT, rows_of

FOLDER = ROOT / "tests" / "validation"
STATUSES = {"read", "companion", "memory", "computed"}
LINES = rows_of("validation.md", "file")
FILES = [pytest.param(line, id=line[0]) for line in LINES]


def test_every_file_is_listed_and_nothing_else() -> None:
    """The table names each file of tests/validation once, in the order of the names."""
    listed = [line[0].strip("`") for line in LINES]
    assert listed == sorted(path.name for path in FOLDER.glob("test_*.py"))
    assert all(one < other for one, other in pairwise(listed))


def test_every_status_is_explained() -> None:
    """The page explains the four statuses, and no file has another."""
    assert {line[0] for line in rows_of("validation.md", "status")} == STATUSES
    assert all(line[3] and set(line[3].split(", ")) <= STATUSES for line in LINES)


@pytest.mark.parametrize("line", FILES)
def test_a_file_names_the_source_and_the_status_of_its_row(line: list[str]) -> None:
    """The docstring of a file names the work its row names, and every status of the row stands in the file."""
    name, source, checked, status = line
    text = (FOLDER / name.strip("`")).read_text(encoding="utf-8")
    docstring = " ".join((ast.get_docstring(ast.parse(text)) or "").split())
    assert checked
    for work in source.split("; "):
        first = work.split(", ")[0]
        assert first.lower() in docstring.lower(), f"{name} does not name {first}"
    for word in status.split(", "):
        assert word in text, f"{name} marks nothing as {word}"


def test_every_check_opens_with_what_must_hold() -> None:
    """Every test of the folder has a docstring with a whole sentence."""
    for path in sorted(Path(FOLDER).glob("test_*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                assert (ast.get_docstring(node) or "").split("\n")[0].endswith("."), f"{path.name}: {node.name}"
