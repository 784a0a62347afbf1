"""The mutants of one module: where they are, and the syntax tree of each."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from tests.mutation.operators import changes_of

__all__ = ["Mutant", "mutant_tree", "mutants_of"]

SKIPPED = (ast.Import, ast.ImportFrom, ast.Global, ast.Nonlocal, ast.Raise, ast.Assert)
WIDEST = 60
"""Characters of a change that are shown."""


@dataclass(frozen=True)
class Mutant:
    """One change of one module."""

    path: str
    """File, from the root of the project."""
    function: str
    """Function as Python names it, with its class; empty outside any."""
    line: int
    first: int
    last: int
    """Lines of the statement that it stands in, or of the function whose default it is."""
    operator: str
    before: str
    after: str
    occurrence: int
    """Which one of those in the function that read the same, from 1."""
    inside: bool
    """Whether it is in the function's own code, and not in a default or outside any function."""
    number: int
    """Place among all of the module, from 0."""

    @property
    def key(self) -> str:
        """Name that stays when lines move."""
        return f"{self.path}:{self.function}: {self.operator}: {self.before} -> {self.after} #{self.occurrence}"


@dataclass(frozen=True)
class _Place:
    function: str = ""
    classes: str = ""
    inside: bool = False
    first: int = 0
    last: int = 0


TOP = _Place()
"""The outermost place of a module."""


@dataclass(frozen=True)
class _Site:
    """A place in the tree with what can stand there instead."""

    parent: ast.AST
    field: str
    index: int | None
    node: ast.AST
    operator: str
    other: ast.AST
    place: _Place


def mutants_of(path: Path, root: Path) -> list[Mutant]:
    """Return every mutant of a file, in the order of its syntax tree."""
    name = path.relative_to(root).as_posix()
    seen: Counter[tuple[str, ...]] = Counter()
    found = []
    for number, site in enumerate(_sites(ast.parse(path.read_text(encoding="utf-8")))):
        before, after = _text(site.node), _text(site.other)
        same = (site.place.function, site.operator, before, after)
        seen[same] += 1
        line = getattr(site.node, "lineno", site.place.first)
        found.append(
            Mutant(
                path=name,
                function=site.place.function,
                line=line,
                first=min(site.place.first or line, line),
                last=max(site.place.last, line),
                operator=site.operator,
                before=before,
                after=after,
                occurrence=seen[same],
                inside=site.place.inside,
                number=number,
            )
        )
    return found


def mutant_tree(source: str, number: int) -> ast.Module:
    """Return the syntax tree of a module with one of its mutants in place."""
    tree = ast.parse(source)
    for found, site in enumerate(_sites(tree)):
        if found == number:
            put = ast.copy_location(site.other, site.node)
            if site.index is None:
                setattr(site.parent, site.field, put)
            else:
                getattr(site.parent, site.field)[site.index] = put
            return ast.fix_missing_locations(tree)
    raise IndexError(number)


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.If) and isinstance(node.test, ast.Constant):
        return "nothing"
    if isinstance(node, ast.For):
        node = ast.For(node.target, node.iter, [ast.Expr(ast.Constant(...))], [])
    text = " ".join(ast.unparse(ast.fix_missing_locations(node)).split())
    return text if len(text) <= WIDEST else f"{text[: WIDEST - 21]} … {text[-18:]}"


def _sites(node: ast.AST, place: _Place = TOP) -> Iterator[_Site]:
    """Yield every change below a node."""
    for field, value in ast.iter_fields(node):
        if field in ("annotation", "returns", "decorator_list", "bases", "keywords") and not isinstance(node, ast.Call):
            continue
        children = value if isinstance(value, list) else [value]
        for index, child in enumerate(children):
            if not isinstance(child, ast.AST) or _is_left_alone(child, node):
                continue
            here = _place_of(child, node, place)
            for operator, other in changes_of(child, node, field):
                yield _Site(node, field, index if isinstance(value, list) else None, child, operator, other, here)
            yield from _sites(child, here)


def _is_left_alone(node: ast.AST, parent: ast.AST) -> bool:
    """Tell whether nothing is broken in a node: imports, raised messages, texts, overloads, lists of names."""
    if isinstance(node, SKIPPED) or (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
        return True
    if isinstance(node, ast.Assign):
        return any(isinstance(target, ast.Name) and target.id == "__all__" for target in node.targets)
    if isinstance(node, ast.If):
        return isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
    if isinstance(node, ast.FunctionDef):
        return any(isinstance(mark, ast.Name) and mark.id == "overload" for mark in node.decorator_list)
    return isinstance(parent, ast.FormattedValue) and isinstance(node, ast.JoinedStr)


def _place_of(node: ast.AST, parent: ast.AST, place: _Place) -> _Place:
    """Return the place of a node, given that of its parent."""
    if isinstance(parent, ast.FunctionDef) and isinstance(node, ast.stmt):
        place = replace(place, inside=True)
    if isinstance(node, ast.FunctionDef | ast.ClassDef) and not place.inside:
        named = f"{place.classes}{node.name}"
        if isinstance(node, ast.ClassDef):
            return replace(place, classes=f"{named}.")
        return replace(place, function=named, first=node.lineno, last=node.end_lineno or node.lineno)
    if isinstance(node, ast.stmt):
        body: list[ast.stmt] = getattr(node, "body", [])
        last = body[0].lineno - 1 if body else node.end_lineno or node.lineno
        return replace(place, first=node.lineno, last=max(last, node.lineno))
    return place
