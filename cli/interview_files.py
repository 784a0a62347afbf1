"""Files that an interview writes: new ones only, whole or not at all."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from optimizer.errors import CannotWriteError

__all__ = ["file_stem", "free_path", "hindered", "write_new"]

LONGEST_STEM = 40
MOST_NAMES = 1000


def file_stem(title: str) -> str:
    """Return a plain name for the file of a machine, without its suffix.

    Examples
    --------
    >>> file_stem("Bench drill, 4 speeds"), file_stem("Drückbank / Süd"), file_stem("鑽床"), file_stem("../etc")
    ('bench-drill-4-speeds', 'druckbank-sud', 'machine', 'etc')
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:LONGEST_STEM].strip("-") or "machine"


def free_path(path: Path) -> Path:
    """Return the path, or the first numbered one beside it that is not there yet."""
    numbered = (path.with_name(f"{path.stem}-{number}{path.suffix}") for number in range(2, MOST_NAMES))
    return next((one for one in (path, *numbered) if not os.path.lexists(one)), path)


def hindered(path: Path) -> str:
    """Return what keeps a new file from being written, with what to try; empty where nothing does."""
    if os.path.lexists(path):
        return f"{path} is there already, and nothing is overwritten; try {free_path(path)}"
    parent = path.absolute().parent
    if not parent.is_dir():
        return f"there is no folder {parent}; make it, or choose another"
    if not os.access(parent, os.W_OK | os.X_OK):
        return f"no permission to write in {parent}; choose another folder"
    return ""


def write_new(files: Mapping[Path, str]) -> None:
    """Write files that are not there yet, each of them whole, and all of them or none.

    Every text is written under another name in the same folder, then linked to its own, which fails where anything
    has that name by now.

    Raises
    ------
    CannotWriteError
        With the reason; nothing is left of what was begun.
    """
    done: list[Path] = []
    drafts: list[Path] = []
    whole = False
    try:
        for path, text in files.items():
            draft = path.with_name(f".{path.name}.new-{os.getpid()}")
            drafts.append(draft)
            draft.write_bytes(text.encode("utf-8"))
        for draft, path in zip(drafts, files, strict=True):
            _settle(draft, path)
            done.append(path)
        whole = True
    except FileExistsError as error:
        raise CannotWriteError(f"cannot write {error.filename2 or error.filename}: it is there already") from error
    except OSError as error:
        raise CannotWriteError(f"cannot write {error.filename}: {error.strerror or error}") from error
    finally:
        for path in drafts + ([] if whole else done):
            with suppress(OSError):
                path.unlink()


def _settle(draft: Path, path: Path) -> None:
    """Give a written draft its name, if nothing has it."""
    try:
        os.link(draft, path)
    except FileExistsError:
        raise
    except OSError:
        # a file system without links: the name is taken first, so that nothing of another can be lost
        with path.open("xb"):
            pass
        draft.replace(path)
