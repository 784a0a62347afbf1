"""Writing a folder of results whole or not at all, in a place that stands beside it meanwhile."""

from __future__ import annotations

import ctypes
import errno
import os
import re
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from cli.streams import visible
from optimizer.errors import CannotWriteError

__all__ = ["as_typed", "clear_leftovers", "exchanged", "longest_name", "refuse_target", "staging", "write_folder"]

_HERE = -100
"""AT_FDCWD: paths are those of this process."""
_EXCHANGE = 2
"""RENAME_EXCHANGE of renameat2 and RENAME_SWAP of renamex_np, both 2 (from memory of their manual pages)."""
_CANNOT = (errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM)
"""What a system, or one of its file systems, says that has no such step."""


def exchanged(one: Path, other: Path) -> bool:
    """Exchange the names of two folders at once, or tell that the system cannot.

    Raises
    ------
    OSError
        The system can, and refused for another reason.
    """
    call = _call(os.fsencode(one), os.fsencode(other))
    if call is None or call == 0:
        return call == 0
    number = ctypes.get_errno()
    if number in _CANNOT:
        return False
    raise OSError(number, os.strerror(number), str(other))


def _call(one: bytes, other: bytes) -> int | None:
    """Return what the system's function said, nothing where it has none."""
    try:
        library = ctypes.CDLL(None, use_errno=True)
        if sys.platform == "linux":
            return int(library.renameat2(_HERE, one, _HERE, other, _EXCHANGE))
        if sys.platform == "darwin":
            return int(library.renamex_np(one, other, _EXCHANGE))
    except (AttributeError, OSError, TypeError):
        return None
    return None


try:
    import fcntl
except ImportError:
    fcntl = None  # type: ignore[assignment] # Windows has no such module; asked for where it is used


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


def refuse_target(target: Path, is_result: Callable[[str], bool], *, force: bool) -> None:
    """Raise if the folder could not be written, before the long work begins.

    What a call that was killed left beside the folder is cleared away first, and an earlier result that it had moved
    is put back.

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
    with _told(target):
        _refuse(target, _place(target), is_result, force=force)


def write_folder(
    target: Path, files: Mapping[str, bytes], is_result: Callable[[str], bool] | None = None, *, force: bool
) -> tuple[Path, ...]:
    """Write all files into a new folder beside the target, then give it the target's name.

    Whatever stops the work, an interrupt included, the target is afterwards what it was or the whole new result. Of
    two calls that write the same folder one is refused, or the later one replaces the earlier one's result whole.
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
    with _told(target):
        place = _place(target)
        with staging(place, "new") as fresh:
            for name, content in sorted(files.items()):
                _write(fresh, name, content)
            _settle(fresh)
            _swap(fresh, place, force=force)
            _settle(place.parent)
    return tuple(place / name for name in sorted(files))


def as_typed(path: Path) -> str:
    """Return a path as a person in this folder would type it."""
    try:
        here = Path.cwd()
    except OSError:  # the folder that the call was made from is gone
        return visible(str(path))
    return visible(str(path.relative_to(here) if path.is_relative_to(here) else path))


@contextmanager
def _told(target: Path) -> Iterator[None]:
    """Say what the system refused in the words of this command."""
    try:
        yield
    except OSError as error:
        raise CannotWriteError(f"cannot write {as_typed(target)}: {error.strerror or error}{_advice(error)}") from error


def _advice(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return "; make room, or choose a folder on another disk with --out"
    if error.errno == errno.ENAMETOOLONG:
        return "; choose a shorter name with --out"
    return "; choose another folder with --out"


def _place(target: Path) -> Path:
    """Return the target with a name of its own, which `.` and `..` do not have."""
    return target.resolve() if target.name in ("", "..") else target.absolute()


def _refuse(target: Path, place: Path, is_result: Callable[[str], bool], *, force: bool) -> None:
    shown, parent = as_typed(target), place.parent
    if not parent.is_dir():
        what = f"there is no folder {visible(str(parent))}; make it, or choose another with --out"
        raise CannotWriteError(f"cannot write {shown}: {what}")
    if not os.access(parent, os.W_OK | os.X_OK):
        what = f"no permission to write in {visible(str(parent))}; choose another with --out"
        raise CannotWriteError(f"cannot write {shown}: {what}")
    if place.name:
        longest_name(place).exists()  # raises where it is too long a name
    clear_leftovers(place, is_result)
    if place.is_symlink() or (place.exists() and not place.is_dir()):
        raise CannotWriteError(f"cannot write {shown}: it is there and is not a folder; choose another with --out")
    if not place.exists():
        return
    if not force:
        raise _there_already(target)
    others = sorted(path.name for path in place.iterdir() if not is_result(path.name) or not path.is_file())
    if others:
        first = visible(others[0])
        raise CannotWriteError(
            f"cannot replace {shown}: it holds {first}, which is not a result; choose another folder with --out"
        )


def _there_already(target: Path) -> CannotWriteError:
    return CannotWriteError(
        f"cannot write {as_typed(target)}: it is there already; replace it with --force, or choose another with --out"
    )


def _write(folder: Path, name: str, content: bytes) -> None:
    """Write a file to the disk itself, so that a result is never taken for whole while parts are still on their way."""
    assert Path(name).name == name, "a result's files stand in its folder"
    path = folder / name
    path.write_bytes(content)
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _settle(folder: Path) -> None:
    """Have the system write down which names a folder holds, where it can."""
    with suppress(OSError):
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def _swap(fresh: Path, target: Path, *, force: bool) -> None:
    """Put the new folder in the target's place, in one step where the system can."""
    with suppress(FileNotFoundError):
        if target.exists() and force and exchanged(fresh, target):
            return
    if target.exists():
        if not force:
            raise _there_already(target)
        _swap_in_two(fresh, target)
        return
    try:
        fresh.rename(target)
    except FileExistsError:
        raise _there_already(target) from None
    except OSError as error:
        if not target.is_dir():
            raise
        # another call wrote it meanwhile
        raise _there_already(target) from error


def _swap_in_two(fresh: Path, target: Path) -> None:
    """Put an earlier result aside, the new one in its place; put the earlier one back if that fails."""
    with staging(target, "old") as shelf:
        earlier = shelf / target.name
        try:
            target.rename(earlier)
            fresh.rename(target)
        finally:
            if earlier.exists() and not target.exists():
                with suppress(OSError):
                    earlier.rename(target)
