"""The command line called within the test's own process."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

import pytest
import typer

from cli.main import main
from tests.machines import GRINDER, OLD_SAW
from tests.processes import forked


class Ran(NamedTuple):
    """What a call came to."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@cache
def _grinder_files() -> dict[str, bytes]:
    """Return the files of the grinder's design, made once by the command line in a process of its own."""
    with TemporaryDirectory() as place:
        Path(place, "grinder.toml").write_text(GRINDER, encoding="utf-8")
        assert forked(Path(place), "design", "grinder.toml", "--quiet").code == 0
        return {path.name: path.read_bytes() for path in Path(place, "grinder-design").iterdir()}


_get_command = typer.main.get_command


@cache
def _command(app: typer.Typer) -> Callable[..., object]:
    """Return what is called for a command line, put together once for all calls, as that takes half of a short one."""
    return _get_command(app)


@pytest.fixture
def designed(run: Run, tmp_path: Path) -> Run:
    """Return the call with the grinder's design in its folder."""
    (tmp_path / "grinder-design").mkdir()
    for name, content in _grinder_files().items():
        (tmp_path / "grinder-design" / name).write_bytes(content)
    return run


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    """Return a way to call the command line from an empty folder, with two machines' files in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "grinder.toml").write_text(GRINDER, encoding="utf-8")
    (tmp_path / "saw.toml").write_text(OLD_SAW, encoding="utf-8")

    def call(*arguments: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["conewright", *arguments])
        monkeypatch.setattr(typer.main, "get_command", _command)
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        code = ended.value.code
        assert isinstance(code, int)
        return Ran(code, *capsys.readouterr())

    return call
