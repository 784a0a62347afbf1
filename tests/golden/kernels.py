"""``python -m tests.golden.kernels``: what every command prints and writes, byte by byte under several kernels.

python -m tests.golden.kernels                              # everything; the better part of an hour
python -m tests.golden.kernels grindstone --calls design    # some machines, some calls
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.golden.producing import CALLS
from tests.kernels import BEYOND
from tests.kernels import SETTINGS as ASKED

__all__ = ["SETTINGS", "differing"]

ROOT = Path(__file__).parents[2]
SETTINGS = (
    *ASKED,
    {"OPENBLAS_CORETYPE": "Zen", "OPENBLAS_NUM_THREADS": "2", "NPY_DISABLE_CPU_FEATURES": BEYOND},
    {"OPENBLAS_NUM_THREADS": "2"},
)
"""What is told to OpenBLAS and numpy; what comes of the others is held against what comes of the first."""


def differing(arguments: list[str], settings: tuple[dict[str, str], ...] = SETTINGS) -> list[str]:
    """Return what differs from the outputs under the first settings, as `python -m tests.golden` says it."""
    own = {name: value for name, value in os.environ.items() if name not in {key for each in settings for key in each}}
    said = []
    with TemporaryDirectory() as place:
        for number, told in enumerate(settings):
            words = ["-m", "tests.golden", *arguments, "--raw", "--jobs", "1", "--out", f"{place}/{number}"]
            words += ["--against", f"{place}/0"] if number else []
            ended = subprocess.run(
                [sys.executable, *words], cwd=ROOT, env={**own, **told}, capture_output=True, text=True, check=False
            )
            if ended.returncode:
                said.append(f"{told}:\n{ended.stdout}{ended.stderr}")
    return said


def main() -> int:
    """Return 1 where something differs."""
    parser = argparse.ArgumentParser(prog="python -m tests.golden.kernels", description=__doc__.splitlines()[0])
    parser.add_argument("machines", nargs="*", help="stems of scenarios or answers; all unless given")
    parser.add_argument("--calls", nargs="*", default=(), choices=tuple(CALLS), help="only these calls")
    call = parser.parse_args()
    found = differing([*call.machines, *(["--calls", *call.calls] if call.calls else [])])
    print("\n".join(found) or f"the same bytes under {len(SETTINGS)} settings")
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
