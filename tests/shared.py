"""What one worker of a run has made, kept for the other worker in the run's own folder for passing files."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import TypeVar

__all__ = ["keep_in", "shared"]

Made = TypeVar("Made")
_places: list[Path] = []


def keep_in(folder: Path) -> None:
    """Say where the workers of this run keep what they share; until then, and without workers, nothing is kept."""
    _places[:] = [folder]


def shared(key: str, make: Callable[[], Made]) -> Made:
    """Return what is made under a key, as whichever worker came first made it."""
    if not _places:
        return make()
    file = _places[0] / f"shared-{sha256(key.encode('utf-8', 'surrogatepass')).hexdigest()}"
    if file.is_file():
        kept: Made = pickle.loads(file.read_bytes())
        return kept
    made = make()
    fresh = file.with_suffix(f".{os.getpid()}")
    fresh.write_bytes(pickle.dumps(made))
    fresh.replace(file)
    return made
