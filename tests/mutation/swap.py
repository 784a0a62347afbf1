"""A mutant put in: into functions that are loaded already, or into a module before it is loaded."""

from __future__ import annotations

import ast
import gc
import sys
from collections.abc import Iterator, Sequence
from importlib import import_module
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType, FunctionType, ModuleType

__all__ = ["Loaded", "load_instead"]

Named = tuple[str, int]


class Loaded:
    """The functions of a module that is loaded, wherever something holds them: decorated, as properties, in classes."""

    def __init__(self, path: Path) -> None:
        self.path = str(path)
        self._module = next(m for m in list(sys.modules.values()) if getattr(m, "__file__", None) == self.path)
        self._functions: dict[Named, list[FunctionType]] = {}
        for thing in gc.get_objects():
            if isinstance(thing, FunctionType) and thing.__code__.co_filename == self.path:
                self._functions.setdefault(_named(thing.__code__), []).append(thing)

    def rebind(self, tree: ast.Module, line: int) -> bool:
        """Bind a constant of the module anew, wherever it is known by its name, as a line of a tree has it.

        What was worked out from it while loading stays as it was. Tell whether the line binds one.
        """
        for statement in tree.body:
            if statement.lineno == line and isinstance(statement, ast.Assign | ast.AnnAssign):
                targets = statement.targets if isinstance(statement, ast.Assign) else [statement.target]
                names = [target.id for target in targets if isinstance(target, ast.Name)]
                fresh = dict(vars(self._module))
                exec(compile(ast.Module([statement], []), self.path, "exec"), fresh)
                for name in names:
                    _bind(name, getattr(self._module, name), fresh[name])
                return bool(names)
        return False

    def swap(self, tree: ast.Module, function: str) -> bool:
        """Give the functions of a name the code that a tree has for them; tell whether there are any."""
        swapped = False
        for code in _codes(compile(tree, self.path, "exec")):
            if code.co_qualname == function:
                for held in self._functions.get(_named(code), []):
                    held.__code__ = code
                    swapped = True
        return swapped


def _bind(name: str, old: object, new: object) -> None:
    for module in list(sys.modules.values()):
        if getattr(module, "__name__", "").split(".")[0] in ("optimizer", "tests") and vars(module).get(name) is old:
            setattr(module, name, new)


def _named(code: CodeType) -> Named:
    return code.co_qualname, code.co_firstlineno


def _codes(code: CodeType) -> Iterator[CodeType]:
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield constant
            yield from _codes(constant)


class _Instead(SourceFileLoader):
    """Loads one module from a tree."""

    def __init__(self, name: str, path: str, tree: ast.Module) -> None:
        super().__init__(name, path)
        self._tree = tree

    def get_code(self, fullname: str) -> CodeType:
        """Return the code of the tree, whatever the file or a cache of it holds."""
        return compile(self._tree, self.path, "exec")


class _Finder(MetaPathFinder):
    """Finds that one module."""

    def __init__(self, name: str, path: Path, tree: ast.Module) -> None:
        self._name, self._path, self._tree = name, path, tree

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Return where the module is, nothing for any other."""
        if fullname != self._name:
            return None
        loader = _Instead(fullname, str(self._path), self._tree)
        return spec_from_file_location(fullname, self._path, loader=loader)


def load_instead(path: Path, root: Path, tree: ast.Module) -> None:
    """Load a module from a tree, which must not have happened yet; what it needs is loaded from its files."""
    name = ".".join(path.relative_to(root).with_suffix("").parts)
    if name in sys.modules:
        raise RuntimeError(f"{name} is loaded already")
    sys.meta_path.insert(0, _Finder(name, path, tree))
    import_module(name)
