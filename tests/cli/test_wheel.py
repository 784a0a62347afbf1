"""The wheel: what is in it, and that it works where the project's folder is not."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from zipfile import ZipFile

import pytest

ROOT = Path(__file__).parents[2]
SOURCES = ("optimizer", "cli", "tests", "scenarios")
FILES = ("pyproject.toml", "README.md", "LICENSE")
TOOLS = frozenset({"tests", "pytest", "_pytest", "hypothesis", "jsonschema", "mpmath", "mypy", "ruff"})


def pip(*arguments: str) -> None:
    """Run pip without a network, and say what it said where it failed."""
    command = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet", *arguments]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a wheel built from a copy of the sources, so that nothing is left in the project's folder."""
    source, out = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("wheel")
    for name in SOURCES:
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in FILES:
        shutil.copy(ROOT / name, source / name)
    pip("wheel", "--no-build-isolation", "--no-deps", "--wheel-dir", str(out), str(source))
    (built,) = out.iterdir()
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder that the wheel is installed in, without the libraries it stands on."""
    folder = tmp_path_factory.mktemp("installed")
    pip("install", "--no-deps", "--no-index", "--target", str(folder), str(wheel))
    return folder


def call(installed: Path, folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Call the installed command line from a folder; the last lines of stderr say what was imported from where."""
    code = (
        "import sys\n"
        "import cli.main, optimizer\n"
        "try:\n    cli.main.main()\n"
        "finally:\n"
        "    print(sorted({name.partition('.')[0] for name in sys.modules}), file=sys.stderr)\n"
        "    print(optimizer.__file__, cli.main.__file__, sep='\\n', file=sys.stderr)\n"
    )
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_wheel_holds_both_packages_with_their_data_alone(wheel: Path) -> None:
    """The wheel has the two packages, their data files and its own records; no test, no scenario."""
    names = ZipFile(wheel).namelist()
    assert {name.split("/")[0] for name in names if ".dist-info/" not in name} == {"optimizer", "cli"}
    data = {path.name for path in (ROOT / "optimizer/catalogue").glob("*.toml")}
    assert {
        name.split("/")[-1] for name in names if name.startswith("optimizer/catalogue/") and ".toml" in name
    } == data
    assert {"optimizer/py.typed", "cli/py.typed"} <= set(names)


@pytest.mark.parametrize("command", ["check", "design"])
def test_installed_commands_work_from_another_folder(installed: Path, tmp_path: Path, command: str) -> None:
    """Check and design run from the installed files, catalogue included, and import no test package."""
    shutil.copy(ROOT / "scenarios/bench-drill.toml", tmp_path)
    ran = call(installed, tmp_path, command, "bench-drill.toml")
    assert ran.returncode == 0, ran.stderr
    *_, modules, optimizer_file, cli_file = ran.stderr.splitlines()
    assert Path(optimizer_file).is_relative_to(installed)
    assert Path(cli_file).is_relative_to(installed)
    assert not TOOLS & {name.strip("' ") for name in modules.strip("[]").split(",")}
    assert (tmp_path / "bench-drill-design" / "cuts.csv").is_file() is (command == "design")


def test_installed_console_command_tells_its_version(installed: Path, tmp_path: Path) -> None:
    """The console command is there and tells the version of the wheel."""
    ran = subprocess.run(
        [sys.executable, str(installed / "bin/conewright"), "--version"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.startswith("conewright ")
