"""The command line as a process of its own: imports, bytes, interrupts."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.machines import GRINDER
from tests.processes import forked
from tests.sampled import EVERYTHING

ROOT = Path(__file__).parents[2]
CALL = "from cli.main import main; main()"


def environment(**extra: str) -> dict[str, str]:
    """Return the environment with the project on the path."""
    return {**os.environ, "PYTHONPATH": str(ROOT), **extra}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with a machine's file."""
    (tmp_path / "grinder.toml").write_text(GRINDER, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("arguments", [["--help"], ["design", "--help"], ["--version"], ["check", "grinder.toml"]])
def test_quick_calls_do_not_wait_for_scipy(folder: Path, arguments: list[str]) -> None:
    """Help, version and check import neither scipy nor pint."""
    code = (
        f"import sys; sys.argv = ['conewright', *{arguments!r}]\n"
        "from cli.main import main\n"
        "try:\n    main()\n"
        "finally:\n    print(sorted({m.split('.')[0] for m in sys.modules} & {'scipy', 'pint'}), file=sys.stderr)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, env=environment(), capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0
    assert ran.stderr.splitlines()[-1] == "[]"


def test_help_imports_neither_numpy_nor_pydantic(folder: Path) -> None:
    """The help page needs no figures and no models."""
    code = (
        "import sys; sys.argv = ['conewright', '--help']\n"
        "from cli.main import main\n"
        "try:\n    main()\n"
        "finally:\n    print(sorted({m.split('.')[0] for m in sys.modules} & {'numpy', 'pydantic'}), file=sys.stderr)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, env=environment(), capture_output=True, text=True, check=False
    )
    assert ran.stderr.splitlines()[-1] == "[]"


@pytest.mark.parametrize(
    "call", [("design", "grinder.toml", "--papers"), *([("compare", "grinder.toml")] if EVERYTHING else [])]
)
def test_same_input_gives_the_same_bytes(folder: Path, call: tuple[str, ...]) -> None:
    """Processes with different hash seeds, one of them drawn, write the same files and print the same text."""
    ran = forked(folder, *call, "--out", "made-one")
    assert ran.code == 0
    other = subprocess.run(
        [sys.executable, "-c", CALL, *call, "--out", "made-two"],
        cwd=folder,
        env=environment(PYTHONHASHSEED="4242"),
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert other.stdout.replace("made-two", "made-one") == ran.out
    one, two = ({p.name: p.read_bytes() for p in (folder / name).iterdir()} for name in ("made-one", "made-two"))
    assert one == two


def test_nothing_is_shown_of_progress_without_a_terminal(folder: Path) -> None:
    """Where stderr is no terminal, no line is rewritten on it."""
    assert "\r" not in forked(folder, "design", "grinder.toml").err.replace("\r\n", "\n")


@pytest.mark.skipif(os.name == "nt", reason="signals of this kind are not sent on Windows")
def test_interrupt_in_the_search_leaves_nothing(folder: Path) -> None:
    """^C while a layout is searched ends with code 5 and one line, and no folder is there."""
    interrupting = (
        "import signal, optimizer.pipeline.choose as work\n"
        # a process that was started in the background is told to pass over ^C
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "def look(*problem, **rules):\n    signal.raise_signal(signal.SIGINT)\n    return search(*problem, **rules)\n"
        "search, work.look = work.look, look\n"
    )
    ran = forked(folder, "design", "grinder.toml", before=interrupting)
    assert (ran.code, ran.out) == (5, "")
    assert ran.err == "stopped before the end; nothing half-written is left\n"
    assert sorted(p.name for p in folder.iterdir()) == ["grinder.toml"]


def test_reader_that_goes_away_is_no_bug(folder: Path) -> None:
    """A pipe closed by its reader ends the command without a word of complaint."""
    code = f"import sys; sys.argv = ['conewright', 'schema', 'design']\n{CALL}"
    running = subprocess.Popen(
        [sys.executable, "-c", code], cwd=folder, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert running.stdout is not None
    assert running.stderr is not None
    running.stdout.close()
    assert running.wait(timeout=60) == 5
    assert running.stderr.read() == b""
    running.stderr.close()
