"""Writing a folder of results whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli.folder import write_folder
from optimizer.errors import CannotWriteError

FILES = {"b.txt": b"two", "a.txt": b"one"}


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file of a folder with its bytes."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_folder_is_written_and_listed_in_order(tmp_path: Path) -> None:
    """All files are there, their paths come back sorted, and nothing else is left beside them."""
    target = tmp_path / "out"
    assert write_folder(target, FILES, force=False) == (target / "a.txt", target / "b.txt")
    assert contents(target) == FILES
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_existing_folder_is_refused(tmp_path: Path) -> None:
    """A folder that is there already stays as it is without --force."""
    target = tmp_path / "out"
    write_folder(target, FILES, force=False)
    with pytest.raises(CannotWriteError, match=r"it is there already; replace it with --force"):
        write_folder(target, {"a.txt": b"other"}, force=False)
    assert contents(target) == FILES


def test_earlier_result_is_replaced_with_force(tmp_path: Path) -> None:
    """With force the new result takes the place of the earlier one, with nothing of it left over."""
    target = tmp_path / "out"
    write_folder(target, FILES, force=False)
    write_folder(target, {"a.txt": b"new", "b.txt": b"newer", "c.txt": b""}, force=True)
    assert contents(target) == {"a.txt": b"new", "b.txt": b"newer", "c.txt": b""}
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_folder_with_a_strangers_file_is_never_replaced(tmp_path: Path) -> None:
    """Force does not reach files that no result is made of."""
    target = tmp_path / "out"
    write_folder(target, FILES, force=False)
    (target / "my notes.txt").write_text("keep me")
    with pytest.raises(CannotWriteError, match=r"it holds my notes\.txt, which is not a result"):
        write_folder(target, FILES, force=True)
    assert (target / "my notes.txt").read_text() == "keep me"


@pytest.mark.parametrize("under", ["file.txt/out", "missing/out", "file.txt"])
def test_impossible_place_is_refused(tmp_path: Path, under: str) -> None:
    """A place under a file, in a missing folder or on a file is refused, and nothing changes."""
    (tmp_path / "file.txt").write_text("a file")
    with pytest.raises(CannotWriteError):
        write_folder(tmp_path / under, FILES, force=True)
    assert contents(tmp_path) == {"file.txt": b"a file"}


@pytest.mark.parametrize("trouble", [PermissionError(13, "Permission denied"), OSError(28, "No space left on device")])
def test_systems_reason_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, trouble: OSError) -> None:
    """What the system says is passed on, and the half-written folder is gone."""

    def refuse(_path: Path, _content: bytes) -> int:
        raise trouble

    monkeypatch.setattr(Path, "write_bytes", refuse)
    with pytest.raises(CannotWriteError, match=str(trouble.strerror)):
        write_folder(tmp_path / "out", FILES, force=False)
    assert list(tmp_path.iterdir()) == []


def test_interrupt_leaves_nothing_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An interrupt between two files leaves no folder behind."""
    plain = Path.write_bytes

    def stop_at_second(path: Path, content: bytes) -> int:
        if path.name == "b.txt":
            raise KeyboardInterrupt
        return plain(path, content)

    monkeypatch.setattr(Path, "write_bytes", stop_at_second)
    with pytest.raises(KeyboardInterrupt):
        write_folder(tmp_path / "out", FILES, force=False)
    assert list(tmp_path.iterdir()) == []


def test_earlier_result_comes_back_when_the_exchange_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """If the new folder cannot take its name, the earlier result stands again."""
    target = tmp_path / "out"
    write_folder(target, FILES, force=False)
    plain = Path.rename

    def fail_on_new(path: Path, other: Path) -> Path:
        if ".new-" in path.name:
            raise OSError(5, "Input/output error")
        return plain(path, other)

    monkeypatch.setattr(Path, "rename", fail_on_new)
    monkeypatch.setattr("cli.folder.exchanged", lambda one, other: False)
    with pytest.raises(CannotWriteError, match="Input/output error"):
        write_folder(target, FILES, force=True)
    assert contents(target) == FILES
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
