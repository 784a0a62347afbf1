"""What is broken on purpose is what the operators say, and it is really put in."""

from __future__ import annotations

import ast
import sys
from importlib import import_module
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from tests.mutation.child import in_child, in_children
from tests.mutation.mutants import mutant_tree, mutants_of
from tests.mutation.swap import Loaded, load_instead

NAME = "tests.broken_on_purpose"
SOURCE = '''"""Numbers 1 and 2 of a docstring stay."""

from functools import cache

LIMIT = 3.0


@cache
def within(value: float, least: int = 2) -> bool:
    """Number 4."""
    if value < 0:
        raise ValueError(f"{value + 1} is less than 0")
    return least < value <= LIMIT and not value == 2.5
'''


def written(folder: Path, source: str = SOURCE) -> Path:
    """Return the file of a module."""
    path = folder / "broken_on_purpose.py"
    path.write_text(source, encoding="utf-8")
    return path


def test_every_change_of_a_small_module(tmp_path: Path) -> None:
    """Constant, default, comparisons, logic, number, what it returns; no word, no raised message."""
    found = [(m.line, m.operator, m.before, m.after) for m in mutants_of(written(tmp_path), tmp_path)]
    whole = "least < value <= LIMIT and (not value == 2.5)"
    assert found == [
        (5, "constant", "3.0", "4.0"),
        (9, "constant", "2", "3"),
        (11, "boundary", "value < 0", "value <= 0"),
        (11, "negation", "value < 0", "value >= 0"),
        (11, "constant", "0", "1"),
        (13, "return", f"return {whole}", "return None"),
        (13, "logic", whole, "least < value <= LIMIT or not value == 2.5"),
        (13, "boundary", "least < value <= LIMIT", "least <= value <= LIMIT"),
        (13, "negation", "least < value <= LIMIT", "least >= value <= LIMIT"),
        (13, "boundary", "least < value <= LIMIT", "least < value < LIMIT"),
        (13, "negation", "least < value <= LIMIT", "least < value > LIMIT"),
        (13, "logic", "not value == 2.5", "value == 2.5"),
        (13, "negation", "value == 2.5", "value != 2.5"),
        (13, "constant", "2.5", "3.5"),
    ]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("for x in xs: f(x)", "for x in (): f(x)"),
        ("while a: break", "while a: continue"),
        ("yield x", "if False: yield x"),
        ("x += 1", "x -= 1"),
        ("min(a, b)", "max(a, b)"),
        ("m.argmax()", "m.argmin()"),
        ("s(a, side='left')", "s(a, side='right')"),
        ("a if b else c", "a if not b else c"),
        ("-a", "a"),
    ],
)
def test_each_operator_changes_what_it_names(before: str, after: str, tmp_path: Path) -> None:
    """One of the mutants of a statement reads as expected."""
    path = written(tmp_path, before)
    found = [ast.unparse(mutant_tree(before, m.number)) for m in mutants_of(path, tmp_path)]
    assert ast.unparse(ast.parse(after)) in found


def test_mutants_are_put_into_what_is_loaded(tmp_path: Path) -> None:
    """In a copy of the process a function changes behind its cache, a constant by its name; here nothing does."""
    path = written(tmp_path)
    spec = spec_from_file_location(NAME, path)
    assert spec and spec.loader
    module = module_from_spec(spec)
    sys.modules[NAME] = module
    spec.loader.exec_module(module)
    loaded = Loaded(path)

    def answers(number: int) -> list[bool]:
        tree = mutant_tree(SOURCE, number)
        mutant = mutants_of(path, tmp_path)[number]
        assert loaded.swap(tree, mutant.function) if mutant.function else loaded.rebind(tree, mutant.line)
        return [module.within(value) for value in (2, 2.25, 2.5, 3, 3.5)]

    try:
        plain = [False, True, False, True, False]
        ended = [ended.told for _, ended in in_children([7, 9, 0], answers, at_once=1)]
        # the least counts; the most does not; the most is 4
        assert ended == [[True, *plain[1:]], [False, True, False, False, False], [*plain[:-1], True]]
        assert [module.within(value) for value in (2, 2.25, 2.5, 3, 3.5)] == plain
    finally:
        del sys.modules[NAME]


def test_a_mutant_is_loaded_in_the_place_of_its_file(tmp_path: Path) -> None:
    """A default is another from the moment the module is loaded; one that is loaded already is refused."""
    path = written(tmp_path)

    def answers() -> object:
        load_instead(path, tmp_path, mutant_tree(SOURCE, 1))
        found = import_module("broken_on_purpose").within(2.25)
        with pytest.raises(RuntimeError, match="loaded already"):
            load_instead(path, tmp_path, mutant_tree(SOURCE, 1))
        return found

    assert in_child(answers).told is False


def test_a_copy_that_breaks_off_is_no_survivor(capfd: pytest.CaptureFixture[str]) -> None:
    """An error of the tool itself stops it; one that dies of a signal is told apart."""
    with pytest.raises(RuntimeError, match="broke off"):
        in_child(lambda: 1 / 0)
    assert "ZeroDivisionError" in capfd.readouterr().err
    assert in_child(lambda: ["told"]).told == ["told"]
