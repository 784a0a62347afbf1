"""Disks that are full, folders that may not be written, paths that are something else."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.calls import CALL, call, environment, leftovers, shop, snapshot
from tests.sampled import named

FILE_LIMIT = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))"
"""No file may grow beyond 4 kB: writing fails half-way, as on a full disk."""


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Return a disk of 40 kB; skipped where none can be mounted."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=40k", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("no small disk can be mounted here")
    try:
        yield disk
    finally:
        subprocess.run(["umount", str(disk)], check=False)


def test_full_disk_leaves_nothing_behind(tmp_path: Path, small_disk: Path) -> None:
    """On a disk too small for the result the call ends with code 5, says so, and the disk is as empty as before."""
    ended = call(shop(tmp_path), "design", "grinder.toml", "--out", "disk/made")
    assert (ended.code, ended.out) == (5, "")
    assert ended.err == (
        "cannot write disk/made: No space left on device; make room, or choose a folder on another disk with --out\n"
    )
    assert snapshot(small_disk) == {}


def test_full_disk_keeps_the_earlier_result(tmp_path: Path, small_disk: Path) -> None:
    """A result that is to be replaced stays whole where the new one finds no room beside it."""
    earlier = small_disk / "made"
    earlier.mkdir()
    (earlier / "design.json").write_bytes(b"{}")
    ended = call(shop(tmp_path), "design", "grinder.toml", "--force", "--out", "disk/made")
    assert ended.code == 5
    assert snapshot(small_disk) == {"made": None, "made/design.json": b"{}"}


def test_file_that_may_not_grow_leaves_nothing_behind(tmp_path: Path) -> None:
    """A limit on the size of files that strikes in the middle of one ends like a full disk."""
    ended = call(shop(tmp_path), "design", "grinder.toml", before=FILE_LIMIT)
    assert ended.code == 5
    assert "cannot write grinder-design: File too large; make room" in ended.err
    assert list(snapshot(tmp_path)) == ["grinder.toml"]


@pytest.mark.parametrize(
    ("arguments", "stream"),
    [(["check", "none.toml"], "stderr"), (["schema"], "stdout"), (["--help"], "stdout"), (["--help"], "stderr")],
)
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device that is always full")
def test_screen_that_takes_nothing_is_no_bug(tmp_path: Path, stream: str, arguments: list[str]) -> None:
    """Where stdout or stderr goes to a full disk the code is one of the list, and Python says nothing of its own."""
    with Path("/dev/full").open("wb") as full:
        out, err = (full if stream == name else subprocess.PIPE for name in ("stdout", "stderr"))
        ran = subprocess.run(
            [*CALL, *arguments], cwd=shop(tmp_path), env=environment(), check=False, stdout=out, stderr=err
        )
    said = (ran.stdout or b"") + (ran.stderr or b"")
    assert b"Traceback" not in said and b"Exception ignored" not in said
    wrong = "none.toml" in arguments or "--nonsense" in arguments
    said_on = "stderr" if wrong else "stdout"
    assert ran.returncode in ({2, 5} if wrong and stream == said_on else {5} if stream == said_on else {2 * wrong})


@pytest.mark.parametrize("closed", named(("<&-", ">&- 2>&-"), slow=("<&-",)))
def test_streams_that_are_closed_are_no_bug(tmp_path: Path, closed: str) -> None:
    """A call whose streams were closed before it began still writes its folder, and nothing else."""
    line = f'"$0" -c "$1" design grinder.toml --out made {closed}'
    ran = subprocess.run(
        ["sh", "-c", line, CALL[0], CALL[2]], cwd=shop(tmp_path), env=environment(), capture_output=True, check=False
    )
    assert ran.returncode == 0
    assert {"design.json", "design.md", "cuts.csv"} <= {path.name for path in (tmp_path / "made").iterdir()}
    assert leftovers(tmp_path) == []


def test_folder_that_may_not_be_written_is_refused_before_the_work(tmp_path: Path) -> None:
    """A read-only folder is refused with what to do, and nothing is searched for first."""
    folder = shop(tmp_path / "shop")
    with _read_only(folder):
        ended = call(folder, "design", "grinder.toml")
    assert ended.code == 5
    assert ended.err == (
        f"cannot write grinder-design: no permission to write in {folder}; choose another with --out\n"
    )
    assert list(snapshot(folder)) == ["grinder.toml"]


class _read_only:  # noqa: N801 - used as a word of the language
    """Make a folder read-only: by its mode, or, for the superuser, who passes over modes, by a mount."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.mounted = folder, False

    def __enter__(self) -> None:
        if os.geteuid():
            self.folder.chmod(0o555)
            return
        for options in (["--bind", str(self.folder), str(self.folder)], ["-o", "remount,bind,ro", str(self.folder)]):
            if subprocess.run(["mount", *options], capture_output=True, check=False).returncode:
                self.__exit__()
                pytest.skip("the superuser passes over modes, and no read-only mount can be made here")
            self.mounted = True

    def __exit__(self, *error: object) -> None:
        if self.mounted:
            subprocess.run(["umount", str(self.folder)], check=False)
        self.folder.chmod(0o755)


@pytest.mark.parametrize(
    ("out", "said"),
    [
        ("grinder.toml", "cannot write grinder.toml: it is there and is not a folder; choose another with --out"),
        ("grinder.toml/made", "cannot write grinder.toml/made: there is no folder"),
        ("link", "cannot write link: it is there and is not a folder; choose another with --out"),
        ("none/made", "cannot write none/made: there is no folder"),
        (".", "cannot replace .: it holds "),
        ("..", "cannot replace ..: it holds "),
        ("/", "cannot replace /: it holds "),
        ("a" * 300, f"cannot write {'a' * 300}: File name too long; choose a shorter name with --out"),
        ("a" * 240, f"cannot write {'a' * 240}: File name too long; choose a shorter name with --out"),
    ],
)
def test_path_that_is_no_place_for_a_folder_is_refused(tmp_path: Path, out: str, said: str) -> None:
    """A file, a link, a folder of other things, a name too long: refused, saying why; nothing is touched."""
    folder = shop(tmp_path / "shop")
    (folder / "link").symlink_to(tmp_path)
    before = snapshot(tmp_path)
    ended = call(folder, "design", "grinder.toml", "--force", "--out", out)
    assert ended.code == 5
    assert ended.err.startswith(said) and ended.err.count("\n") == 1
    assert snapshot(tmp_path) == before


def test_folder_that_is_gone_is_told(tmp_path: Path) -> None:
    """A call from a folder that was removed ends with a code of the list."""
    folder = shop(tmp_path / "gone")
    gone = f"import shutil; shutil.rmtree({str(folder)!r})"
    for arguments in (["check", "grinder.toml"], ["design", "grinder.toml"]):
        shop(folder)
        ended = call(folder, *arguments, before=gone)
        assert ended.code in (2, 5)
        assert "Traceback" not in ended.err
