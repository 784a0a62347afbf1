"""The whole gate in one command: ``python -m tests.gate``."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from time import perf_counter

ROOT = Path(__file__).resolve().parent.parent
STEPS = {
    "lint": ["ruff", "check", "."],
    "format": ["ruff", "format", "--check", "."],
    "import contract": ["lint-imports", "--no-cache"],
    "types": ["mypy"],
    "tests, warnings as errors, docs fresh": ["pytest", "-n", "2", "--dist", "loadfile", "-rs"],
}


def main() -> int:
    """Run every step, all of them even when one fails, and return how many failed."""
    failed = []
    for name, command in STEPS.items():
        print(f"== {name}: {' '.join(command)}", flush=True)
        start = perf_counter()
        program = Path(sys.executable).parent / command[0]
        if subprocess.run([str(program), *command[1:]], cwd=ROOT, check=False).returncode:
            failed.append(name)
        print(f"== {name}: {perf_counter() - start:.0f} s", flush=True)
    print(f"gate: failed: {', '.join(failed)}" if failed else "gate: all green", flush=True)
    return len(failed)


if __name__ == "__main__":
    sys.exit(main())
