"""The step of the gate that asks for kernels of OpenBLAS by name tells what failed from what cannot run."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from threadpoolctl import threadpool_info

from tests import kernels

LOADED = sorted({library["architecture"] for library in threadpool_info() if library["internal_api"] == "openblas"})
SAMPLE = """
import os, signal

def test_of_what_is_told():
    how = os.environ["TOLD"]
    if how == "no such instruction":
        os.kill(os.getpid(), signal.SIGILL)
    assert how == "holds"
"""


@pytest.mark.parametrize(
    ("how", "outcome"), [("holds", (0, 0)), ("fails", (1, 0)), ("no such instruction", (0, 1))], ids=str
)
@pytest.mark.skipif(len(LOADED) != 1, reason="numpy and scipy do not share a kernel of OpenBLAS here")
def test_a_kernel_that_runs_holds_or_fails(
    how: str, outcome: tuple[int, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Green, failed, or not run where the processor lacks an instruction: what the sample did under the kernel here."""
    assert _under(LOADED[0], how, tmp_path, monkeypatch) == outcome


def test_a_kernel_that_is_not_there_is_said_not_to_have_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """OpenBLAS takes another kernel where it does not know the name; no test of the sample is then run, and so said."""
    assert _under("no such kernel", "fails", tmp_path, monkeypatch) == (0, 1)


def test_what_cannot_run_is_written_out(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """A kernel that cannot run has a line of its own at the end, and fails nothing."""
    monkeypatch.setattr(kernels, "under_each_kernel", lambda environment: ([], ["SkylakeX"]))
    assert kernels.main() == 0
    assert capsys.readouterr().out.startswith("kernels: not run under SkylakeX: this processor")


def _under(kernel: str, how: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[int, int]:
    """Return under how many kernels a sample failed, and under how many it was not run."""
    sample = folder / "test_sample.py"
    sample.write_text(SAMPLE)
    monkeypatch.setattr(kernels, "SAMPLE", (str(sample), f"--rootdir={folder}", "-c", "/dev/null"))
    monkeypatch.setattr(kernels, "SETTINGS", ({"OPENBLAS_CORETYPE": kernel},))
    failed, not_run = kernels.under_each_kernel({**os.environ, "TOLD": how})
    return len(failed), len(not_run)
