"""What depends on floating point, under three kernels of OpenBLAS: ``python -m tests.kernels``.

OpenBLAS computes by a kernel written for the kind of processor, numpy by the instructions that it finds, so sums are
rounded differently from machine to machine. Here each kernel is asked for by name, in a process of its own, which looks
at what it runs by before the first test: this module is its plugin of pytest.
"""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path
from signal import SIGILL
from tempfile import TemporaryFile
from time import perf_counter
from typing import Any

import numpy as np
import pytest
from _pytest.terminal import TerminalReporter
from scipy.linalg import solve
from threadpoolctl import threadpool_info

__all__ = ["BEYOND", "NOT_RUN", "SAMPLE", "SETTINGS", "under_each_kernel"]

ROOT = Path(__file__).resolve().parent.parent
SAMPLE = (
    "tests/validation",
    "tests/unit/refine",
    "tests/golden/test_golden.py",
    "tests/docs/test_fresh.py",
    "tests/docs/test_shipped.py",
    "tests/search/test_against_milp.py",
    "tests/search/test_middle_against_brute_force.py::test_a_shared_cone_is_searched_as_a_general_solver_finds",
)
"""Tests that depend on floating point."""
FOUND: list[str] = np.show_config(mode="dicts")["SIMD Extensions"].get("found", [])
"""The instructions that numpy uses here beyond those it always needs, by the names it knows them by."""
BEYOND = " ".join([*os.environ.get("NPY_DISABLE_CPU_FEATURES", "").replace(",", " ").split(), *FOUND])
"""All that numpy can do without, of which some may be left out already."""
SETTINGS: tuple[dict[str, str], ...] = (
    {"OPENBLAS_CORETYPE": "Haswell", "OPENBLAS_NUM_THREADS": "2"},
    {"OPENBLAS_CORETYPE": "Prescott", "OPENBLAS_NUM_THREADS": "1", "NPY_DISABLE_CPU_FEATURES": BEYOND},
    {"OPENBLAS_CORETYPE": "SkylakeX", "OPENBLAS_NUM_THREADS": "1"},
)
"""What OpenBLAS and numpy are told in each process."""
ALSO_CALLED = {"Prescott": "Katmai"}
"""A library built without kernels for older processors has one kernel for both names, and gives this one."""
CANNOT = 77
"""The exit code of a process that runs by another kernel than was asked for."""
NOT_RUN = "not run under {}: this processor, or the BLAS of numpy and scipy, does not have it"


def under_each_kernel(environment: Mapping[str, str]) -> tuple[list[str], list[str]]:
    """Run the sample under all kernels at once; return those under which it failed, and those that cannot run here."""
    start, codes = perf_counter(), {}
    command = ["-m", "pytest", "-p", "tests.kernels", "-p", "no:xdist", "-p", "no:cacheprovider", *SAMPLE]
    with ExitStack() as stack:
        begun = {}
        for own in SETTINGS:
            kernel = own["OPENBLAS_CORETYPE"]
            said = stack.enter_context(TemporaryFile("w+"))
            words = " ".join(f"{name}={shlex.quote(value)}" for name, value in own.items())
            print(f"== under {kernel}: {words} python {shlex.join(command)}", flush=True)
            call = [sys.executable, *command]
            begun[kernel] = subprocess.Popen(call, cwd=ROOT, env={**environment, **own}, stdout=said, stderr=said), said
        for kernel, (process, said) in begun.items():
            codes[kernel] = process.wait()
            said.seek(0)
            print(f"== under {kernel}:\n{said.read()}", end="", flush=True)
    print(f"== under {', '.join(codes)}: {perf_counter() - start:.0f} s", flush=True)
    not_run = [kernel for kernel, code in codes.items() if code in (CANNOT, -SIGILL)]
    return [kernel for kernel, code in codes.items() if code and kernel not in not_run], not_run


def pytest_sessionstart() -> None:
    """Stop before the first test where what is loaded does not compute as the environment asks."""
    solve(np.eye(200) + np.ones((200, 200)), np.ones(200))  # ends here by SIGILL where the processor lacks instructions
    asked = os.environ["OPENBLAS_CORETYPE"]
    running = {library["architecture"] for library in _libraries()}
    if not running or running - {asked, ALSO_CALLED.get(asked)}:
        pytest.exit(f"asked for {asked}, runs by {', '.join(sorted(running)) or 'no OpenBLAS'}", CANNOT)
    if "NPY_DISABLE_CPU_FEATURES" in os.environ and FOUND:
        pytest.exit(f"numpy still uses {', '.join(FOUND)}", int(pytest.ExitCode.USAGE_ERROR))


def pytest_terminal_summary(terminalreporter: TerminalReporter) -> None:
    """Say by what the tests ran, as it was found."""
    words = "OpenBLAS {version} by {architecture} on {num_threads} thread(s)"
    libraries = ", ".join(sorted(words.format(**library) for library in _libraries()))
    beyond = " ".join(FOUND) or "nothing beyond what it always needs"
    terminalreporter.write_line(f"{libraries}; numpy {np.__version__} with {beyond}")


def _libraries() -> list[dict[str, Any]]:
    return [library for library in threadpool_info() if library["internal_api"] == "openblas"]


def main() -> int:
    """Run the sample under every kernel, say which cannot run, and return under how many it failed."""
    failed, not_run = under_each_kernel(os.environ)
    for kernel in not_run:
        print(f"kernels: {NOT_RUN.format(kernel)}")
    print(f"kernels: failed under {', '.join(failed)}" if failed else "kernels: all green")
    return len(failed)


if __name__ == "__main__":
    sys.exit(main())
