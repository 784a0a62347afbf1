"""Giving a new folder the place of an old one in a single step of the file system."""

from __future__ import annotations

import ctypes
import errno
import os
import sys
from pathlib import Path

__all__ = ["exchanged"]

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
