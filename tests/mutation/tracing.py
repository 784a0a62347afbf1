"""Which lines each test runs, and how long it takes."""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterable
from functools import _lru_cache_wrapper
from types import CodeType, FrameType
from typing import Any

__all__ = ["Tracer", "caches_of"]


class Tracer:
    """Notes the lines of some files that run between start and stop."""

    def __init__(self, files: Iterable[str]) -> None:
        self._files = frozenset(files)
        self._left: dict[CodeType, set[int]] = {}
        """Lines of every code met that have not run yet; none for code of other files."""
        self._all: dict[CodeType, frozenset[int]] = {}

    def start(self) -> None:
        """Begin with no line noted."""
        self._left = {}
        sys.settrace(self._call)

    def stop(self) -> dict[str, set[int]]:
        """Return the lines that ran, by file."""
        sys.settrace(None)
        ran: dict[str, set[int]] = {}
        for code, left in self._left.items():
            if code.co_filename in self._files:
                ran.setdefault(code.co_filename, set()).update(self._lines(code) - left)
        return ran

    def _lines(self, code: CodeType) -> frozenset[int]:
        if code not in self._all:
            ours = code.co_filename in self._files
            self._all[code] = frozenset(line for *_, line in code.co_lines() if line) if ours else frozenset()
        return self._all[code]

    def _call(self, frame: FrameType, event: str, argument: Any) -> Any:
        code = frame.f_code
        if code not in self._left:
            self._left[code] = set(self._lines(code))
        left = self._left[code]
        if not left:
            return None
        left.discard(frame.f_lineno)

        def line(inner: FrameType, happening: str, told: Any) -> Any:
            left.discard(inner.f_lineno)
            return line

        return line


def caches_of(files: Iterable[str]) -> list[_lru_cache_wrapper[Any]]:
    """Return the cached functions of some files and of the tests, so that they can be made to forget.

    What is read from the catalogue stays: it takes long, and nothing of it is broken.
    """
    names = frozenset(files)

    def file_of(thing: Any) -> str:
        code = getattr(thing.__wrapped__, "__code__", None)
        return code.co_filename if code else ""

    return [
        thing
        for thing in gc.get_objects()
        if isinstance(thing, _lru_cache_wrapper)
        and (str(thing.__module__).startswith("tests.") or file_of(thing) in names)
    ]
