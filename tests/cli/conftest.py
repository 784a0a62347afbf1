"""The command line called within the test's own process."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from cli.main import main
from tests.machines import GRINDER, OLD_SAW


class Ran(NamedTuple):
    """What a call came to."""

    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    """Return a way to call the command line from an empty folder, with two machines' files in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "grinder.toml").write_text(GRINDER, encoding="utf-8")
    (tmp_path / "saw.toml").write_text(OLD_SAW, encoding="utf-8")

    def call(*arguments: str) -> Ran:
        monkeypatch.setattr(sys, "argv", ["conewright", *arguments])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main()
        code = ended.value.code
        assert isinstance(code, int)
        return Ran(code, *capsys.readouterr())

    return call
