"""The hand-written pages agree with the code and with each other."""

from __future__ import annotations

import re
from importlib import import_module
from itertools import pairwise
from typing import Any

import pytest
from pydantic import BaseModel

from tests.docs.pages import ROOT, page, rows_of

PAGES = ("method.md", "validation.md", "glossary.md", "papers.md", "new.md", "recheck.md", "machines.md")
FIGURES = [
    pytest.param(line, id=line[2].strip("`")) for line in rows_of("method.md", "figure") if "`optimizer." in line[2]
]
FOLDERS = ("optimizer", "tests", "docs", "cli", "scenarios")


def value_of(dotted: str) -> Any:
    """Return a constant of a module, or the default of a model's field."""
    *path, last = dotted.split(".")
    if path[-1][0].isupper():
        model: type[BaseModel] = getattr(import_module(".".join(path[:-1])), path[-1])
        return model.model_fields[last].default
    return getattr(import_module(".".join(path)), last)


@pytest.mark.parametrize("line", FIGURES)
def test_the_figures_of_the_method_are_those_of_the_code(line: list[str]) -> None:
    """A limit or default that method.md states is the one the code has."""
    found = value_of(line[2].strip("`"))
    stated = [float(number.replace(" ", "")) for number in line[1].split(", ")]
    assert stated == [*map(float, found if isinstance(found, tuple) else (found,))]


def test_the_method_states_figures() -> None:
    """The table is there to be held against the code."""
    assert len(FIGURES) > 20


@pytest.mark.parametrize("name", PAGES)
def test_everything_a_page_points_to_exists(name: str) -> None:
    """Every link leads to a page, every path names a file or a folder of the project."""
    for target in re.findall(r"\]\(([^)#]+)\)", page(name)):
        assert (ROOT / "docs" / target).is_file(), f"{name}: {target}"
    for path in re.findall(r"`([a-z_]+/[A-Za-z0-9_/.]+)`", page(name)):
        assert path.split("/")[0] in FOLDERS and (ROOT / path).exists(), f"{name}: {path}"


@pytest.mark.parametrize("name", PAGES)
def test_pages_keep_to_one_width(name: str) -> None:
    """Lines outside tables are at most 120 characters wide, as in the code."""
    wide = [line for line in page(name).splitlines() if len(line) > 120 and not line.startswith("|")]
    assert not wide


def test_every_word_is_in_the_glossary_once() -> None:
    """No word has two meanings, every row has one, and each of the two tables is in order."""
    lines = rows_of("glossary.md", "word")
    words = [word.strip() for line in lines for word in line[0].split(",")]
    assert len(words) == len(set(words))
    assert all(len(line) == 2 and line[1] for line in lines)
    letters = [re.sub("[^a-z ]", "", line[0].lower()).strip() for line in lines]
    assert sum(one > other for one, other in pairwise(letters)) == 1, "from the end of the first to the second"


def test_the_guide_for_developers_points_to_pages_that_exist() -> None:
    """DEVELOPERS.md names no page or module that is not there."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for path in re.findall(r"`((?:docs|tests|optimizer|cli)/[A-Za-z0-9_/.]+)`", text):
        assert (ROOT / path).exists(), path
    for module in re.findall(r"`((?:optimizer|cli)(?:\.[a-z_]+)+)`", text):
        parent, _, last = module.rpartition(".")
        found = (ROOT / module.replace(".", "/")).is_dir() or (ROOT / f"{module.replace('.', '/')}.py").is_file()
        assert found or hasattr(import_module(parent), last), module
