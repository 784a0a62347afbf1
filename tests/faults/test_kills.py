"""Calls that are killed, interrupted, or two at once."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from cli.folder import write_folder
from cli.results import is_result
from optimizer.errors import CannotWriteError
from tests.faults.calls import CALL, ROOT, call, environment, leftovers, shop, snapshot
from tests.processes import forked

FILES = {"design.json": b"new", "design.md": b"new"}
EARLIER = {"design.json": b"earlier", "design.md": b"earlier"}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="calls are forked here")
def test_killed_calls_lose_and_leave_nothing() -> None:
    """Killed at any moment, a call leaves the earlier result whole, and nothing that the next one does not clear."""
    ran = forked(ROOT, "5", "--seed", "3", before="from tests.faults.killing import main\nraise SystemExit(main())")
    assert ran.code == 0, ran.out + ran.err
    assert int(ran.out.split()[0]) >= 3


def _litter(folder: Path, word: str, files: dict[str, bytes], within: str = "") -> Path:
    """Lay down what a killed call leaves."""
    path = folder / f".made.{word}-123-0"
    (path / within).mkdir(parents=True)
    for name, content in files.items():
        (path / within / name).write_bytes(content)
    return path


def test_half_written_folder_is_cleared_away(tmp_path: Path) -> None:
    """What a killed call had begun to write is gone after the next call."""
    _litter(tmp_path, "new", {"design.json": b"ha"})
    write_folder(tmp_path / "made", FILES, is_result, force=False)
    assert leftovers(tmp_path) == []


def test_earlier_result_that_was_set_aside_comes_back(tmp_path: Path) -> None:
    """A call killed between the two renames leaves the earlier result aside; the next call puts it back and refuses."""
    _litter(tmp_path, "old", EARLIER, within="made")
    _litter(tmp_path, "new", FILES)
    with pytest.raises(CannotWriteError, match="it is there already"):
        write_folder(tmp_path / "made", FILES, is_result, force=False)
    assert snapshot(tmp_path) == {"made": None, **{f"made/{name}": content for name, content in EARLIER.items()}}


def test_folder_of_a_stranger_is_left_alone(tmp_path: Path) -> None:
    """A folder of that name with anything in it that is no result stays, and so does one whose name is another."""
    _litter(tmp_path, "new", {"notes.txt": b"mine"})
    (tmp_path / ".made.new-old").mkdir()
    before = snapshot(tmp_path)
    write_folder(tmp_path / "made", FILES, is_result, force=False)
    assert before.items() <= snapshot(tmp_path).items()


def test_folder_that_another_call_works_on_is_left_alone(tmp_path: Path) -> None:
    """A call at work holds a lock on its folder, which no other call clears away."""
    fcntl = pytest.importorskip("fcntl")
    held = _litter(tmp_path, "new", {"design.json": b"ha"})
    opened = os.open(held, os.O_RDONLY)
    fcntl.flock(opened, fcntl.LOCK_EX)
    try:
        write_folder(tmp_path / "made", FILES, is_result, force=False)
        assert leftovers(tmp_path) == [held.name]
    finally:
        os.close(opened)
    write_folder(tmp_path / "made", FILES, is_result, force=True)
    assert leftovers(tmp_path) == []


@pytest.mark.parametrize("force", [False, True])
def test_two_calls_into_one_folder_leave_one_whole_result(tmp_path: Path, force: bool) -> None:
    """Of two calls at once one whole result stands, the other is refused or was replaced; nothing else is left."""
    shop(tmp_path)
    with ThreadPoolExecutor(2) as both:
        running = [
            both.submit(forked, tmp_path, "design", "grinder.toml", "--quiet", *(["--force"] if force else []))
            for _ in range(2)
        ]
    said = [(each.result().err, each.result().code) for each in running]
    assert {code for _, code in said} <= {0, 5} and 0 in {code for _, code in said}
    assert all("it is there already" in err for err, code in said if code == 5)
    assert {"cuts.csv", "design.json", "design.md"} <= {path.name for path in (tmp_path / "grinder-design").iterdir()}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["grinder-design", "grinder.toml"]


def test_interrupt_at_any_time_ends_with_code_5(tmp_path: Path) -> None:
    """^C ends with code 5, one line and no folder, or came after all was done."""
    waiting = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\nfrom cli.main import main\n"
    slow = "import cli.design, time\nplain = cli.design.design\n"
    slow += "def slowly(*a, **k):\n    print('begun', flush=True)\n    time.sleep(30)\n    return plain(*a, **k)\n"
    program = f"{waiting}{slow}cli.design.design = slowly\nmain()"
    running = subprocess.Popen(
        [CALL[0], "-c", program, "design", "grinder.toml"],
        cwd=shop(tmp_path),
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert running.stdout is not None
    assert running.stdout.readline() == "begun\n"
    time.sleep(0.1)
    running.send_signal(signal.SIGINT)
    out, err = running.communicate()
    assert (running.returncode, out, err) == (5, "", "stopped before the end; nothing half-written is left\n")
    assert list(snapshot(tmp_path)) == ["grinder.toml"]


def test_clearing_needs_no_second_call_by_name(tmp_path: Path) -> None:
    """What was left is cleared before the work, also where the call itself is then refused."""
    folder = shop(tmp_path)
    (folder / "grinder-design").mkdir()
    litter = folder / ".grinder-design.new-77-0"
    litter.mkdir()
    assert call(folder, "design", "grinder.toml").code == 5
    assert not litter.exists()
