"""Writing a folder of results whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path

from optimizer.errors import CannotWriteError

__all__ = ["as_typed", "refuse_target", "write_folder"]


def refuse_target(target: Path, is_result: Callable[[str], bool], *, force: bool) -> None:
    """Raise if the folder could not be written, before the long work begins.

    Parameters
    ----------
    target
        The folder to write.
    is_result
        Tells of a file's name whether it may be part of an earlier result.
    force
        Whether an earlier result may be replaced; a folder with any other file in it is never replaced.

    Raises
    ------
    CannotWriteError
        With what stands in the way, and what to do.
    """
    parent = target.absolute().parent
    if not parent.is_dir():
        raise CannotWriteError(
            f"cannot write {target}: there is no folder {parent}; make it, or choose another with --out"
        )
    if not os.access(parent, os.W_OK | os.X_OK):
        raise CannotWriteError(f"cannot write {target}: no permission to write in {parent}; choose another with --out")
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise CannotWriteError(f"cannot write {target}: it is there and is not a folder; choose another with --out")
    if not target.exists():
        return
    if not force:
        raise CannotWriteError(
            f"cannot write {target}: it is there already; replace it with --force, or choose another with --out"
        )
    others = sorted(path.name for path in target.iterdir() if not is_result(path.name))
    if others:
        raise CannotWriteError(
            f"cannot replace {target}: it holds {others[0]}, which is not a result; choose another folder with --out"
        )


def write_folder(
    target: Path, files: Mapping[str, bytes], is_result: Callable[[str], bool] | None = None, *, force: bool
) -> tuple[Path, ...]:
    """Write all files into a new folder beside the target, then give it the target's name.

    Whatever stops the work, an interrupt included, the target is afterwards what it was or the whole new result.
    `is_result` tells which files an earlier result may have; only those of the new one where it is left out.

    Returns
    -------
    tuple
        The files written, in order of name.

    Raises
    ------
    CannotWriteError
        With the reason the system gave; nothing half-written is left.
    """
    refuse_target(target, is_result or files.__contains__, force=force)
    target = target.absolute()
    fresh: Path | None = None
    try:
        fresh = _new_sibling(target, "new")
        for name, content in sorted(files.items()):
            (fresh / name).write_bytes(content)
        _swap(fresh, target)
    except OSError as error:
        raise CannotWriteError(f"cannot write {target}: {error.strerror or error}") from error
    finally:
        if fresh is not None:
            shutil.rmtree(fresh, ignore_errors=True)
    return tuple(target / name for name in sorted(files))


def as_typed(path: Path) -> str:
    """Return a path as a person in this folder would type it."""
    here = Path.cwd()
    return str(path.relative_to(here) if path.is_relative_to(here) else path)


def _swap(fresh: Path, target: Path) -> None:
    """Put the new folder in the target's place; an earlier one is put back if that fails."""
    if not target.exists():
        fresh.rename(target)
        return
    shelf = _new_sibling(target, "old")
    earlier = shelf / target.name
    try:
        target.rename(earlier)
        fresh.rename(target)
    finally:
        if earlier.exists() and not target.exists():
            with suppress(OSError):
                earlier.rename(target)
        if target.exists():
            shutil.rmtree(shelf, ignore_errors=True)


def _new_sibling(target: Path, word: str) -> Path:
    """Make an empty folder beside the target, so that giving it the target's name is one step of the file system."""
    number = 0
    while True:
        path = target.with_name(f".{target.name}.{word}-{os.getpid()}-{number}")
        with suppress(FileExistsError):
            path.mkdir()
            return path
        number += 1
