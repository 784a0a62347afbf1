"""Reading a scenario from a file."""

from __future__ import annotations

from pathlib import Path

from cli.streams import visible
from optimizer.errors import Fault, ScenarioError
from optimizer.scenario import Scenario, load_scenario

__all__ = ["bytes_of", "read_bytes", "read_scenario", "read_text", "unreadable"]

LARGEST_BYTES = 1_000_000
"""No scenario is as large as this; a drawing or an archive given by mistake is."""


def read_scenario(path: Path) -> Scenario:
    """Return the scenario in a file.

    Raises
    ------
    ScenarioError
        Where the file cannot be read, is not text, or says something wrong: with every fault found.
    """
    text = read_text(path, LARGEST_BYTES, "name a scenario in TOML")
    return load_scenario(text, visible(path.name))


def read_text(path: Path, most_bytes: int, otherwise: str) -> str:
    """Return what a text file holds, a byte order mark left out; no more of it is read than may be.

    Raises
    ------
    ScenarioError
        It is not there, cannot be read, is too large or is no text: with what to try, where too large `otherwise`.
    """
    try:
        return read_bytes(path, most_bytes, "the TOML file", otherwise).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise unreadable(path, f"is not text in UTF-8 (byte {error.start})", "save it again as UTF-8") from None


def read_bytes(path: Path, most_bytes: int, wanted: str, otherwise: str) -> bytes:
    """Return what a file holds; no more of it is read than may be, as a device that has no end tells no size.

    Raises
    ------
    ScenarioError
        It is a folder, which may hold what is `wanted`, is not there, cannot be read, or is too large: with what to
        try, where too large `otherwise`.
    """
    try:
        if path.is_dir():
            raise unreadable(path, "is a folder", f"name {wanted} in it")
        content = bytes_of(path, most_bytes)
    except FileNotFoundError:
        raise unreadable(path, "is not there", "check the name, or the folder you are in") from None
    except OSError as error:
        what = f"cannot be read ({error.strerror or error})"
        raise unreadable(path, what, "check the name and who may read it") from None
    if len(content) > most_bytes:
        raise unreadable(path, f"is larger than {most_bytes:,} bytes", otherwise)
    return content


def bytes_of(path: Path, most_bytes: int) -> bytes:
    """Return at most one byte more than may be.

    Raises
    ------
    OSError
        It cannot be read.
    """
    with path.open("rb") as file:
        return file.read(most_bytes + 1)


def unreadable(path: Path, what: str, advice: str) -> ScenarioError:
    """Return the error of a file that cannot be used."""
    return ScenarioError([Fault(visible(str(path)), f"the file {what}", advice=advice)])
