"""A sample of the tests by other Pythons and by the lowest libraries: ``python -m tests.versions --help``."""

from __future__ import annotations

import argparse
import subprocess
import sys
import tomllib
from pathlib import Path

from tests.kernels import SAMPLE

ROOT = Path(__file__).resolve().parent.parent
PLACE = ROOT / ".versions"
"""Where the environments are kept; git passes over it."""
TEXT = (
    *("tests/docs", "tests/cli/test_commands.py", "tests/unit/scenario", "tests/unit/render"),
    *("tests/unit/documents", "tests/unit/cuts", "tests/unit/test_quantities.py", "optimizer"),
)
"""What reads, words and writes, which another Python or another library could change."""


def main() -> int:
    """Make an environment for every Python, run the tests by it, and return by how many they failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.versions", description=str(__doc__).splitlines()[0])
    parser.add_argument(
        "pythons", nargs="*", default=[sys.executable], help="what to run by; this Python if none is named"
    )
    parser.add_argument("--lowest", action="store_true", help="with the lowest libraries that pyproject.toml allows")
    parser.add_argument("--gate", action="store_true", help="run the whole gate instead of a sample")
    call = parser.parse_args()
    failed = []
    for python in call.pythons:
        own = _environment(python, lowest=call.lowest)
        command = ["tests.gate"] if call.gate else ["pytest", "-n", "2", "--dist", "loadfile", "-rs", *SAMPLE, *TEXT]
        print(f"== {own.parent.parent.name}: python -m {' '.join(command)}", flush=True)
        if subprocess.run([own, "-m", *command], cwd=ROOT, check=False).returncode:
            failed.append(own.parent.parent.name)
    print(f"versions: failed by {', '.join(failed)}" if failed else "versions: all green", flush=True)
    return len(failed)


def lowest_versions() -> list[str]:
    """Return the lowest versions allowed of what conewright and its tests need, as pip takes them."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    return [need.replace(">=", "==") for need in [*project["dependencies"], *project["optional-dependencies"]["dev"]]]


def _environment(python: str, *, lowest: bool) -> Path:
    """Return the Python of a new environment with everything in it, and print what that is."""
    asked = "import platform; print(platform.python_version())"
    version = subprocess.run([python, "-c", asked], capture_output=True, text=True, check=True).stdout.strip()
    place = PLACE / (f"{version}-lowest" if lowest else version)
    subprocess.run([python, "-m", "venv", "--clear", place], check=True)
    bounds = place / "bounds.txt"
    bounds.write_text("\n".join(lowest_versions()) if lowest else "", "utf-8")
    own = place / "bin" / "python"
    subprocess.run([own, "-m", "pip", "install", "-q", "-e", f"{ROOT}[dev]", "-c", bounds], check=True)
    subprocess.run([own, "-m", "pip", "freeze", "--exclude-editable"], check=True)
    return own


if __name__ == "__main__":
    sys.exit(main())
