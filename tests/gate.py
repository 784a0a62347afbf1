"""The whole gate in one command: ``python -m tests.gate``."""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryFile
from time import perf_counter

from tests.kernels import NOT_RUN, under_each_kernel

ROOT = Path(__file__).resolve().parent.parent
BESIDE = {"types": ["mypy"]}
"""Steps that run beside the others; what they say is shown at the end."""
TESTS = "tests, warnings as errors, docs fresh"
STEPS = {
    "lint": ["ruff", "check", "."],
    "format": ["ruff", "format", "--check", "."],
    "import contract": ["lint-imports", "--no-cache"],
    # long files first (tests/conftest.py); asserts as they are written, as putting words into all of them takes long
    TESTS: ["pytest", "-n", "2", "--dist", "loadfile", "--no-loadscope-reorder", "--assert=plain", "-rs"],
}
TOLD = {TESTS: ["pytest", "-n", "2", "--last-failed", "--last-failed-no-failures", "none"]}
"""What says more of a step that failed: the asserts of the tests that did, with all their figures."""
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
"""What is translated once is kept, as a hundred processes load the same."""


def main() -> int:
    """Run every step, all of them even when one fails, and return how many failed."""
    failed = []
    with ExitStack() as stack:
        said = {name: stack.enter_context(TemporaryFile("w+")) for name in BESIDE}
        begun = {name: subprocess.Popen(_call(BESIDE[name]), cwd=ROOT, stdout=said[name]) for name in BESIDE}
        for name, command in STEPS.items():
            print(f"== {name}: {' '.join(command)}", flush=True)
            start = perf_counter()
            if subprocess.run(_call(command), cwd=ROOT, env=ENVIRONMENT, check=False).returncode:
                failed.append(name)
                if name in TOLD:
                    subprocess.run(_call(TOLD[name]), cwd=ROOT, env=ENVIRONMENT, check=False)
            print(f"== {name}: {perf_counter() - start:.0f} s", flush=True)
        broken, not_run = under_each_kernel(ENVIRONMENT)
        failed += [f"under {kernel}" for kernel in broken]
        for name, process in begun.items():
            if process.wait():
                failed.append(name)
            said[name].seek(0)
            print(f"== {name}: {' '.join(BESIDE[name])}\n{said[name].read()}", end="", flush=True)
    for kernel in not_run:
        print(f"gate: {NOT_RUN.format(kernel)}", flush=True)
    print(f"gate: failed: {', '.join(failed)}" if failed else "gate: all green", flush=True)
    return len(failed)


def _call(command: list[str]) -> list[str]:
    """Return a command of the environment that this runs in."""
    return [str(Path(sys.executable).parent / command[0]), *command[1:]]


if __name__ == "__main__":
    sys.exit(main())
