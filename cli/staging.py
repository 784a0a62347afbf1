"""Folders that stand beside a result while it is written, and what is left of them by a call that was killed.

Their names are `.NAME.new-…` and `.NAME.old-…`. Whoever makes one holds a lock on it, which the system lets go of
however its holder ends, so that the next call knows which are left over.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

try:
    import fcntl
except ImportError:
    fcntl = None  # type: ignore[assignment] # Windows has no such module; asked for where it is used

__all__ = ["clear_leftovers", "longest_name", "staging"]


def longest_name(target: Path) -> Path:
    """Return a path as long as any beside the target may be."""
    return target.with_name(f".{target.name}.new-{'9' * 10}-{'9' * 3}")


@contextmanager
def staging(target: Path, word: str) -> Iterator[Path]:
    """Make an empty folder beside the target, so that giving it the target's name is one step; remove what is left.

    Raises
    ------
    OSError
        The folder cannot be made.
    """
    path, held = _made(target, word)
    try:
        yield path
    finally:
        shutil.rmtree(path, ignore_errors=True)
        if held is not None:
            os.close(held)


def clear_leftovers(target: Path, is_result: Callable[[str], bool]) -> None:
    """Remove what calls that were killed left beside the target, and put an earlier result back where none stands.

    Folders that a call at work holds, and such as have any file in them that is no result, are left alone.
    """
    name = re.compile(rf"\.{re.escape(target.name)}\.(new|old)-\d+-\d+")
    with suppress(OSError):
        for path in sorted(target.parent.iterdir()):
            if name.fullmatch(path.name) and path.is_dir() and not path.is_symlink():
                _clear(path, target, is_result)


def _clear(path: Path, target: Path, is_result: Callable[[str], bool]) -> None:
    with suppress(OSError):  # held by a call at work, or another call was quicker, or it cannot be read: it stays
        held = _locked(path)
        if held is None:
            return
        try:
            earlier = path / target.name
            if earlier.is_dir() and not target.exists():
                earlier.rename(target)
            places = [path, earlier] if earlier.is_dir() else [path]
            files = [file for place in places for file in place.iterdir() if file != earlier]
            if all(file.is_file() and not file.is_symlink() and is_result(file.name) for file in files):
                shutil.rmtree(path, ignore_errors=True)
        finally:
            os.close(held)


def _made(target: Path, word: str) -> tuple[Path, int | None]:
    number = 0
    while True:
        path = target.with_name(f".{target.name}.{word}-{os.getpid()}-{number}")
        number += 1
        with suppress(FileExistsError):
            path.mkdir()
            # between the two steps another call may take it for left over, and hold or remove it
            with suppress(BlockingIOError, FileNotFoundError):
                held = _locked(path)
                if path.is_dir():
                    return path, held
                if held is not None:
                    os.close(held)


def _locked(path: Path) -> int | None:
    """Return the open folder with a lock on it, nothing where the system, or this file system, has no locks.

    Raises
    ------
    BlockingIOError
        Another call holds it.
    FileNotFoundError
        It is gone.
    """
    if fcntl is None:
        return None
    opened = os.open(path, os.O_RDONLY)
    try:
        fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        os.close(opened)
        if isinstance(error, BlockingIOError):
            raise
        return None
    return opened
