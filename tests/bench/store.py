"""Measured figures kept between runs in a folder that is not committed, so that parts can be measured one by one."""

from __future__ import annotations

import json
import platform
from collections.abc import Mapping
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

__all__ = ["FOLDER", "ROOT", "Store", "versions"]

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / ".bench"
LIBRARIES = ("numpy", "scipy", "ortools", "pyscipopt", "matplotlib")

Row = dict[str, Any]


class Store:
    """The rows of the parts, each with the state of the code it was measured on."""

    def __init__(self, folder: Path = FOLDER) -> None:
        self.folder = folder
        self.code = _state_of_code()

    def rows(self, part: str) -> dict[str, Row]:
        """Return what is known of a part, by the name of each row."""
        path = self.folder / f"{part}.json"
        if not path.is_file():
            return {}
        known: dict[str, Row] = json.loads(path.read_text(encoding="utf-8"))
        return known

    def keep(self, part: str, name: str, row: Mapping[str, Any]) -> None:
        """Add a row to a part, in the place of one of the same name."""
        self.folder.mkdir(parents=True, exist_ok=True)
        rows = {**self.rows(part), name: {**row, "code": self.code, "versions": versions()}}
        path = self.folder / f"{part}.json"
        fresh = path.with_suffix(".new")
        fresh.write_text(json.dumps(rows, indent=1), encoding="utf-8")
        fresh.replace(path)

    def fresh(self, part: str) -> set[str]:
        """Return the names of the rows that were measured on the code as it is now."""
        return {name for name, row in self.rows(part).items() if row["code"] == self.code}

    def one_series(self, parts: tuple[str, ...]) -> bool:
        """Tell whether all rows of the parts were measured on the code as it is now."""
        return all(row["code"] == self.code for part in parts for row in self.rows(part).values())


def versions() -> dict[str, str]:
    """Return the versions of Python and of the libraries there are."""
    found = {"Python": platform.python_version()}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            continue
    return found


def _state_of_code() -> str:
    """Return a mark of the search's sources."""
    mark = sha256()
    for path in sorted((ROOT / "optimizer").rglob("*.py")):
        mark.update(path.read_bytes())
    return mark.hexdigest()[:12]
