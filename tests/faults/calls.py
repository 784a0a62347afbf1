"""The command line as a process of its own, with what it found and what it left."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.machines import GRINDER
from tests.processes import Ended, forked

__all__ = ["CALL", "ROOT", "Ended", "call", "environment", "leftovers", "shop", "snapshot"]

ROOT = Path(__file__).parents[2]
CALL = (sys.executable, "-c", "from cli.main import main; main()")


def environment(**extra: str) -> dict[str, str]:
    """Return the environment with the project on the path."""
    return {**os.environ, "PYTHONPATH": str(ROOT), **extra}


def shop(folder: Path) -> Path:
    """Return a folder with a machine's file in it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "grinder.toml").write_text(GRINDER, encoding="utf-8")
    return folder


def call(folder: Path, *arguments: str, before: str = "", **extra: str) -> Ended:
    """Call the command line from a folder; `before` is Python that runs first, `extra` more of the environment."""
    if not extra:
        return forked(folder, *arguments, before=before)
    program = [CALL[0], "-c", f"{before}\n{CALL[2]}", *arguments]
    ran = subprocess.run(
        program,
        cwd=folder,
        env=environment(**extra),
        capture_output=True,
        encoding="utf-8",
        errors="surrogateescape",
        check=False,
    )
    return Ended(ran.returncode, ran.stdout, ran.stderr)


def snapshot(folder: Path) -> dict[str, bytes | None]:
    """Return everything below a folder, files with their bytes."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }


def leftovers(folder: Path) -> list[str]:
    """Return the folders that calls write into before they give them a name."""
    return sorted(path.name for path in folder.glob(".*") if ".new-" in path.name or ".old-" in path.name)
