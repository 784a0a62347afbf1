"""Reading a scenario from a file."""

from __future__ import annotations

from pathlib import Path

from optimizer.errors import Fault, ScenarioError
from optimizer.scenario import Scenario, load_scenario

__all__ = ["read_scenario"]

LARGEST_BYTES = 1_000_000
"""No scenario is as large as this; a drawing or an archive given by mistake is."""


def read_scenario(path: Path) -> Scenario:
    """Return the scenario in a file.

    Raises
    ------
    ScenarioError
        Where the file cannot be read, is not text, or says something wrong: with every fault found.
    """
    try:
        if path.is_dir():
            raise _unreadable(path, "is a folder", "name the TOML file in it")
        content = path.read_bytes() if path.stat().st_size <= LARGEST_BYTES else None
    except FileNotFoundError:
        raise _unreadable(path, "is not there", "check the name, or the folder you are in") from None
    except OSError as error:
        raise _unreadable(path, f"cannot be read ({error.strerror})", "") from None
    if content is None:
        raise _unreadable(path, f"is larger than {LARGEST_BYTES:,} bytes", "name a scenario in TOML")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _unreadable(path, f"is not text in UTF-8 (byte {error.start})", "save it again as UTF-8") from None
    return load_scenario(text, path.name)


def _unreadable(path: Path, what: str, advice: str) -> ScenarioError:
    return ScenarioError([Fault(str(path), f"the file {what}", advice=advice)])
