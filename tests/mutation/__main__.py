"""Breaks a room's code in small ways and tells which ones no test notices: ``python -m tests.mutation --help``."""

from __future__ import annotations

import os
import sys

if __name__ == "__main__":
    for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[_name] = "1"  # copies of a process with threads may wait for ever; read when numpy is loaded
    os.environ["CONEWRIGHT_TESTS"] = "all"  # mutants are judged by all tests, not by the gate's samples
    from tests.mutation.command import main

    sys.exit(main(sys.argv[1:]))
