"""Digests of outputs as files: a line for each output, and the screens themselves, which people read."""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

from tests.golden.plain import normal_text
from tests.golden.producing import produced

__all__ = ["changed", "digest", "kept", "outputs", "renewed"]

DIGESTS = Path(__file__).parent / "digests"
BESIDE = ("scenarios", "measured.toml")
"""What lies in a machine's folder that no command wrote."""


def outputs(machine: Path, folder: Path, calls: tuple[str, ...] = (), *, raw: bool = False) -> dict[str, bytes]:
    """Return all that the calls print and write, by name, normalised unless raw."""
    for _ in produced(machine, folder, calls, raw=raw):
        pass
    found = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder)
        if path.is_file() and name.parts[0] not in BESIDE and name.parts[0] != machine.name:
            found[name.as_posix()] = path.read_bytes() if raw else normal_text(path).encode("utf-8", "surrogateescape")
    return found


def digest(content: bytes) -> str:
    """Return enough of a digest to tell outputs apart."""
    return sha256(content).hexdigest()[:16]


def kept(machine: Path) -> dict[str, str]:
    """Return the digests that are kept of a machine, by name."""
    path = DIGESTS / f"{machine.stem}.txt"
    lines = path.read_text("utf-8").splitlines() if path.is_file() else []
    return {name: value for value, name in (line.split(" ", 1) for line in lines)}


def renewed(machine: Path, found: dict[str, bytes]) -> None:
    """Keep the digests of outputs in place of those that were kept under the same names."""
    DIGESTS.mkdir(exist_ok=True)
    lines = [f"{digest(content)} {name}\n" for name, content in sorted(found.items())]
    (DIGESTS / f"{machine.stem}.txt").write_text("".join(lines), "utf-8")


def changed(found: dict[str, bytes], before: dict[str, str], *, whole: bool = True) -> Iterator[str]:
    """Yield what differs; outputs that are gone count where all calls were made."""
    for name, content in found.items():
        if name not in before:
            yield f"{name}: new"
        elif before[name] != digest(content):
            yield f"{name}: changed"
    if whole:
        yield from (f"{name}: gone" for name in before.keys() - found.keys())
